"""Fill of a region by parallel lines: how long, how many.

Length is material over section. The number of lines comes from integral geometry: the mean
width of a region over all directions is its outline over pi (Cauchy's theorem), so lines
`d` apart number about P / (pi d); each has a turn at its end, which makes two moves.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from planner.layers.amount import NONE, Amount
from planner.layers.region import outline

if TYPE_CHECKING:
    from manifold3d import CrossSection

    from planner.layers.bead import Line


def fill(region: CrossSection, *, line: Line, share: float = 1.0) -> Amount:
    """Fill `region` to a share of 0 to 1 of its area; patterns differ in moves only slightly.

    A pattern of several directions spaces each of them wider, so that the number of lines
    depends on the share alone.
    """
    area_mm2 = share * region.area()
    if area_mm2 <= 0.0:
        return NONE
    lines = outline(region).length_mm * share / (pi * line.spacing_mm)
    return Amount(
        area_mm2=area_mm2, length_mm=area_mm2 / line.spacing_mm, moves=max(1.0, 2.0 * lines)
    )
