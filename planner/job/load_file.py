"""Load cases in a file of their own, for one mesh without a job."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pydantic import Field

from planner.document import read_yaml, validate
from planner.job.load_form import LoadFile, LoadForm
from planner.job.resolve_loads import case_of, screwed, visible_of
from planner.job.wall_form import FixingsForm, VisibleRef  # noqa: TC001  read at run time

if TYPE_CHECKING:
    from pathlib import Path

    from planner.document import Document
    from planner.job.model import Face, LoadCase, Screwed

_BESIDES = ("schema", "loads", "visible", "fixings")
"""Keys of the file that are no part of its one load."""


class PartLoads(LoadFile):
    """The loads of one part, and how it meets the wall and the eye."""

    visible: VisibleRef | None = Field(None, description="Faces in sight on the wall.")
    fixings: FixingsForm | None = Field(None, description="Screws that hold it to the wall.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Loads:
    """What a load file says; `visible` is empty and `fixings` None where it does not."""

    cases: tuple[LoadCase, ...]
    visible: tuple[Face, ...]
    fixings: Screwed | None


def read_loads(path: Path) -> Loads:
    """Read a load file; raises InputError with everything that is wrong with it."""
    document = read_yaml(path)
    form = validate(PartLoads, document)
    return Loads(
        cases=_cases(form, document),
        visible=visible_of(form.visible),
        fixings=screwed(form.fixings, document.where("fixings")),
    )


def _cases(form: PartLoads, document: Document) -> tuple[LoadCase, ...]:
    if form.loads is not None:
        return tuple(
            case_of(each, document.where(f"loads[{index}]"))
            for index, each in enumerate(form.loads)
        )
    return (case_of(_alone(document), document.where(_first_key(document))),)


def _first_key(document: Document) -> str:
    return "force_n" if "force_n" in document.data else "moment_nmm"


def _alone(document: Document) -> LoadForm:
    given = {key: value for key, value in document.data.items() if key not in _BESIDES}
    return validate(LoadForm, replace(document, data=given))
