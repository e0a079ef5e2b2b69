"""Flat regions (`manifold3d.CrossSection`): the few questions that layering asks of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from manifold3d import CrossSection, FillRule, JoinType

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_MITRE = 4.0
"""Corners sharper than about 29 degrees are blunted when a region is moved."""

_SPECK_MM2 = 1e-6
"""Regions under a thousandth of a square millimetre squared are rounding, not shape."""

NOTHING = CrossSection()


def grown(region: CrossSection, by_mm: float) -> CrossSection:
    """Move the outline outwards (inwards if below 0), corners mitred."""
    if by_mm == 0.0 or region.is_empty():
        return region
    return region.offset(by_mm, JoinType.Miter, _MITRE)


def common(one: CrossSection, other: CrossSection) -> CrossSection:
    """Intersection; rounding specks are dropped."""
    return _clean(one ^ other)


def without(one: CrossSection, other: CrossSection) -> CrossSection:
    """Return `one` less `other`; rounding specks are dropped."""
    return one if other.is_empty() else _clean(one - other)


def lost(region: CrossSection, width_mm: float) -> CrossSection:
    """Return what an opening by `width_mm` takes away; a tenth of a micrometre is no loss."""
    return without(region, grown(grown(region, -width_mm / 2.0), width_mm / 2.0 + 1e-4))


def filled(region: CrossSection) -> CrossSection:
    """Close the holes of a region."""
    rings = [ring for ring in region.to_polygons() if _signed_mm2(ring) > 0.0]
    return CrossSection(rings, FillRule.Positive) if rings else NOTHING


def _clean(region: CrossSection) -> CrossSection:
    return NOTHING if region.area() < _SPECK_MM2 else region


def _signed_mm2(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)) / 2.0
