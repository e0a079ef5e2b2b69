"""From plain data to a form, or to everything that is wrong with it, in one go."""

from __future__ import annotations

import re
from copy import deepcopy
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel, ValidationError

from planner.document.form import FAULT
from planner.document.model import place_of
from planner.document.shape import Loc, Shape, description, shapes_at
from planner.document.wording import clipped, listed, nearest, shown, unit_of
from planner.errors import InputError, Problem

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

    from planner.document.model import Document

F = TypeVar("F", bound=BaseModel)

PROBLEMS_MAX = 50
"""More than this helps nobody; the last line then says how many were left out."""

_NUMBER_WITH_UNIT = re.compile(r"\s*[-+]?[0-9.]+\s*(%|[A-Za-z°/³²0-9]+)\s*")
_BARE_NUMBER = re.compile(r"\s*[-+]?[0-9.]+\s*")
_YES_OR_NO = {"yes": "true", "on": "true", "y": "true", "no": "false", "off": "false", "n": "false"}

_PLAIN = {
    "string_type": "text",
    "bool_type": "true or false",
    "tuple_type": "a list [ … ]",
    "dict_type": "a mapping (key: value)",
    "mapping_type": "a mapping (key: value)",
    "model_type": "a mapping (key: value)",
    "too_long": "at most {max_length} values",
    "too_short": "at least {min_length}",
    "string_too_long": "at most {max_length} characters",
    "string_too_short": "some text",
}


def validate(form: type[F], document: Document) -> F:
    """Return the document as a `form`; raises InputError with every fault in it."""
    try:
        return form.model_validate(frozen(document.data))
    except ValidationError as error:
        raise InputError(*problems_of(error, form, document)) from error


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
    """Return what pydantic found, in our words, in the order of the file."""
    every = error.errors(include_url=False)
    return in_order([_problem(each, form, document) for each in every])


def in_order(problems: list[Problem]) -> tuple[Problem, ...]:
    """Sort by file and line, drop repetitions, and cut a very long list."""
    unique = dict.fromkeys(problems)
    ordered = sorted(unique, key=lambda problem: (problem.file, problem.line or 0))
    left_out = len(ordered) - PROBLEMS_MAX
    if left_out <= 0:
        return tuple(ordered)
    more = Problem(
        file=ordered[0].file,
        found=f"{left_out} more faults of this kind",
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


def _problem(error: ErrorDetails, form: type[BaseModel], document: Document) -> Problem:
    loc = place_in(document.data, error["loc"])
    if error["type"] == "missing" and isinstance(error["loc"][-1], str):
        loc = (*loc, error["loc"][-1])
    found, expected, remedy = _words(error, form, loc)
    place = place_of(loc)
    return Problem(
        file=document.file,
        line=document.line(place),
        place=place,
        found=found,
        expected=expected,
        remedy=remedy,
    )


def _words(error: ErrorDetails, form: type[BaseModel], loc: Loc) -> tuple[str, str, str]:
    """Return (found, expected, remedy)."""
    kind, value, context = error["type"], error["input"], error.get("ctx", {})
    key = next((key for key in reversed(loc) if isinstance(key, str)), "")
    found = shown(value, unit_of(key))
    if kind == FAULT:
        return context["found"] or found, context["expected"], context["remedy"]
    if kind == "missing":
        return _missing(form, error["loc"], loc)
    if kind == "extra_forbidden":
        return _unknown_key(form, loc)
    if kind in ("value_error", "assertion_error"):
        return found, str(context.get("error", error["msg"])), "change it"
    shapes = shapes_at(form, loc)
    words = shapes[0].words if shapes else None
    expected = (words and words.expected) or _expected(error, shapes, key)
    remedy = (words and words.remedy) or _remedy(kind, value, key, context)
    return found, expected, remedy


def _missing(form: type[BaseModel], asked: Loc, loc: Loc) -> tuple[str, str, str]:
    key = asked[-1]
    if isinstance(key, int):
        return f"a list of {key}", f"at least {key + 1} values", "add what is missing"
    meaning = description(form, loc)
    expected = f"the key {key}" + (f" ({meaning})" if meaning else "")
    return f"no {key}", expected, f"add {key}: …"


def _unknown_key(form: type[BaseModel], loc: Loc) -> tuple[str, str, str]:
    known = [key for shape in shapes_at(form, loc[:-1]) for key in shape.keys]
    key = str(loc[-1])
    near = nearest(key, known)
    remedy = f"did you mean {near}?" if near else "remove it"
    found = f"the unknown key {shown(key)}"
    return found, f"one of the keys {listed(known, most=30)}", remedy


def _expected(error: ErrorDetails, shapes: tuple[Shape, ...], key: str) -> str:
    kind, context = error["type"], error.get("ctx", {})
    shape = shapes[0] if shapes else Shape(object)
    if kind.startswith(("float", "int", "greater", "less", "finite")):
        noun = "a whole number" if shape.type is int else "a number"
        return f"{noun} {shape.bounds(unit_of(key))}".rstrip()
    if kind == "literal_error":
        options = str(context["expected"]).replace("'", "").replace(" or ", ", ")
        return f"one of {options}"
    return _PLAIN[kind].format_map(context) if kind in _PLAIN else clipped(error["msg"])


def _remedy(kind: str, value: Any, key: str, context: dict[str, Any]) -> str:
    if kind == "literal_error":
        near = nearest(str(value), re.findall(r"'([^']*)'", context["expected"]))
        return f"did you mean {near}?" if near else "write one of these"
    if isinstance(value, str) and kind.startswith(("int", "float")):
        return _remedy_for_text(value, key)
    if kind == "bool_type" and isinstance(value, str):
        return f"write {_YES_OR_NO.get(value.lower(), 'true or false')}"
    if kind == "string_type":
        return "put it in quotes" if isinstance(value, int | float) else "write a word"
    if kind.startswith(("greater", "less")):
        return "write a value in that range"
    return f"correct {key}" if key else "correct it"


def _remedy_for_text(value: str, key: str) -> str:
    """Return what to do about text where a number should be."""
    if _BARE_NUMBER.fullmatch(value):
        return "remove the quotes"
    if _NUMBER_WITH_UNIT.fullmatch(value) and unit_of(key):
        return "leave the unit out: it is in the name of the key"
    return "write a bare number"


def validate_partly(form: type[F], document: Document) -> tuple[F | None, tuple[Problem, ...]]:
    """Return the form with its faulty places left out, and what is wrong with them.

    So that a reader can go on to cross-check the rest, and say everything in one go. The
    form is None where too little is left. Lists keep their length or are left out whole:
    the places of their items stay true.
    """
    data, problems = deepcopy(document.data), list[Problem]()
    for attempt in range(_HEALINGS_MAX):
        try:
            return form.model_validate(frozen(data)), tuple(problems)
        except ValidationError as error:
            if attempt == 0:
                problems.extend(problems_of(error, form, document))
            if not all(_left_out(data, _culprit(data, each)) for each in error.errors()):
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
