"""Dimensions about a wall: margins and the panelled width and height in chains, then overall.

Arrows are filled and 15 degrees wide; where they find no room, oblique strokes end the line
(ISO 129-1 has both). Text stands above its line and reads from below or from the right.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.report.svg import fmt
from planner.report.wall.sheet.marks import Path, Text, segments, width_of

if TYPE_CHECKING:
    from planner.report.wall.elevation.place import Place
    from planner.report.wall.sheet.marks import Mark, Point
    from planner.report.wall.subject import Subject

CHAIN, OVERALL = 2.2, 4.2
"""Distance of the dimension lines from the wall, in letters."""
_ARROW, _HALF = 0.9, 0.12
_NOTHING_MM = 0.05
"""Less is nothing to a carpenter, and would be written 0."""


def measures(subject: Subject, place: Place) -> list[Mark]:
    """Return all dimensions of a wall; they keep within `elevation.layout.ROOM`."""
    (width, height), unit = subject.size_mm, place.letter
    left, right, bottom, top = subject.panelling.margins_mm
    (x0, y0), (x1, _) = place.at(0, 0), place.at(width, 0)
    marks: list[Mark] = []
    if left + right >= _NOTHING_MM:  # else the chain would say the whole once more
        spans = ((0.0, left, -1), (left, width - right, 0), (width - right, width, 1))
        for low, high, out in spans:
            marks += _level(place, (low, high), y0 - CHAIN * unit, y0, out)
    if bottom + top >= _NOTHING_MM:
        for low, high in ((0.0, bottom), (bottom, height - top), (height - top, height)):
            marks += _upright(place, (low, high), x0 - CHAIN * unit, x0)
    marks += _level(place, (0.0, width), y0 - OVERALL * unit, y0, 0)
    return marks + _upright(place, (0.0, height), x1 + 3.2 * unit, x1)


def _level(
    place: Place, span: tuple[float, float], y: float, wall_y: float, out: int
) -> list[Mark]:
    """Measure from left to right; a text without room stands outside, on the side `out`."""
    low_mm, high_mm = span
    if high_mm - low_mm < _NOTHING_MM:
        return []
    (x0, _), (x1, _), unit = place.at(low_mm, 0), place.at(high_mm, 0), place.letter
    text, size = fmt(high_mm - low_mm, 1), 0.85 * unit
    words = Text((x0 + x1) / 2, y + 0.3 * unit, text, size, "soft", "middle")
    if out and width_of(text, size) >= x1 - x0:
        end = x0 - 0.4 * unit if out < 0 else x1 + 0.4 * unit
        words = Text(end, y + 0.3 * unit, text, size, "soft", "end" if out < 0 else "start")
    reach = y - 0.5 * unit
    lines = segments(
        [((x0, wall_y), (x0, reach)), ((x1, wall_y), (x1, reach)), ((x0, y), (x1, y))], "measure"
    )
    return [*lines, *_ends(x0, x1, y, unit, upright=False), words]


def _upright(place: Place, span: tuple[float, float], x: float, wall_x: float) -> list[Mark]:
    """Measure upwards; a text without room is written level, to the left of the line."""
    low_mm, high_mm = span
    if high_mm - low_mm < _NOTHING_MM:
        return []
    (_, y0), (_, y1), unit = place.at(0, low_mm), place.at(0, high_mm), place.letter
    text, size, middle = fmt(high_mm - low_mm, 1), 0.85 * unit, (y0 + y1) / 2
    words = Text(x - 0.3 * unit, middle, text, size, "soft", "middle", turned=True)
    if width_of(text, size) >= y1 - y0:
        words = Text(x - 0.5 * unit, middle - 0.3 * unit, text, size, "soft", "end")
    reach = x + (0.5 if x > wall_x else -0.5) * unit
    lines = segments(
        [((wall_x, y0), (reach, y0)), ((wall_x, y1), (reach, y1)), ((x, y0), (x, y1))], "measure"
    )
    return [*lines, *_ends(y0, y1, x, unit, upright=True), words]


def _ends(low: float, high: float, across: float, unit: float, *, upright: bool) -> list[Mark]:
    def point(along: float, beside: float) -> Point:
        return (across + beside, along) if upright else (along, across + beside)

    if high - low < 2.5 * _ARROW * unit:
        arm = 0.3 * unit
        strokes = [(point(end - arm, -arm), point(end + arm, arm)) for end in (low, high)]
        return list(segments(strokes, "thick"))
    heads = tuple(
        (
            point(end, 0),
            point(end + inward * _ARROW * unit, _HALF * unit),
            point(end + inward * _ARROW * unit, -_HALF * unit),
        )
        for end, inward in ((low, 1), (high, -1))
    )
    return [Path(heads, "arrow", closed=True)]
