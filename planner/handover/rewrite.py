"""One value of a text replaced by another, whatever the text's syntax.

Nothing here knows a syntax: every number or word on the lines of a key that could be its value
is tried, and what the reader of the file then reads decides. A try counts only if the key
has its new value and everything else is as it was.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import islice
from math import isclose
from typing import TYPE_CHECKING

from planner.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from planner.audit.compare import Said, Value

TRIES = 200
"""A key on a line with more numbers than this is left alone (our own choice)."""

SPAN_LINES = 4
"""A value may stand a few lines after its key (an element of its own, say)."""

SCALES = (1.0, 100.0, 60.0, 1000.0)
"""Tried for a value of 0, which shows no unit: as it is, %, mm/min, µm."""

PAIRS = (
    ("true", "false"),
    ("yes", "no"),
    ("on", "off"),
    ("1", "0"),
    ("enabled", "disabled"),
    ("enable", "disable"),
    ("ja", "nein"),
    ("an", "aus"),
    ("ein", "aus"),
    ("oui", "non"),
    ("vrai", "faux"),
    ("sí", "no"),
    ("sì", "no"),
    ("si", "no"),
    ("sim", "não"),
)
"""Words for yes and no; others are left to a person."""

_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)?")
_NUMBERS = (
    re.compile(r"(?<![\w.,])[-+]?\d+,\d+(?![\d,])"),  # a decimal comma; else a list
    re.compile(r"(?<![\w.])[-+]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][-+]?\d+)?(?!\d)"),
)
_WORD = re.compile(r"[^\W_](?:[\w-]*[^\W_])?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One stretch of text to be replaced: character offsets and what comes in its place."""

    start: int
    end: int
    text: str


def rewritten(
    text: str,
    key: str,
    value: Value,
    *,
    said: Said,
    read: Callable[[str], Said],
) -> str | None:
    """Return the text with `key` set to `value` and nothing else changed, or None.

    `said` is what `read` makes of the text; the key must stand in it with its line.
    """
    old = said.values[key]
    start, end = _lines_span(text, said.lines[key])
    after = _after_name(text, start, end, said.names.get(key, key.rpartition(".")[2]))
    for edits in islice(_tries(text, after, end, old, value), TRIES):
        changed = _applied(text, edits)
        if changed != text and _reads(changed, key, value, said, read):
            return changed
    return None


def _reads(text: str, key: str, value: Value, said: Said, read: Callable[[str], Said]) -> bool:
    """Tell whether the text says the new value, and else what it said before."""
    try:
        now = read(text)
    except InputError:
        return False
    same = {name: each for name, each in now.values.items() if name != key}
    return (
        _equal(now.values.get(key), value)
        and same == {name: each for name, each in said.values.items() if name != key}
        and now.as_written == said.as_written
    )


def _tries(text: str, start: int, end: int, old: Value, new: Value) -> Iterator[tuple[Edit, ...]]:
    """Yield sets of edits, the likeliest first: one token, then all tokens like it."""
    if isinstance(new, bool) or isinstance(old, bool):
        yield from _switched(text, start, end, new=bool(new))
    elif isinstance(new, str) or isinstance(old, str):
        yield from _worded(text, start, end, str(old), str(new))
    else:
        yield from _numbered(text, start, end, float(old), float(new))


def _numbered(
    text: str, start: int, end: int, old: float, new: float
) -> Iterator[tuple[Edit, ...]]:
    tokens = [token for form in _NUMBERS for token in form.finditer(text, start, end)]
    for token in tokens:
        for shown in _in_its_unit(token[0], old, new):
            one = Edit(start=token.start(), end=token.end(), text=shown)
            yield (one,)
            alike = [t for t in tokens if t[0] == token[0]]
            if len(alike) > 1:  # a list with one value per tool
                yield tuple(Edit(start=t.start(), end=t.end(), text=shown) for t in alike)


def _in_its_unit(token: str, old: float, new: float) -> Iterator[str]:
    """Yield the new value in the unit and style that the token has for the old one."""
    written = float(token.replace(",", "."))
    scales: tuple[float, ...]
    if old == 0:
        scales = SCALES if written == 0 else ()
    else:
        scales = (written / old,) if written != 0 else ()
    for scale in scales:
        shown = f"{new * scale:.6f}".rstrip("0").rstrip(".")
        decimals = len(token.replace(",", ".").partition(".")[2])
        if len(shown.partition(".")[2]) < decimals:
            shown = f"{new * scale:.{decimals}f}"
        yield shown.replace(".", ",") if "," in token else shown


def _switched(text: str, start: int, end: int, *, new: bool) -> Iterator[tuple[Edit, ...]]:
    for token in re.finditer(r"\w+", text[start:end]):
        for pair in PAIRS:
            if token[0].casefold() == pair[int(new)]:  # the first of a pair is yes
                shown = _cased(pair[int(not new)], token[0])
                begin = start + token.start()
                yield (Edit(start=begin, end=begin + len(token[0]), text=shown),)


def _worded(text: str, start: int, end: int, old: str, new: str) -> Iterator[tuple[Edit, ...]]:
    for token in _WORD.finditer(text, start, end):
        if token[0].casefold() == old.casefold():
            yield (Edit(start=token.start(), end=token.end(), text=_cased(new, token[0])),)


def _cased(word: str, like: str) -> str:
    if like.isupper() and len(like) > 1:
        return word.upper()
    return word.capitalize() if like[:1].isupper() else word


def _applied(text: str, edits: tuple[Edit, ...]) -> str:
    for edit in sorted(edits, key=lambda edit: -edit.start):
        text = text[: edit.start] + edit.text + text[edit.end :]
    return text


def _lines_span(text: str, line: int) -> tuple[int, int]:
    """Return where a line begins, and where the last line ends that its value may stand on."""
    starts = [match.start() for match in _LINE.finditer(text)]
    first = starts[min(line, len(starts)) - 1]
    last = min(line - 1 + SPAN_LINES, len(starts) - 1)
    return first, starts[last] if last > line - 1 else len(text)


def _after_name(text: str, start: int, end: int, name: str) -> int:
    """Return where to begin to look: after the key's name, if it stands there."""
    found = text.find(name, start, end)
    return start if found < 0 else found + len(name)


def _equal(a: Value | None, b: Value) -> bool:
    if isinstance(a, bool) or isinstance(b, bool):
        return a is b
    if isinstance(a, int | float) and isinstance(b, int | float):
        return isclose(a, b, rel_tol=1e-5, abs_tol=1e-9)
    return str(a).casefold() == str(b).casefold()
