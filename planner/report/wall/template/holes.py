"""The marks to drill by: a cross and a circle, with number and place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.svg import fmt
from planner.report.wall.sheet.marks import Box, Disc, Text, cross, width_of

if TYPE_CHECKING:
    from planner.report.wall.sheet.marks import Mark
    from planner.report.wall.subject import Numbered
    from planner.report.wall.template.clip import View

RADIUS_MM, ARM_MM = 2.5, 6.0
"""Of the mark, not of the drill: the cross stands out beyond it. Invented."""
_SIZE, _LINE = 2.8, 3.3
NEAR_MM = 40.0
"""Holes nearer to each other than this get their number only."""


def hole_marks(hole: Numbered, view: View, *, crowded: bool) -> list[Mark]:
    """Return the mark of a hole; its words stand where the page has room for them."""
    number, fixing = hole
    x, y = view.at(fixing.x_mm, fixing.y_mm)
    dot: list[Mark] = [Disc(x, y, 1.0, "solid")] if fixing.stud else []
    where = f"x {fmt(fixing.x_mm, 1)}  y {fmt(fixing.y_mm, 1)}" + " stud" * fixing.stud
    words = [str(number)] if crowded else [str(number), where]
    return [
        Disc(x, y, RADIUS_MM, "thin"),
        cross(x, y, ARM_MM, "thin"),
        *dot,
        *_words(words, (x, y), view),
    ]


def _words(words: list[str], at: tuple[float, float], view: View) -> list[Mark]:
    """Write to the upper right of a hole, or on the side where the sheet goes on."""
    (x, y), wide = at, max(width_of(word, _SIZE) for word in words)
    right = x + 3.2 + wide <= view.sheet_x + view.width_mm
    above = y + 1.2 + len(words) * _LINE <= view.sheet_y + view.height_mm
    left = x + 3.2 if right else x - 3.2 - wide
    foot = y + 1.6 if above else y - 1.4 - len(words) * _LINE
    marks: list[Mark] = [Box(left - 0.3, foot - 0.6, wide, len(words) * _LINE, "backing")]
    for line, word in enumerate(reversed(words)):
        size = _SIZE if line < len(words) - 1 else 1.2 * _SIZE
        marks.append(Text(left, foot + line * _LINE, word, size))
    return marks
