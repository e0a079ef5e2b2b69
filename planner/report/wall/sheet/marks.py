"""What a drawing is made of: marks on a sheet, from its bottom left corner, y upwards.

A sheet for paper is in mm; one for a screen in units of its own. Widths of lines follow the
size of the letters, so both look alike.
"""

from __future__ import annotations

import math
import unicodedata
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

from planner.report.words import plain

if TYPE_CHECKING:
    from collections.abc import Iterable

Point = tuple[float, float]
Segment = tuple[Point, Point]
Anchor = Literal["start", "middle", "end"]

_NARROW, _WIDE = frozenset("ijltfrI.,:;'|!()[] -"), frozenset("mwMW@%\u2026\u2014")


@dataclass(frozen=True, slots=True)
class Path:
    """Lines through points, each one on its own; `closed` joins the ends of each."""

    lines: tuple[tuple[Point, ...], ...]
    style: str
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle from its bottom left corner."""

    x: float
    y: float
    width: float
    height: float
    style: str


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle about a point."""

    x: float
    y: float
    radius: float
    style: str


@dataclass(frozen=True, slots=True)
class Text:
    """Words on one line; x, y is the foot of the letters. `turned` reads upwards."""

    x: float
    y: float
    text: str
    size: float
    style: str = "ink"
    anchor: Anchor = "start"
    turned: bool = False


Mark = Path | Box | Disc | Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet and its marks, the lowest first; `letter` is the size of its usual text."""

    name: str
    width: float
    height: float
    letter: float
    marks: tuple[Mark, ...]


def width_of(text: str, size: float) -> float:
    """Return the room a text takes at most, by a generous guess.

    >>> round(width_of("Wall 7", 10), 1)
    35.2
    """
    return size * sum(map(_wide, text))


@cache
def _wide(char: str) -> float:
    """Return the width of a letter as a share of its size, in the wider of usual fonts.

    Read from the metrics of Helvetica and of DejaVu Sans, which is about a tenth wider.
    """
    if char in _NARROW:
        return 0.4
    if char in _WIDE or unicodedata.east_asian_width(char) in "WF":
        return 1.05 if char in _WIDE else 1.4
    return 0.8 if char.isupper() or not char.isascii() else 0.635


def fitted(text: str, size: float, room: float) -> str:
    """Shorten a text to the room there is; empty if not even two letters find room.

    >>> fitted("a long name", 10, 30), fitted("wall", 10, 30), fitted("wall", 10, 5)
    ('a l…', 'wall', '')
    """
    shown, room = plain(text), room + 1e-6  # a room that was measured by this very text
    if width_of(shown, size) <= room:
        return shown
    used, keep = width_of("…", size), 0
    for char in shown:
        used += width_of(char, size)
        if used > room:
            break
        keep += 1
    shown = shown[:keep]
    return shown.rstrip() + "…" if len(shown) > 1 else ""


def centred(x: float, y: float, text: str, size: float, style: str = "ink") -> Text:
    """Return a text about a point; digits and capitals stand about 0.7 of the size high."""
    return Text(x, y - 0.35 * size, text, size, style, "middle")


def segments(pairs: Iterable[Segment], style: str) -> tuple[Path, ...]:
    """Return separate straight lines as one mark; none where there are none."""
    lines = tuple(pairs)
    return (Path(lines, style),) if lines else ()


def cross(x: float, y: float, arm: float, style: str, *, slanted: bool = False) -> Path:
    """Return two short lines across a point."""
    a = arm * math.sqrt(0.5) if slanted else arm
    if slanted:
        return Path((((x - a, y - a), (x + a, y + a)), ((x - a, y + a), (x + a, y - a))), style)
    return Path((((x - a, y), (x + a, y)), ((x, y - a), (x, y + a))), style)


def hatched(box: Box, spacing: float, style: str, *, rising: bool = True) -> tuple[Path, ...]:
    """Return lines at 45 degrees across a box; those of neighbouring boxes meet.

    They lie on x - y (rising) or x + y = a whole number of spacings from the sheet's origin.
    """
    x0, x1, y0, y1 = box.x, box.x + box.width, box.y, box.y + box.height
    sign = 1.0 if rising else -1.0
    low, high = min(sign * -y1, sign * -y0), max(sign * -y1, sign * -y0)
    first, last = math.ceil((x0 + low) / spacing), math.floor((x1 + high) / spacing)
    found: list[Segment] = []
    for step in range(first, last + 1):
        middle = step * spacing  # x = middle + sign * y
        ends = sorted(sign * (x - middle) for x in (x0, x1))
        low_y, high_y = max(y0, ends[0]), min(y1, ends[1])
        if high_y > low_y:
            found.append(((middle + sign * low_y, low_y), (middle + sign * high_y, high_y)))
    return segments(found, style)
