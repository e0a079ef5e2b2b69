"""The JSON Schema of the job file, from which editors complete and check it.

`python -m planner.job.schema` writes `samples/workshop/job.schema.json` anew; a test keeps
it current. In an editor that knows YAML schemas, a first line such as
`# yaml-language-server: $schema=job.schema.json` switches it on.
"""

from __future__ import annotations

import json
from typing import Any

from planner.job.form import JobForm
from planner.shipped import workshop_dir

SCHEMA_FILE = workshop_dir() / "job.schema.json"
"""Beside the sample job, so that it travels with every copy of it."""


def job_schema() -> dict[str, Any]:
    """Return the schema (JSON Schema, draft 2020-12) of the job file."""
    schema = JobForm.model_json_schema(by_alias=True)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_without_titles(schema),
        "title": "Job of Platewright",
    }


def schema_text() -> str:
    """Return the schema as it is committed."""
    return json.dumps(job_schema(), indent=2, ensure_ascii=False, sort_keys=True) + "\n"


def _without_titles(node: Any, *, named: bool = False) -> Any:
    """Drop the titles made from names of ours; `named` nodes map keys of the user."""
    if isinstance(node, list):
        return [_without_titles(each) for each in node]
    if not isinstance(node, dict):
        return node
    return {
        key: _without_titles(value, named=key in ("properties", "$defs") and not named)
        for key, value in node.items()
        if named or key != "title"
    }


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
