"""Walls of a region: bands along its outline, accounted by area so that nothing is lost.

Band k (0 is the outer wall) lies between the insets e + k s and e + (k + 1) s, with s the
spacing and e the edge of `Line`. What is thinner than the bands just yields less area, so
walls, fill and thin places always add up to the region.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.layers.amount import NONE, Amount
from planner.layers.region import Outline, grown, outline

if TYPE_CHECKING:
    from manifold3d import CrossSection

    from planner.layers.bead import Line


_EVEN = 1e-4
"""Share of a band's area by which it may miss the trapezoid and still count as even."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walls:
    """The outer wall, the inner walls together, and the region that is left inside."""

    outer: Amount
    inner: Amount
    inside: CrossSection
    rings: int


def walls(region: CrossSection, area_mm2: float, *, line: Line, count: int) -> Walls:
    """Lay `count` walls in `region`, whose exact area is `area_mm2` (before simplifying)."""
    start = grown(region, -line.edge_mm)
    start_mm2 = start.area() if line.edge_mm > 0.0 else area_mm2
    if count == 0:
        return Walls(outer=NONE, inner=NONE, inside=start, rings=0)
    within = grown(region, -(line.edge_mm + line.spacing_mm))
    centre = _centre(region, within, line)
    inside = grown(region, -(line.edge_mm + count * line.spacing_mm)) if count > 1 else within
    outer_mm2, inner_mm2 = start_mm2 - within.area(), within.area() - inside.area()
    return Walls(
        outer=_loops(outer_mm2, centre, line=line, least_mm=centre.length_mm),
        inner=_loops(inner_mm2, centre, line=line, loops=count - 1),
        inside=inside,
        rings=centre.rings,
    )


def _centre(region: CrossSection, within: CrossSection, line: Line) -> Outline:
    """Measure the outer wall's centre line, half a width inside the outline.

    Where nothing pinches off, the outline's length falls evenly with depth, and the band has
    the area of a trapezoid: then the mean of both sides is exact and saves a move inwards.
    """
    outside, inside = outline(region), outline(within)
    depth_mm = line.edge_mm + line.spacing_mm
    band_mm2 = depth_mm * (outside.length_mm + inside.length_mm) / 2.0
    if abs(region.area() - within.area() - band_mm2) > _EVEN * band_mm2:
        return outline(grown(region, -line.width_mm / 2.0))
    share = line.width_mm / 2.0 / depth_mm
    return Outline(
        length_mm=(1.0 - share) * outside.length_mm + share * inside.length_mm,
        corners=outside.corners,
        rings=outside.rings,
    )


def _loops(
    area_mm2: float, centre: Outline, *, line: Line, loops: int = 1, least_mm: float = 0.0
) -> Amount:
    """Turn a band into lines: length by material, or the drawn centre line if that is longer."""
    if area_mm2 <= 0.0:
        return NONE
    return Amount(
        area_mm2=area_mm2,
        length_mm=max(area_mm2 / line.spacing_mm, least_mm),
        moves=loops * max(centre.corners, centre.rings, 1.0),
    )
