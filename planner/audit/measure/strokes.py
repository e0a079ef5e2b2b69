"""The lines of one layer as strokes: laid in one go, closed where they come back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.audit.measure.harvest import Lines

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

BACK_MM = 0.05
"""A stroke that comes this near to its start has closed a loop."""
LEAST_LOOP_MM = 2.0
CLOSED_RAD = 2.5
"""Least total turning of a closed path (a full circle is 6.28): joined rows swing to and fro."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stroke:
    """Corners (n, 2) of one stroke, whether it is closed, and its signed turning.

    `first` and `last` are the rows of its lines in the layer; `length_mm` is along it,
    `strand_mm` what it lays. `area_mm2` of a loop is positive counter-clockwise.
    """

    points_mm: Floats
    closed: bool
    first: int
    last: int
    length_mm: float
    strand_mm: float
    area_mm2: float


def strokes_of(lines: Lines, spacing_mm: float) -> list[Stroke]:
    """Cut a layer's lines, in order of printing, into strokes."""
    count = len(lines)
    if not count:
        return []
    near = np.ones(count, dtype=bool)
    near[1:] = lines.joined[1:]
    near[1:] &= np.abs(lines.x0[1:] - lines.x1[:-1]) < 1e-3
    near[1:] &= np.abs(lines.y0[1:] - lines.y1[:-1]) < 1e-3
    near[0] = False
    starts = np.flatnonzero(~near)
    stops = np.append(starts[1:], count)
    x = np.column_stack([lines.x0, lines.y0]).astype(np.float64)
    end = np.column_stack([lines.x1, lines.y1]).astype(np.float64)
    length, strand = lines.length_mm.astype(np.float64), lines.strand_mm.astype(np.float64)
    found: list[Stroke] = []
    for first, stop in zip(starts.tolist(), stops.tolist(), strict=True):
        for a, b in _cut(x, end, length, first, stop):
            found.append(_stroke(x, end, (length, strand), (a, b), spacing_mm))
    return found


def _cut(x: Floats, end: Floats, length: Floats, first: int, stop: int) -> list[tuple[int, int]]:
    """Split a chain wherever it comes back to where its stretch began."""
    spans, begin = [], first
    while stop - begin >= 3:
        apart = np.abs(end[begin:stop] - x[begin]).max(axis=1)
        along = np.cumsum(length[begin:stop])
        back = np.flatnonzero((apart < BACK_MM) & (along > LEAST_LOOP_MM))
        if not len(back):
            break
        spans.append((begin, begin + int(back[0]) + 1))
        begin += int(back[0]) + 1
    if begin < stop:
        spans.append((begin, stop))
    return spans


def _stroke(
    x: Floats, end: Floats, amounts: tuple[Floats, Floats], span: tuple[int, int], spacing: float
) -> Stroke:
    a, b = span
    points = np.vstack([x[a : a + 1], end[a:b]])
    length = float(amounts[0][a:b].sum())
    gap = float(np.hypot(*(points[-1] - points[0])))
    closed = b - a >= 3 and length > LEAST_LOOP_MM and gap <= min(2.5 * spacing, 0.2 * length)
    closed = closed and abs(_turning(points)) > CLOSED_RAD
    px, py = points.T
    area = 0.5 * float(np.dot(px, np.roll(py, -1)) - np.dot(py, np.roll(px, -1)))
    return Stroke(
        points_mm=points,
        closed=closed,
        first=a,
        last=b,
        length_mm=length,
        strand_mm=float(amounts[1][a:b].sum()),
        area_mm2=area,
    )


def _turning(points: Floats) -> float:
    """Sum of signed turns along a path, the last one back to its start included."""
    steps = np.diff(np.vstack([points, points[:2]]), axis=0)
    steps = steps[np.hypot(*steps.T) > 1e-4]
    if len(steps) < 3:
        return 0.0
    angle = np.arctan2(steps[:, 1], steps[:, 0])
    turn = (np.diff(angle) + np.pi) % (2 * np.pi) - np.pi
    return float(turn.sum())


def spread_points(points: Floats, step_mm: float) -> tuple[Floats, Floats]:
    """Points about a step apart along a path, (m, 2), and unit directions there, (m, 2)."""
    steps = np.diff(points, axis=0)
    length = np.hypot(*steps.T)
    kept = length > 1e-6
    steps, length = steps[kept], length[kept]
    first = points[:-1][kept]
    counts = np.maximum(np.ceil(length / step_mm), 1).astype(np.int64)
    index = np.repeat(np.arange(len(counts)), counts)
    within = np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)
    share = (within + 0.5) / counts[index]
    unit = steps / length[:, None]
    return first[index] + share[:, None] * steps[index], unit[index]
