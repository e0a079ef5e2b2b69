"""The marks to drill by: a cross and a circle, with number and place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.svg import fmt
from planner.report.wall.elevation.symbols import left_out
from planner.report.wall.sheet.marks import Box, Disc, Text, segments, width_of

if TYPE_CHECKING:
    from planner.report.wall.sheet.marks import Mark
    from planner.report.wall.subject import Numbered
    from planner.report.wall.template.clip import View
    from planner.wall.model import Skipped

RADIUS_MM, ARM_MM = 2.5, 6.0
"""Of the mark, not of the drill: the cross stands out beyond it. Invented."""
_SIZE, _LINE, _NO_HOLE_MM = 2.8, 3.3, 3.0
NEAR_MM = 40.0
"""Holes nearer to each other than this get their number only."""


def hole_marks(hole: Numbered, view: View, *, crowded: bool) -> list[Mark]:
    """Return the mark of a hole; its words stand where the page has room for them."""
    number, fixing = hole
    x, y = view.at(fixing.x_mm, fixing.y_mm)
    dot: list[Mark] = [Disc(x, y, 1.0, "solid")] if fixing.stud else []
    where = f"x {fmt(fixing.x_mm, 1)}  y {fmt(fixing.y_mm, 1)}" + " stud" * fixing.stud
    words = [str(number)] if crowded else [str(number), where]
    at = (fixing.x_mm, fixing.y_mm)
    arms = [
        ((at[0] - ARM_MM, at[1]), (at[0] + ARM_MM, at[1])),
        ((at[0], at[1] - ARM_MM), (at[0], at[1] + ARM_MM)),
    ]
    return [
        Disc(x, y, RADIUS_MM, "thin"),
        *segments(view.lines(arms), "thin"),
        *dot,
        *_words(words, (x, y), view),
    ]


def unscrewed_marks(left: Skipped, view: View) -> list[Mark]:
    """Return the sign of a junction that gets no screw, so that nobody thinks it forgotten."""
    x, y = view.at(left.x_mm, left.y_mm)
    words = Text(x + 1.2 * _NO_HOLE_MM, y + 1.6, "no screw", _SIZE, "warned")
    fits = words.x + width_of(words.text, _SIZE) <= view.sheet_x + view.width_mm
    return [*left_out(x, y, _NO_HOLE_MM), *([words] if fits else [])]


def _words(words: list[str], at: tuple[float, float], view: View) -> list[Mark]:
    """Write to the upper right of a hole; at the rim of the view beside it, clear of its mark."""
    (x, y), wide = at, max(width_of(word, _SIZE) for word in words)
    high = len(words) * _LINE
    left = min(x + 3.2, view.sheet_x + view.width_mm - wide)
    clear = 1.6 if left == x + 3.2 else ARM_MM + 0.8
    above = y + clear + high <= view.sheet_y + view.height_mm
    foot = y + clear if above else y - clear - high
    marks: list[Mark] = [Box(left - 0.3, foot - 0.6, wide, high, "backing")]
    for line, word in enumerate(reversed(words)):
        size = _SIZE if line < len(words) - 1 else 1.2 * _SIZE
        marks.append(Text(left, foot + line * _LINE, word, size))
    return marks
