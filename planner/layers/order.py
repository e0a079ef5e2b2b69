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

MOST = 300
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
    """Go on to the nearest end of a stroke that may come next."""
    owners = int(strokes.owner[which].max()) + 1 if len(which) else 0
    here, on = np.zeros((owners, 2)), np.full(owners, -1)
    left = _Left.of(strokes, island, which)
    chosen, backwards = [np.empty(0, dtype=np.int64)], [np.empty(0, dtype=bool)]
    while len(left.stroke):
        at = here[left.owner]
        to_first, to_last = _squared(left.first - at), _squared(left.last - at)
        cost = np.sqrt(np.minimum(to_first, to_last)) + left.later
        cost += _AWAY_MM * (left.island != on[left.owner])
        best = _least_of_each(cost, left.owner)
        back = to_last[best] < to_first[best]
        owner = left.owner[best]
        here[owner] = np.where(back[:, None], left.first[best], left.last[best])
        on[owner] = left.island[best]
        chosen.append(left.stroke[best])
        backwards.append(back)
        left = left.without(best)
    return Order(stroke=np.concatenate(chosen), backwards=np.concatenate(backwards))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Left:
    """Strokes not drawn yet, by owner."""

    stroke: Ints
    owner: Ints
    island: Ints
    later: Floats
    first: Floats
    last: Floats

    @staticmethod
    def of(strokes: Strokes, island: Ints, which: Ints) -> _Left:
        return _Left(
            stroke=which,
            owner=strokes.owner[which],
            island=island[which],
            later=_LATER_MM * _STAGE[strokes.code[which]],
            first=strokes.first_mm[which],
            last=strokes.last_mm[which],
        )

    def without(self, drawn: Ints) -> _Left:
        keep = np.ones(len(self.stroke), dtype=bool)
        keep[drawn] = False
        return _Left(
            stroke=self.stroke[keep],
            owner=self.owner[keep],
            island=self.island[keep],
            later=self.later[keep],
            first=self.first[keep],
            last=self.last[keep],
        )


def _squared(vectors: Floats) -> Floats:
    x, y = vectors.T
    squares: Floats = x * x + y * y
    return squares


def _least_of_each(cost: Floats, owner: Ints) -> Ints:
    """Index of the first least cost of each owner; owners are sorted."""
    start = np.flatnonzero(np.diff(owner, prepend=-1))
    size = np.diff(np.append(start, len(owner)))
    hit = np.flatnonzero(cost == np.repeat(np.minimum.reduceat(cost, start), size))
    return hit[np.flatnonzero(np.diff(owner[hit], prepend=-1))]


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
