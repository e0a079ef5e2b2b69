"""Strokes: stretches of path that are drawn in one go, many of them in one set of arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.model import FEATURES
from planner.layers.rings import ranges
from planner.settings.model import Feature

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.layers.rings import Rings

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

OUTER, INNER, SOLID, SPARSE, SUPPORT, BRIM, TRAVEL = (
    FEATURES.index(feature)
    for feature in (
        Feature.OUTER_WALL,
        Feature.INNER_WALLS,
        Feature.SOLID_FILL,
        Feature.SPARSE_FILL,
        Feature.SUPPORT,
        Feature.BRIM,
        Feature.TRAVEL,
    )
)
BRIDGE = len(FEATURES)
"""Code of solid fill over air: a feature of its own to the head, solid fill to the user."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strokes:
    """Strokes one after the other, in order of their owners.

    points_mm is (n, 2); per stroke: number of points, owner and code (column of its feature,
    or `BRIDGE`). `lays` says of each point whether the way to the next one lays plastic; it
    is False for the last point of a stroke. A closed stroke ends on its first point.
    """

    points_mm: Floats
    size: Ints
    owner: Ints
    code: Ints
    lays: Bools

    def __len__(self) -> int:
        return len(self.size)

    @property
    def start(self) -> Ints:
        """Index of each stroke's first point."""
        return np.cumsum(self.size) - self.size

    @property
    def first_mm(self) -> Floats:
        """Where each stroke begins, (strokes, 2)."""
        return self.points_mm[self.start]

    @property
    def last_mm(self) -> Floats:
        """Where each stroke ends, (strokes, 2)."""
        ends: Floats = self.points_mm[self.start + self.size - 1]
        return ends


NONE = Strokes(
    points_mm=np.empty((0, 2)),
    size=np.empty(0, dtype=np.int64),
    owner=np.empty(0, dtype=np.int64),
    code=np.empty(0, dtype=np.int64),
    lays=np.empty(0, dtype=bool),
)


def closed(rings: Rings, owner: Ints, code: Ints | int) -> Strokes:
    """Draw each ring as one stroke from its outermost corner (the seam) round to it again.

    Outermost is farthest from the origin, the middle of the part: seams of nested walls lie
    side by side, and turning the part about the vertical turns them with it.
    """
    if not len(rings.size):
        return NONE
    first = rings.start
    turned = ranges(np.zeros_like(first), rings.size + 1) + np.repeat(
        _outermost(rings) - first, rings.size + 1
    )
    size = np.repeat(rings.size, rings.size + 1)
    index = np.repeat(first, rings.size + 1) + turned % size
    return Strokes(
        points_mm=rings.points_mm[index],
        size=rings.size + 1,
        owner=owner,
        code=np.broadcast_to(np.asarray(code, dtype=np.int64), owner.shape),
        lays=laid_but_last(rings.size + 1),
    )


def laid_but_last(size: Ints) -> Bools:
    """Return True for all points of strokes of these sizes but the last one of each."""
    lays = np.ones(int(size.sum()), dtype=bool)
    lays[np.cumsum(size) - 1] = False
    return lays


def joined(parts: Sequence[Strokes]) -> Strokes:
    """Put strokes together, by owner and then in the order given."""
    every = [part for part in parts if len(part)]
    if not every:
        return NONE
    size, owner, code, points, lays = (
        np.concatenate([getattr(part, name) for part in every])
        for name in ("size", "owner", "code", "points_mm", "lays")
    )
    order = np.argsort(owner, kind="stable")
    index = ranges((np.cumsum(size) - size)[order], size[order])
    return Strokes(
        points_mm=points[index],
        size=size[order],
        owner=owner[order],
        code=code[order],
        lays=lays[index],
    )


def lengths_mm(strokes: Strokes) -> Floats:
    """Laid length of each stroke."""
    if not len(strokes):
        return np.empty(0)
    step = np.zeros(len(strokes.points_mm))
    step[:-1] = np.hypot(*np.diff(strokes.points_mm, axis=0).T)
    return np.add.reduceat(np.where(strokes.lays, step, 0.0), strokes.start)


def _outermost(rings: Rings) -> Ints:
    """Index of each ring's point farthest from the origin (to a micrometre), the first of equals.

    Equals are told apart by their angle, so that it does not matter where a ring starts.
    """
    x, y = rings.points_mm.T
    ring, start = rings.ring, rings.start
    away = np.round(np.hypot(x, y), 3)
    angle = np.round(np.arctan2(y, x), 6)
    angle[away < np.maximum.reduceat(away, start)[ring]] = np.inf
    hit = np.flatnonzero(angle == np.minimum.reduceat(angle, start)[ring])
    return hit[np.unique(ring[hit], return_index=True)[1]]
