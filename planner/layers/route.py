"""From ordered strokes to the way of the head: every point, what leads there, where it rests."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.layers.model import FEATURES, Paths
from planner.layers.rings import ranges
from planner.layers.strokes import BRIDGE, SOLID, TRAVEL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.layers.order import Order
    from planner.layers.strokes import Strokes

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

RETRACT_OVER_MM = 2.0
"""Ways to another stroke over this length draw the strand back: common practice, no source."""


def route(
    strokes: Strokes, order: Order, *, kind: Ints, section_mm2: Floats, remarks: tuple[str, ...]
) -> Paths:
    """Draw the strokes in their order; the owner of a stroke is the kind of its layer.

    `kind` is the kind of each layer and `section_mm2` that of a line in each kind.
    """
    size = strokes.size[order.stroke]
    point = _walked(strokes, order, size)
    begins = np.zeros(len(point), dtype=bool)
    begins[np.cumsum(size) - size] = True
    owner = np.repeat(strokes.owner[order.stroke], size)
    opens = np.diff(owner, prepend=-1) > 0
    points = strokes.points_mm[point]
    return Paths(
        points_mm=points,
        code=_codes(strokes, order, point, begins),
        rests=_rests(points, begins, opens),
        start=np.searchsorted(owner, np.arange(len(section_mm2) + 1)),
        kind=kind,
        section_mm2=section_mm2,
        remarks=remarks,
    )


def _walked(strokes: Strokes, order: Order, size: Ints) -> Ints:
    """Index of every point in the order walked."""
    first = strokes.start[order.stroke]
    step = ranges(np.zeros_like(size), size)
    back = np.repeat(order.backwards, size)
    last = np.repeat(first + size - 1, size)
    walked: Ints = np.where(back, last - step, np.repeat(first, size) + step)
    return walked


def _codes(strokes: Strokes, order: Order, point: Ints, begins: Bools) -> Ints:
    """Return what the move that arrives at each point is for."""
    code = np.repeat(strokes.code[order.stroke], strokes.size[order.stroke])
    back = np.repeat(order.backwards, strokes.size[order.stroke])
    came_from = np.where(back, point, point - 1)  # the earlier of the two ends as drawn
    lays = strokes.lays[np.where(begins, 0, came_from)] & ~begins
    return np.where(lays, code, TRAVEL).astype(np.int64)


def _rests(points: Floats, begins: Bools, opens: Bools) -> Bools:
    """Mark the ways to another stroke that are long; entering a layer is no such way."""
    away = np.zeros(len(points))
    away[1:] = np.hypot(*np.diff(points, axis=0).T)
    rests: Bools = begins & ~opens & (away > RETRACT_OVER_MM)
    return rests


def vectors_mm(paths: Paths) -> Floats:
    """How far the move that arrives at each point goes, (n, 2); 0 where a layer is entered."""
    vectors = np.diff(paths.points_mm, axis=0, prepend=np.zeros((1, 2)))
    full = np.diff(paths.start) > 0
    vectors[paths.start[:-1][full]] = 0.0
    return vectors


def kind_of_point(paths: Paths) -> Ints:
    """Kind that each point belongs to."""
    return np.repeat(np.arange(len(paths.section_mm2)), np.diff(paths.start))


def by_kind(values: Floats, paths: Paths) -> Floats:
    """Add up a value of each point by kind and feature, [kind, feature]; bridges are solid."""
    columns = BRIDGE + 1
    kinds = len(paths.section_mm2)
    place = kind_of_point(paths) * columns + paths.code
    total = np.bincount(place, weights=values, minlength=kinds * columns)
    table = total.astype(np.float64).reshape(kinds, columns)
    table[:, SOLID] += table[:, BRIDGE]
    return table[:, : len(FEATURES)]
