"""The order in which a layer's strokes are drawn: always on to the nearest that may come next.

An island (a piece of the part apart from others in its layer) is finished before the next is
begun; in an island inner walls come first, then the outer wall, solid and sparse fill. The
greedy choice is made for all layers in step: the first stroke of each, the second, and so on.
Every layer is begun from the origin, the middle of the part.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.strokes import BRIDGE, BRIM, INNER, OUTER, SOLID, SPARSE, SUPPORT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.layers.strokes import Strokes

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

MOST = 800
"""Layers with more strokes are drawn in strips, to and fro: greedy choice would take long."""

_STAGE = np.zeros(BRIDGE + 1)
_STAGE[[BRIM, SUPPORT, INNER, OUTER, BRIDGE, SOLID, SPARSE]] = [0, 1, 2, 3, 4, 5, 6]

_LATER_MM = 1e4
_AWAY_MM = 1e6
"""What a later stage, and another island, weigh as if they were distance."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Order:
    """Strokes in the order drawn, owner by owner; `backwards` says which from their end."""

    stroke: Ints
    backwards: Bools


def order(strokes: Strokes, island: Ints) -> Order:
    """Order the strokes of every owner; `island` numbers the island of each stroke."""
    count = np.bincount(strokes.owner) if len(strokes) else np.zeros(0, dtype=np.int64)
    many = (count > MOST)[strokes.owner]
    greedy = _greedy(strokes, island, np.flatnonzero(~many))
    strips = _strips(strokes, np.flatnonzero(many))
    stroke = np.concatenate([greedy.stroke, strips.stroke])
    backwards = np.concatenate([greedy.backwards, strips.backwards])
    by_owner = np.argsort(strokes.owner[stroke], kind="stable")
    return Order(stroke=stroke[by_owner], backwards=backwards[by_owner])


def _greedy(strokes: Strokes, island: Ints, which: Ints) -> Order:
    """Order the strokes `which`, owners with about as many of them at a time."""
    owner = strokes.owner[which]
    count = np.bincount(owner)
    size = np.frexp(count)[1]  # about as many: within a factor of two
    found = [Order(stroke=np.empty(0, dtype=np.int64), backwards=np.empty(0, dtype=bool))]
    for own in np.unique(size[count > 0]).tolist():
        some = which[size[owner] == own]
        found.append(_in_step(_Table.of(strokes, island, some)))
    return Order(
        stroke=np.concatenate([part.stroke for part in found]),
        backwards=np.concatenate([part.backwards for part in found]),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Table:
    """Strokes of some owners, one row for each owner: arrays (owners, most), -1 past the end."""

    stroke: Ints
    island: Ints
    later: Floats
    first: tuple[Floats, Floats]
    last: tuple[Floats, Floats]

    @staticmethod
    def of(strokes: Strokes, island: Ints, which: Ints) -> _Table:
        row = np.cumsum(np.diff(strokes.owner[which], prepend=-1) > 0) - 1
        count = np.bincount(row)
        column = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
        stroke = np.full((len(count), int(count.max())), -1)
        stroke[row, column] = which
        first, last = strokes.first_mm[stroke], strokes.last_mm[stroke]
        return _Table(
            stroke=stroke,
            island=island[stroke],
            later=np.where(stroke < 0, np.inf, _LATER_MM * _STAGE[strokes.code[stroke]]),
            first=(first[..., 0], first[..., 1]),
            last=(last[..., 0], last[..., 1]),
        )


def _in_step(table: _Table) -> Order:
    """Go on to the nearest end of a stroke that may come next, in all rows in step."""
    rows, most = table.stroke.shape
    row = np.arange(rows)
    x, y, on = np.zeros((rows, 1)), np.zeros((rows, 1)), np.full((rows, 1), -1)
    later = table.later.copy()
    chosen, backwards = np.empty((rows, most), dtype=np.int64), np.empty((rows, most), dtype=bool)
    for step in range(most):
        to_first = (table.first[0] - x) ** 2 + (table.first[1] - y) ** 2
        to_last = (table.last[0] - x) ** 2 + (table.last[1] - y) ** 2
        cost = np.sqrt(np.minimum(to_first, to_last)) + later
        cost += _AWAY_MM * (table.island != on)
        best = cost.argmin(axis=1)
        back = to_last[row, best] < to_first[row, best]
        chosen[:, step], backwards[:, step] = best, back
        later[row, best] = np.inf
        on[:, 0] = table.island[row, best]
        for at, first, last in zip((x, y), table.first, table.last, strict=True):
            at[:, 0] = np.where(back, first[row, best], last[row, best])
    drawn = np.arange(most) < np.count_nonzero(table.stroke >= 0, axis=1)[:, None]
    return Order(
        stroke=np.take_along_axis(table.stroke, chosen, axis=1)[drawn], backwards=backwards[drawn]
    )


def _strips(strokes: Strokes, which: Ints) -> Order:
    """Draw stage by stage, in strips of the bed run through upwards and downwards in turn."""
    if not len(which):
        return Order(stroke=which, backwards=np.empty(0, dtype=bool))
    middle = (strokes.first_mm[which] + strokes.last_mm[which]) / 2.0
    owner = strokes.owner[which]
    extent = np.ptp(middle, axis=0)
    share = np.sqrt(np.bincount(owner)[owner] / 3.0)
    strip = np.floor((middle[:, 0] - middle[:, 0].min()) / max(extent[0], 1e-9) * share)
    along = np.where(strip % 2 == 0, middle[:, 1], -middle[:, 1])
    stage = _STAGE[strokes.code[which]]
    sequence = np.lexsort((along, strip, stage, owner))
    return Order(stroke=which[sequence], backwards=np.zeros(len(which), dtype=bool))
