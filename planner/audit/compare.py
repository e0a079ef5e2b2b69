"""What differs between the settings of two files, in neutral words."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isclose
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

SCHEMA = "platewright/compare/1"

Value = float | int | str | bool
NONE: Mapping[str, Any] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a file says of settings.

    `values` has the keys of `Settings` ("speed_mm_s.outer_wall" for one feature) in the units
    of the keys, bases and all; `origin` maps a key to where it was written, `lines` those that
    stand in the file itself to their line, `names` to how the file spells them. `as_written`
    holds what was not understood, under the names of the file.
    """

    file: str
    values: Mapping[str, Value]
    origin: Mapping[str, str] = field(default_factory=lambda: NONE)
    lines: Mapping[str, int] = field(default_factory=lambda: NONE)
    names: Mapping[str, str] = field(default_factory=lambda: NONE)
    as_written: Mapping[str, str] = field(default_factory=lambda: NONE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One key in one of the files, or in both; None is: not in that file.

    `understood` is whether it is a key of `Settings`, else the values are texts as written.
    """

    key: str
    a: Value | None
    b: Value | None
    a_where: str = ""
    b_where: str = ""
    understood: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two files held side by side; every group is sorted, what was understood first."""

    a: str
    b: str
    only_a: tuple[Entry, ...]
    only_b: tuple[Entry, ...]
    different: tuple[Entry, ...]
    same: int


def compare(a: Said, b: Said) -> Comparison:
    """Return what is only in one file, what differs, and how many keys say the same."""
    entries = [*_entries(a, b), *_as_written(a, b)]
    both = [entry for entry in entries if entry.a is not None and entry.b is not None]
    differing = tuple(entry for entry in both if not _alike(entry.a, entry.b))
    return Comparison(
        a=a.file,
        b=b.file,
        only_a=tuple(entry for entry in entries if entry.b is None),
        only_b=tuple(entry for entry in entries if entry.a is None),
        different=differing,
        same=len(both) - len(differing),
    )


def comparison_document(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison as plain types (schema "platewright/compare/1")."""
    return {
        "schema": SCHEMA,
        "a": comparison.a,
        "b": comparison.b,
        "only_a": [_document(entry) for entry in comparison.only_a],
        "only_b": [_document(entry) for entry in comparison.only_b],
        "different": [_document(entry) for entry in comparison.different],
        "same": comparison.same,
    }


def _entries(a: Said, b: Said) -> Iterable[Entry]:
    for key in sorted({*a.values, *b.values}):
        yield Entry(
            key=key,
            a=a.values.get(key),
            b=b.values.get(key),
            a_where=a.origin.get(key, ""),
            b_where=b.origin.get(key, ""),
        )


def _as_written(a: Said, b: Said) -> Iterable[Entry]:
    for key in sorted({*a.as_written, *b.as_written}):
        yield Entry(key=key, a=a.as_written.get(key), b=b.as_written.get(key), understood=False)


def _alike(a: Value | None, b: Value | None) -> bool:
    """Compare like with like: true is not 1, PLA is pla, six digits are what is shown."""
    if isinstance(a, bool) or isinstance(b, bool):
        return a is b
    if isinstance(a, int | float) and isinstance(b, int | float):
        return isclose(a, b, rel_tol=1e-6, abs_tol=1e-12)
    return str(a).casefold() == str(b).casefold()


def _document(entry: Entry) -> dict[str, Any]:
    return {
        "key": entry.key,
        "understood": entry.understood,
        "a": entry.a,
        "b": entry.b,
        "a_where": entry.a_where,
        "b_where": entry.b_where,
    }
