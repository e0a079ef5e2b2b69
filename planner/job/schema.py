"""The JSON Schemas of the job, the wall and the system file, for editors to complete and check.

`python -m planner.job.schema` writes `samples/workshop/*.schema.json` anew; a test keeps
them current. In an editor that knows YAML schemas, a first line such as
`# yaml-language-server: $schema=job.schema.json` switches it on.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from planner.job.form import JobForm
from planner.job.layout.form import WallsFile
from planner.job.layout.system_form import SystemFile
from planner.shipped import workshop_dir

if TYPE_CHECKING:
    from pydantic import BaseModel

SCHEMA_FILE = workshop_dir() / "job.schema.json"
"""Beside the sample job, so that it travels with every copy of it."""


FORMS: dict[str, tuple[type[BaseModel], str]] = {
    "job": (JobForm, "Job of Platewright"),
    "wall": (WallsFile, "Walls of Platewright"),
    "system": (SystemFile, "Panel system of Platewright"),
}


def job_schema(name: str = "job") -> dict[str, Any]:
    """Return the schema (JSON Schema, draft 2020-12) of the job, the wall or the system file."""
    form, title = FORMS[name]
    schema = form.model_json_schema(by_alias=True)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_without_titles(schema),
        "title": title,
    }


def schema_text(name: str = "job") -> str:
    """Return the schema as it is committed."""
    return json.dumps(job_schema(name), indent=2, ensure_ascii=False, sort_keys=True) + "\n"


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
    for _name in FORMS:
        _file = SCHEMA_FILE.with_name(f"{_name}.schema.json")
        _file.write_text(schema_text(_name), encoding="utf-8")
