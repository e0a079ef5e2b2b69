"""Looking up what a form expects at a place: its keys, its bounds, its words."""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from planner.document.form import Words

Loc = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Shape:
    """One thing that may stand at a place: its type and the notes attached to it."""

    type: Any
    notes: tuple[Any, ...] = ()

    @property
    def words(self) -> Words:
        """The words attached to the type, or empty ones."""
        return next((note for note in self.notes if isinstance(note, Words)), Words())

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of a form, in the order in which they are declared."""
        if not _is_form(self.type):
            return ()
        return tuple(info.alias or name for name, info in self.type.model_fields.items())

    def bounds(self, unit: str) -> str:
        """Return "from 0.02 to 2 mm" or the like; "" where nothing bounds the value."""
        low = next((_at_least(note) for note in self.notes if isinstance(note, Ge | Gt)), "")
        high = next((_at_most(note) for note in self.notes if isinstance(note, Le | Lt)), "")
        if low and high and low.startswith("from"):
            text = f"{low} {high.replace('at most', 'to')}"
        else:
            text = " and ".join(filter(None, (low.replace("from", "at least"), high)))
        return f"{text} {unit}".rstrip()


def shapes_at(form: type[BaseModel], loc: Loc) -> tuple[Shape, ...]:
    """Return what `form` allows at `loc` (several for a union, none for an unknown key)."""
    shapes: tuple[Shape, ...] = (Shape(form),)
    for key in loc:
        shapes = tuple(part for shape in shapes for part in _inside(shape.type, key))
    return shapes


def description(form: type[BaseModel], loc: Loc) -> str:
    """Return what the form says about the key at `loc`, without the full stop, or ""."""
    for shape in shapes_at(form, loc[:-1]):
        info = _field(shape.type, loc[-1]) if loc else None
        if info is not None and info.description:
            return info.description.removesuffix(".")
    return ""


def _inside(kind: Any, key: str | int) -> Iterator[Shape]:
    origin, args = get_origin(kind), get_args(kind)
    info = _field(kind, key)
    if info is not None:
        yield from _unwrapped(info.annotation, tuple(info.metadata))
    elif origin in (dict, Mapping) and isinstance(key, str):
        yield from _unwrapped(args[1])
    elif origin is tuple and isinstance(key, int):
        fixed = Ellipsis not in args
        if not fixed or key < len(args):
            yield from _unwrapped(args[key] if fixed else args[0])


def _unwrapped(kind: Any, notes: tuple[Any, ...] = ()) -> Iterator[Shape]:
    """Take Annotated and unions apart."""
    origin = get_origin(kind)
    if origin is Annotated:
        inner, *more = get_args(kind)
        yield from _unwrapped(inner, (*notes, *_flat(more)))
    elif origin in (Union, types.UnionType):
        for option in get_args(kind):
            yield from _unwrapped(option, notes)
    elif kind is not type(None):
        yield Shape(kind, notes)


def _flat(notes: list[Any]) -> Iterator[Any]:
    """Take notes apart: a Field(...) inside Annotated holds its bounds one level down."""
    for note in notes:
        yield from note.metadata if isinstance(note, FieldInfo) else (note,)


def _field(kind: Any, key: str | int) -> FieldInfo | None:
    if not _is_form(kind):
        return None
    fields: dict[str, FieldInfo] = kind.model_fields
    return next((info for name, info in fields.items() if (info.alias or name) == key), None)


def _is_form(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)


def _at_least(note: Ge | Gt) -> str:
    return f"from {_short(note.ge)}" if isinstance(note, Ge) else f"above {_short(note.gt)}"


def _at_most(note: Le | Lt) -> str:
    return f"at most {_short(note.le)}" if isinstance(note, Le) else f"below {_short(note.lt)}"


def _short(bound: Any) -> str:
    return f"{bound:,}".replace(",", " ") if isinstance(bound, int) else f"{bound:g}"
