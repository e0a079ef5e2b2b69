"""Rings of many regions in one set of arrays: their lengths, areas and parallels at once.

A ring has the region on its left (outer rings counter-clockwise, holes clockwise). Moved
inwards by d along the mitres of its corners, a ring of area A, length P and corners that
turn left by t_i has the area A - d P + d^2 T and the length P - 2 d T with T the sum of
tan(t_i / 2): exact until it meets itself or another ring.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

_SHARPEST = 1.0 / 8.0
"""1 + cos(turn) of the sharpest corner that keeps its mitre: 4 times the distance moved."""

_SHORTEST_MM = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rings:
    """Rings one after the other: points (n, 2); per ring its number of points and its owner."""

    points_mm: Floats
    size: Ints
    owner: Ints

    @property
    def start(self) -> Ints:
        """Index of each ring's first point."""
        return np.cumsum(self.size) - self.size

    @property
    def ring(self) -> Ints:
        """Ring of each point."""
        return np.repeat(np.arange(len(self.size)), self.size)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Corners:
    """Per point of some rings: the mitre (n, 2), tan of half the turn, length of the edge after.

    `area_mm2`, `length_mm` and `turning` are A, P and T of each ring.
    """

    mitre: Floats
    half_tan: Floats
    edge_mm: Floats
    area_mm2: Floats
    length_mm: Floats
    turning: Floats

    def area_at(self, depth_mm: Floats | float) -> Floats:
        """Area of each ring moved inwards by a depth (one, or one per ring)."""
        area: Floats = self.area_mm2 - depth_mm * (self.length_mm - depth_mm * self.turning)
        return area

    def length_at(self, depth_mm: Floats | float) -> Floats:
        """Length of each ring moved inwards by a depth (one, or one per ring)."""
        length: Floats = self.length_mm - 2.0 * depth_mm * self.turning
        return length


def rings_of(regions: Sequence[CrossSection]) -> Rings:
    """Collect the rings of all regions; a ring's owner is its region's place in the sequence."""
    each = [region.to_polygons() for region in regions]
    rings = list(chain.from_iterable(each))
    owner = np.repeat(np.arange(len(each)), np.fromiter(map(len, each), np.int64, len(each)))
    return Rings(
        points_mm=np.concatenate(rings) if rings else np.empty((0, 2)),
        size=np.fromiter(map(len, rings), np.int64, len(rings)),
        owner=owner,
    )


def corners(rings: Rings) -> Corners:
    """Measure the corners of all rings."""
    start, points = rings.start, rings.points_mm
    edge = points[following(rings)] - points
    length = np.maximum(np.hypot(edge[:, 0], edge[:, 1]), _SHORTEST_MM)
    after = edge / length[:, None]
    before = after[preceding(rings)]
    open_by = np.maximum(1.0 + (after * before).sum(axis=1), _SHARPEST)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    both = before + after
    local = points - points[np.repeat(start, rings.size)]  # near the origin: keeps its digits
    shoelace = local[:, 0] * edge[:, 1] - local[:, 1] * edge[:, 0]
    half_tan = cross / open_by
    return Corners(
        mitre=np.stack([-both[:, 1], both[:, 0]], axis=1) / open_by[:, None],
        half_tan=half_tan,
        edge_mm=length,
        area_mm2=per_ring(shoelace, rings) / 2.0,
        length_mm=per_ring(length, rings),
        turning=per_ring(half_tan, rings),
    )


def lengths_mm(rings: Rings) -> Floats:
    """Length of the edge that follows each point."""
    length: Floats = np.hypot(*(rings.points_mm[following(rings)] - rings.points_mm).T)
    return length


def per_ring(values: Floats, rings: Rings) -> Floats:
    """Add up a value of each point over its ring."""
    return np.add.reduceat(values, rings.start) if len(rings.size) else np.empty(0)


def per_owner(values: Floats, rings: Rings, owners: int) -> Floats:
    """Add up a value of each ring over its owner."""
    total = np.bincount(rings.owner, weights=values, minlength=owners)
    return total.astype(np.float64)


def following(rings: Rings) -> Ints:
    """Index of the point after each point along its ring."""
    index = np.arange(1, len(rings.points_mm) + 1)
    index[np.cumsum(rings.size) - 1] = rings.start
    return index


def preceding(rings: Rings) -> Ints:
    """Index of the point before each point along its ring."""
    index = np.arange(-1, len(rings.points_mm) - 1)
    index[rings.start] = np.cumsum(rings.size) - 1
    return index


def ranges(start: Ints, count: Ints) -> Ints:
    """Return start[0], start[0] + 1, ..., count[0] of them, then the same of the next.

    >>> ranges(np.array([5, 0]), np.array([2, 3])).tolist()
    [5, 6, 0, 1, 2]
    """
    before = np.cumsum(count) - count
    index: Ints = np.arange(int(count.sum())) + np.repeat(start - before, count)
    return index
