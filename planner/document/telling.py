"""What pydantic finds wrong with a value, told in our words: found, expected, remedy."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from planner.document.form import FAULT, Words
from planner.document.shape import Loc, Shape, description, shapes_at
from planner.document.wording import clipped, listed, nearest, shown, unit_of

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic_core import ErrorDetails

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
    "too_short": "at least {min_length} of them",
    "string_too_long": "at most {max_length} characters",
    "string_too_short": "some text",
    "string_unicode": "text that can be written as UTF-8 (no lone surrogates)",
}
_REMEDIES = {
    "greater_than": "write a value in that range",
    "less_than": "write a value in that range",
    "too_short": "add one",
    "too_long": "remove some",
    "string_type": "write a word",
    "string_unicode": "write the character itself, in place of its number",
}


def told(error: ErrorDetails, form: type[BaseModel], loc: Loc) -> tuple[str, str, str]:
    """Return (found, expected, remedy) of an error at `loc`, a place in the file."""
    kind, value, context = error["type"], error["input"], error.get("ctx", {})
    key = next((key for key in reversed(loc) if isinstance(key, str)), "")
    found = shown(value, unit_of(key))
    if kind.startswith("int") and isinstance(value, float):
        found = f"the decimal number {value!r}"
    if kind == FAULT:
        return context["found"] or found, context["expected"], context["remedy"]
    if kind == "missing":
        return _missing(form, error["loc"], loc)
    if kind == "extra_forbidden":
        return _unknown_key(form, loc)
    if kind in ("value_error", "assertion_error"):
        return found, str(context.get("error", error["msg"])), "change it"
    shapes = shapes_at(form, loc)
    words = shapes[0].words if shapes and kind != "too_long" else Words()
    expected = words.expected or _expected(error, shapes, key)
    example = f"write {key}: {words.example}" if words.example and not value else ""
    return found, expected, example or words.remedy or _remedy(error, key)


def _missing(form: type[BaseModel], asked: Loc, loc: Loc) -> tuple[str, str, str]:
    key = asked[-1]
    if isinstance(key, int):
        return f"a list of {key}", f"at least {key + 1} values", "add what is missing"
    meaning = description(form, loc)
    expected = f"the key {key}" + (f" ({meaning})" if meaning else "")
    example = next((shape.words.example for shape in shapes_at(form, loc)), "")
    return f"no {key}", expected, f"add {key}: {example or '…'}"


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
        options = _options(error)
        return options[0] if len(options) == 1 else f"one of {listed(options)}"
    return _PLAIN[kind].format_map(context) if kind in _PLAIN else clipped(error["msg"])


def _options(error: ErrorDetails) -> list[str]:
    return re.findall(r"'([^']*)'", str(error.get("ctx", {}).get("expected")))


def _remedy(error: ErrorDetails, key: str) -> str:
    kind, value = error["type"], error["input"]
    if kind == "literal_error":
        return _remedy_for_options(value, _options(error))
    if kind == "bool_type":
        return f"write {_YES_OR_NO.get(str(value).lower(), 'true or false')}"
    if kind.startswith(("int", "float")):
        return _remedy_for_number(value, key)
    if kind == "string_type" and isinstance(value, int | float):
        return "put it in quotes"
    return _REMEDIES.get(kind.removesuffix("_equal"), f"correct {key}" if key else "correct it")


def _remedy_for_options(value: Any, options: list[str]) -> str:
    """Return what to do about a word that is none of the options."""
    if len(options) == 1:
        return f"write {options[0]}"
    near = nearest(str(value), options)
    return f"did you mean {near}?" if near else "write one of these"


def _remedy_for_number(value: Any, key: str) -> str:
    """Return what to do about something that is no number, or not a whole one."""
    if isinstance(value, float):
        whole = f"write {value:.0f}" if value.is_integer() and abs(value) < 1e15 else ""
        return whole or "write a whole number"
    if not isinstance(value, str):
        return f"write {key}: and a number"
    if _BARE_NUMBER.fullmatch(value):
        return "remove the quotes"
    if _NUMBER_WITH_UNIT.fullmatch(value) and unit_of(key):
        return "leave the unit out: it is in the name of the key"
    return "write a bare number"
