"""Brim: lines around the outside of the first layer that hold it to the plate."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from manifold3d import JoinType

from planner.layers.region import filled
from planner.layers.rings import rings_of
from planner.layers.strokes import BRIM, NONE, Strokes, closed

if TYPE_CHECKING:
    from manifold3d import CrossSection

    from planner.layers.bead import Line

_SEGMENTS = 48
"""Chords per turn of its rounded corners; the area is within 0.3 % of a true arc's."""


def brim_mm2(region: CrossSection, width_mm: float) -> float:
    """Area of a brim around `region`; holes of the part stay free."""
    inner = filled(region)
    return _grown_mm2(inner, width_mm) - inner.area() if width_mm > 0.0 else 0.0


def brim(region: CrossSection, *, width_mm: float, line: Line) -> Strokes:
    """Draw as many loops around `region` as fit its brim, at least one; owner 0."""
    if width_mm <= 0.0 or region.is_empty():
        return NONE
    inner = filled(region)
    loops = max(1, round(width_mm / line.spacing_mm))
    rings = rings_of(
        [_around(inner, (loop + 0.5) * line.spacing_mm) for loop in range(loops - 1, -1, -1)]
    )
    return closed(rings, np.zeros(len(rings.size), dtype=np.int64), BRIM)


def _around(inner: CrossSection, by_mm: float) -> CrossSection:
    return filled(inner.offset(by_mm, JoinType.Round, 2.0, _SEGMENTS))


def _grown_mm2(inner: CrossSection, by_mm: float) -> float:
    return float(_around(inner, by_mm).area())
