"""Brim: lines around the outside of the first layer that hold it to the plate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from manifold3d import JoinType

from planner.layers.amount import NONE, Amount
from planner.layers.region import filled, outline

if TYPE_CHECKING:
    from manifold3d import CrossSection

    from planner.layers.bead import Line

_SEGMENTS = 48
"""Chords per turn of its rounded corners; the area is within 0.3 % of a true arc's."""


def brim(region: CrossSection, *, width_mm: float, line: Line) -> Amount:
    """Surround `region` by `width_mm` of lines; holes of the part stay free."""
    if width_mm <= 0.0:
        return NONE
    inner = filled(region)
    outer = inner.offset(width_mm, JoinType.Round, 2.0, _SEGMENTS)
    area_mm2 = filled(outer).area() - inner.area()
    loops = max(1.0, width_mm / line.spacing_mm)
    rim = outline(inner)
    return Amount(
        area_mm2=area_mm2,
        length_mm=area_mm2 / line.spacing_mm,
        moves=loops * max(rim.corners, rim.rings),
    )
