"""Travel in a layer: a coarse estimate from the number of places to visit.

The shortest round through k random points of an area A tends to 0.7124 sqrt(k A).
Sources: Beardwood, Halton, Hammersley, "The shortest path through many points", Proc.
Cambridge Phil. Soc. 55 (1959); the constant is from memory (Johnson, McGeoch, Rothberg 1996).
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

from planner.layers.amount import NONE, Amount

if TYPE_CHECKING:
    from manifold3d import CrossSection

_ROUND = 0.7124


def travel(region: CrossSection, stops: float) -> Amount:
    """Visit `stops` places spread over the bounding rectangle of `region`."""
    if stops <= 0.0 or region.is_empty():
        return NONE
    x_min, y_min, x_max, y_max = region.bounds()
    area_mm2 = (x_max - x_min) * (y_max - y_min)
    return Amount(length_mm=_ROUND * sqrt(stops * area_mm2), moves=stops)
