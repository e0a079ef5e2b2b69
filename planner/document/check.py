"""From plain data to a form, or to everything that is wrong with it, in one go."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel, ValidationError

from planner.document.model import place_of
from planner.document.telling import told
from planner.errors import InputError, Problem

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pydantic_core import ErrorDetails

    from planner.document.model import Document
    from planner.document.shape import Loc

F = TypeVar("F", bound=BaseModel)

PROBLEMS_MAX = 50
"""More than this helps nobody; the last line then says how many were left out."""


def validate(form: type[F], document: Document) -> F:
    """Return the document as a `form`; raises InputError with every fault in it."""
    try:
        return form.model_validate(frozen(document.data))
    except ValidationError as error:
        raise InputError(*in_order(problems_of(error, form, document))) from error


def frozen(data: Any) -> Any:
    """Return plain data with every list made a tuple, as strict forms want it."""
    if isinstance(data, dict):
        return {key: frozen(value) for key, value in data.items()}
    if isinstance(data, list):
        return tuple(frozen(value) for value in data)
    return data


def problems_of(
    error: ValidationError, form: type[BaseModel], document: Document
) -> tuple[Problem, ...]:
    """Return what pydantic found, in our words, in the order of the file.

    Words cost time, and a file may have a hundred thousand faults: those after the first
    `PROBLEMS_MAX`, which nobody is shown, only have their place.
    """
    found = [_Found(each, *_where(each, document)) for each in _errors(error)]
    problems: dict[Problem, None] = {}
    for each in sorted(found, key=lambda each: each.line or 0):
        say = _problem if len(problems) < PROBLEMS_MAX else _untold
        problems.setdefault(say(each, form, document))
    return tuple(problems)


def _errors(error: ValidationError) -> list[ErrorDetails]:
    """Return the errors, less lists only too short because faulty items were not counted."""
    return [
        each
        for each in error.errors(include_url=False)
        if each["type"] != "too_short" or len(each["input"]) < each["ctx"]["min_length"]
    ]


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Sort by file and line, drop repetitions, and cut a very long list."""
    unique = dict.fromkeys(problems)
    ordered = sorted(unique, key=lambda problem: (problem.file, problem.line or 0))
    left_out = len(ordered) - PROBLEMS_MAX
    if left_out <= 0:
        return tuple(ordered)
    more = Problem(
        file=ordered[0].file,
        found=f"{left_out} more {'fault' if left_out == 1 else 'faults'}",
        expected="none",
        remedy="put these right first",
    )
    return (*ordered[:PROBLEMS_MAX], more)


def place_in(document_data: Any, loc: Loc) -> Loc:
    """Keep the keys of `loc` that lead through the data; the rest names types, not places."""
    kept: list[str | int] = []
    for key in loc:
        inside = _step(document_data, key)
        if inside is not _ABSENT:
            kept.append(key)
            document_data = inside
    return tuple(kept)


_ABSENT = object()


def _step(data: Any, key: str | int) -> Any:
    if isinstance(data, dict):
        return data.get(key, _ABSENT)
    if isinstance(data, list) and isinstance(key, int):
        return data[key] if key < len(data) else _ABSENT
    return _ABSENT


@dataclass(frozen=True, slots=True)
class _Found:
    """An error and where it stands in the file."""

    error: ErrorDetails
    loc: Loc
    line: int | None


def _where(error: ErrorDetails, document: Document) -> tuple[Loc, int | None]:
    loc = place_in(document.data, error["loc"])
    if error["type"] == "missing" and isinstance(error["loc"][-1], str):
        loc = (*loc, error["loc"][-1])
    return loc, document.line(place_of(loc))


def _problem(each: _Found, form: type[BaseModel], document: Document) -> Problem:
    found, expected, remedy = told(each.error, form, each.loc)
    return Problem(
        file=document.file,
        line=each.line,
        place=place_of(each.loc),
        found=found,
        expected=expected,
        remedy=remedy,
    )


def _untold(each: _Found, _form: type[BaseModel], document: Document) -> Problem:
    return Problem(
        file=document.file,
        line=each.line,
        place=place_of(each.loc),
        found="a fault",
        expected="none",
        remedy="put the others right first",
    )


def validate_partly(
    form: type[F], document: Document, *, lenient: type[F] | None = None
) -> tuple[F | None, tuple[Problem, ...]]:
    """Return the form with its faulty places left out, and what is wrong with them.

    So that a reader can go on to cross-check the rest, and say everything in one go. The
    form is None where too little is left. Lists keep their length or are left out whole:
    the places of their items stay true. `lenient` is the form that the rest is held to: one
    that has stand-ins for required keys.
    """
    data, problems = deepcopy(document.data), list[Problem]()
    for attempt in range(_HEALINGS_MAX):
        try:
            asked = form if attempt == 0 else lenient or form
            return asked.model_validate(frozen(data)), tuple(problems)
        except ValidationError as error:
            if attempt == 0:
                problems.extend(problems_of(error, form, document))
            healed = [_left_out(data, _culprit(data, each)) for each in _errors(error)]
            if not all(healed) and (attempt > 0 or lenient is None):
                break
    return None, tuple(problems)


_HEALINGS_MAX = 4
"""Leaving out a value may leave its owner incomplete, and so on upwards."""


def _culprit(data: Any, error: ErrorDetails) -> Loc:
    """Return what to leave out: the key at fault, or the whole list that holds the item."""
    loc = place_in(data, error["loc"])
    while loc and isinstance(loc[-1], int):
        loc = loc[:-1]
    return loc


def _left_out(data: Any, loc: Loc) -> bool:
    """Leave out what is at `loc`; False if that would be everything."""
    if not loc:
        return False
    for key in loc[:-1]:
        data = _step(data, key)
    if isinstance(data, dict):
        data.pop(loc[-1], None)
    return True
