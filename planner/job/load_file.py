"""Load cases in a file of their own, for one mesh without a job."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.document import read_yaml, validate
from planner.job.load_form import LoadFile, LoadForm
from planner.job.resolve_loads import case_of

if TYPE_CHECKING:
    from pathlib import Path

    from planner.document import Document
    from planner.job.model import LoadCase


def load_cases(path: Path) -> tuple[LoadCase, ...]:
    """Read the load cases of a file; raises InputError with everything that is wrong with it."""
    document = read_yaml(path)
    form = validate(LoadFile, document)
    if form.loads is not None:
        return tuple(
            case_of(each, document.where(f"loads[{index}]"))
            for index, each in enumerate(form.loads)
        )
    return (case_of(_alone(document), document.where(_first_key(document))),)


def _first_key(document: Document) -> str:
    return "force_n" if "force_n" in document.data else "moment_nmm"


def _alone(document: Document) -> LoadForm:
    given = {key: value for key, value in document.data.items() if key not in ("schema", "loads")}
    return validate(LoadForm, replace(document, data=given))
