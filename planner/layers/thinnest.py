"""The thinnest wall in the cuts of a part, for the warning 'thinner than one line'.

A region loses a wall of width t when it is moved inwards and outwards again by more than
t / 2 (a morphological opening). Radii are tried upwards in steps of a quarter until a piece
is lost that is longer than three widths, then the step is halved. The same wall must be
lost about a millimetre higher (or lower, at the top) too: a sloping face that runs out in
a sharp edge is thin in one layer and no wall.

Only some cuts are looked at (those with the thinnest mean wall and some spread over the
height), and only walls that stand steeper than 45 degrees are seen: the answer is within
about 1 % of the wall found, and a thinner one may be missed where nobody looked.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, inf
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.region import common, grown, lost
from planner.layers.rings import lengths_mm, per_owner, per_ring, rings_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    Groups = NDArray[np.int64]

_SLENDER, _SPREAD = 4, 6
"""How many cuts are looked at for their thin mean wall, and for their height."""

_MOST_VERTICES = 20_000
"""Cuts with more vertices are left out: lattices whose opening would take seconds."""

_TALL_MM = 1.0
"""A wall is at least this tall: our judgement, no source."""

_STEP = 1.25
_STEPS = 12
_HALVINGS = 5
_LONG = 3.0
"""A piece this many widths long is a wall; shorter ones are tips and corners."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Place:
    """A cut, and the one about a millimetre away in which its walls must be thin as well."""

    region: CrossSection
    other: CrossSection | None
    reach_mm: float


def thinnest_mm(
    regions: Sequence[CrossSection], group: Groups, *, layer_mm: float, below_mm: float
) -> float:
    """Return the thinnest wall under `below_mm`, or infinity; `group` numbers each layer's cut."""
    best = inf
    for place in _places(regions, group, layer_mm):
        best = min(best, _thinnest_in(place, min(below_mm, best)))
    return best


def _places(regions: Sequence[CrossSection], group: Groups, layer_mm: float) -> Iterator[_Place]:
    """Pick the cuts with the largest outline for their area, and some evenly spread."""
    _, first = np.unique(group, return_index=True)
    tall = ceil(_TALL_MM / layer_mm)
    for which in _telling(regions):
        layer = int(first[which])
        away = layer + tall if layer + tall < len(group) else max(0, layer - tall)
        other = int(group[away])
        yield _Place(
            region=regions[which],
            other=None if other == which else regions[other],
            reach_mm=tall * layer_mm,
        )


def _telling(regions: Sequence[CrossSection]) -> list[int]:
    usable = [
        which
        for which, region in enumerate(regions)
        if not region.is_empty() and region.num_vert() <= _MOST_VERTICES
    ]
    rings = rings_of([regions[n] for n in usable])
    length = per_owner(per_ring(lengths_mm(rings), rings), rings, len(usable))
    slender = length / np.array([regions[n].area() for n in usable])
    by_mean = [usable[n] for n in np.argsort(-slender, kind="stable").tolist()]
    spread = np.linspace(0, len(usable) - 1, min(_SPREAD, len(usable))).astype(int)
    return list(dict.fromkeys([*by_mean[:_SLENDER], *(usable[n] for n in spread.tolist())]))


def _thinnest_in(place: _Place, below_mm: float) -> float:
    widths = [below_mm / _STEP**step for step in range(_STEPS, -1, -1)]
    if lost(place.region, below_mm).area() <= _LONG * widths[0] ** 2:
        return inf  # what the widest opening spares, a narrower one spares too
    steps = pairwise([0.0, *widths])
    low, high = next((step for step in steps if _loses_wall(place, step[1])), (inf, inf))
    for _ in range(_HALVINGS if 0.0 < high < inf else 0):
        middle = (low + high) / 2.0
        low, high = (low, middle) if _loses_wall(place, middle) else (middle, high)
    return high


def _loses_wall(place: _Place, width_mm: float) -> bool:
    """Tell whether an opening by `width_mm` takes away a long piece, in both cuts."""
    gone = lost(place.region, width_mm)
    least_mm2 = _LONG * width_mm**2
    if gone.area() > least_mm2 and place.other is not None:
        gone = common(gone, grown(lost(place.other, width_mm), place.reach_mm))
    return gone.area() > least_mm2 and any(p.area() > least_mm2 for p in gone.decompose())
