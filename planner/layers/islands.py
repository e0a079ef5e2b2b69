"""Which strokes of a layer belong to one island: a piece of the part apart from the others.

A stroke belongs to the smallest outer ring whose bounding rectangle holds its first point:
right unless pieces reach far into each other, and then only the order of strokes suffers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.layers.rings import following, per_ring, ranges, rings_of
from planner.layers.strokes import BRIM, SUPPORT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from planner.layers.rings import Rings
    from planner.layers.strokes import Strokes

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

_MOST_PAIRS = 3_000_000
"""Where more pairs of stroke and piece would have to be looked at, all is one island."""


def islands(strokes: Strokes, regions: Sequence[CrossSection], region_of: Ints) -> Ints:
    """Give the number of the island of each stroke; `region_of` is the region of each owner."""
    island = np.zeros(len(strokes), dtype=np.int64)
    which = region_of[strokes.owner]
    boxes = _boxes(rings_of(regions))
    pieces = np.bincount(boxes[0], minlength=len(regions))
    apart = np.flatnonzero(pieces[which] > 1)
    if 0 < pieces[which[apart]].sum() <= _MOST_PAIRS:
        first = np.cumsum(pieces) - pieces
        island[apart] = _smallest_around(
            strokes.first_mm[apart], first[which[apart]], pieces[which[apart]], boxes[1]
        )
    island[strokes.code == SUPPORT] = -2
    island[strokes.code == BRIM] = -3
    return island


def _boxes(rings: Rings) -> tuple[Ints, Floats]:
    """Owner and bounds (left, front, right, back) of every outer ring."""
    if not len(rings.size):
        return np.empty(0, dtype=np.int64), np.empty((0, 4))
    x, y = rings.points_mm.T
    after = rings.points_mm[following(rings)]
    outer = per_ring(x * after[:, 1] - after[:, 0] * y, rings) > 0.0
    start = rings.start
    bounds = [f.reduceat(v, start) for f in (np.minimum, np.maximum) for v in (x, y)]
    return rings.owner[outer], np.stack(bounds, axis=1)[outer]


def _smallest_around(points: Floats, first: Ints, count: Ints, boxes: Floats) -> Ints:
    """Index of the smallest box around each point among its own `count` boxes from `first`."""
    point = np.repeat(np.arange(len(points)), count)
    box = ranges(first, count)
    low, high = boxes[box, :2], boxes[box, 2:]
    at = points[point]
    holds = ((low <= at + 1e-3) & (at <= high + 1e-3)).all(axis=1)
    size = np.where(holds, np.prod(high - low, axis=1), np.inf)
    start = np.cumsum(count) - count
    hit = np.flatnonzero(size == np.repeat(np.minimum.reduceat(size, start), count))
    return box[hit[np.flatnonzero(np.diff(point[hit], prepend=-1))]]
