"""Load cases in a file of their own, for one mesh without a job."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.document import read_yaml, validate
from planner.job.form import BoxForm, LoadFile, LoadForm
from planner.job.model import Face, LoadCase

if TYPE_CHECKING:
    from pathlib import Path

    from planner.document import Document


def load_cases(path: Path) -> tuple[LoadCase, ...]:
    """Read the load cases of a file; raises InputError with everything that is wrong with it."""
    document = read_yaml(path)
    form = validate(LoadFile, document)
    if form.loads is not None:
        return tuple(
            _case(each, document.where(f"loads[{index}]")) for index, each in enumerate(form.loads)
        )
    return (_case(_alone(document), document.where("force_n")),)


def _alone(document: Document) -> LoadForm:

    given = {key: value for key, value in document.data.items() if key not in ("schema", "loads")}
    return validate(LoadForm, replace(document, data=given))


def _case(form: LoadForm, where: str) -> LoadCase:
    return LoadCase(
        force_n=form.force_n,
        on=_face(form.on),
        held=_face(form.held),
        sustained=form.sustained,
        where=where,
    )


def _face(given: str | BoxForm) -> Face:
    return Face(box_mm=given.box) if isinstance(given, BoxForm) else Face(axis=given)
