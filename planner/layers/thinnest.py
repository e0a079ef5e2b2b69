"""The thinnest wall in the cuts of a part, for the warning 'thinner than one line'.

A region loses a wall of width t when it is moved inwards and outwards again by more than
t / 2 (a morphological opening). Radii are tried upwards in steps of a quarter until a piece
is lost that is longer than three widths, then the step is halved. Only a few cuts are
looked at (those with the thinnest mean wall and some spread over the height), and only
upright walls are seen: the answer is within about 1 % of the wall found, and a thinner one
may be missed in a layer that was not looked at.
"""

from __future__ import annotations

from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.region import grown, outline, without

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from manifold3d import CrossSection

_LOOKED_AT = 4
_MOST_VERTICES = 20_000
"""Cuts with more vertices are left out: lattices whose opening would take seconds."""

_STEP = 1.25
_HALVINGS = 5
_LONG = 3.0
"""A piece this many widths long is a wall; shorter ones are tips and corners."""


def thinnest_mm(regions: Sequence[CrossSection], *, below_mm: float) -> float:
    """Return the thinnest wall under `below_mm`, or infinity."""
    best = inf
    for region in _telling(regions):
        best = min(best, _thinnest_in(region, min(below_mm, best)))
    return best


def _telling(regions: Sequence[CrossSection]) -> Iterator[CrossSection]:
    """Pick the cuts with the largest outline for their area, and some evenly spread."""
    usable = [r for r in regions if not r.is_empty() and r.num_vert() <= _MOST_VERTICES]
    slender = np.argsort([-outline(r).length_mm / r.area() for r in usable], kind="stable")
    spread = np.linspace(0, len(usable) - 1, min(_LOOKED_AT, len(usable))).astype(int)
    for index in dict.fromkeys([*slender[:_LOOKED_AT].tolist(), *spread.tolist()]):
        yield usable[index]


def _thinnest_in(region: CrossSection, below_mm: float) -> float:
    widths = [below_mm / _STEP**step for step in range(12, -1, -1)]
    if _lost(region, below_mm).area() <= _LONG * widths[0] ** 2:
        return inf  # what the widest opening spares, a narrower one spares too
    steps = pairwise([0.0, *widths])
    low, high = next((step for step in steps if _loses_wall(region, step[1])), (inf, inf))
    for _ in range(_HALVINGS if 0.0 < high < inf else 0):
        middle = (low + high) / 2.0
        low, high = (low, middle) if _loses_wall(region, middle) else (middle, high)
    return high


def _loses_wall(region: CrossSection, width_mm: float) -> bool:
    """Tell whether an opening by `width_mm` takes away a piece longer than three widths."""
    lost = _lost(region, width_mm)
    least_mm2 = _LONG * width_mm**2
    return lost.area() > least_mm2 and any(p.area() > least_mm2 for p in lost.decompose())


def _lost(region: CrossSection, width_mm: float) -> CrossSection:
    """Return what an opening by `width_mm` takes away; a tenth of a micrometre is no loss."""
    return without(region, grown(grown(region, -width_mm / 2.0), width_mm / 2.0 + 1e-4))
