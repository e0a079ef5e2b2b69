"""Edges and cells joined to the longest runs: few strokes instead of thousands."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from planner.report.wall.sheet.marks import Segment
    from planner.wall.model import Edge, Panelling

Run = tuple[float, float, float, float, str]
"""Left, bottom, width, height in mm, and a part."""

_TOUCH_MM = 1e-3
"""Ends this near are one point: far under a pencil's line, far over rounding."""


def runs_of(edges: Iterable[Edge], pitch_mm: tuple[float, float]) -> tuple[Segment, ...]:
    """Join edges that meet end to end in a straight line; level lines first, from below."""
    lines: defaultdict[tuple[bool, int], list[float]] = defaultdict(list)
    for edge in edges:
        across, along = (edge.x_mm, edge.y_mm) if edge.upright else (edge.y_mm, edge.x_mm)
        lines[edge.upright, round(across / _TOUCH_MM)].append(along)
    found: list[Segment] = []
    for (upright, across), starts in sorted(lines.items()):
        for low, high in _joined(starts, pitch_mm[1 if upright else 0]):
            at = across * _TOUCH_MM
            found.append(((at, low), (at, high)) if upright else ((low, at), (high, at)))
    return tuple(found)


def cells_joined(panelling: Panelling, pitch_mm: tuple[float, float]) -> tuple[Run, ...]:
    """Join cells of a row that hold the same part, "" where no part was placed."""
    parts = _parts_of_cells(panelling, pitch_mm)
    rows: defaultdict[tuple[float, str], list[float]] = defaultdict(list)
    for cell in panelling.cells:
        rows[cell.y_mm, parts.get((cell.x_mm, cell.y_mm), "")].append(cell.x_mm)
    return tuple(
        (low, y, high - low, pitch_mm[1], part)
        for (y, part), starts in sorted(rows.items())
        for low, high in _joined(starts, pitch_mm[0])
    )


def _parts_of_cells(
    panelling: Panelling, pitch_mm: tuple[float, float]
) -> Mapping[tuple[float, float], str]:
    """Return bottom left corner -> part of the panels, the first where a cell has several."""
    middles: dict[tuple[int, int], str] = {}
    for placed in panelling.placed:
        if placed.spot == "cell" and not placed.hung:
            middles.setdefault(_rounded(placed.x_mm, placed.y_mm), placed.part)
    found: dict[tuple[float, float], str] = {}
    for cell in panelling.cells:
        middle = _rounded(cell.x_mm + pitch_mm[0] / 2, cell.y_mm + pitch_mm[1] / 2)
        found[cell.x_mm, cell.y_mm] = middles.get(middle, "")
    return found


def _rounded(x_mm: float, y_mm: float) -> tuple[int, int]:
    return round(x_mm / (10 * _TOUCH_MM)), round(y_mm / (10 * _TOUCH_MM))


def _joined(starts: list[float], length: float) -> Iterator[tuple[float, float]]:
    """Yield the runs of spans of one length that meet."""
    ordered = sorted(starts)
    low = high = ordered[0]
    for start in ordered:
        if start > high + _TOUCH_MM:
            yield low, high
            low = start
        high = max(high, start + length)
    yield low, high
