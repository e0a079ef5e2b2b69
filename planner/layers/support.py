"""Support as columns: straight down from every overhang to the plate or to the part.

A layer may step out over the one below by thickness x tan(overhang), with the angle taken
from the vertical; what steps out farther is overhang, taken back to the edge below so that
slopes come out covered and not striped. No gap is left between column and part, columns do
not lean or branch, and they hold `DENSITY` of plastic: a volume estimate, on the high side.
"""

from __future__ import annotations

from math import radians, tan
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.region import NOTHING, common, grown, without

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int32]

DENSITY = 0.15
"""Share of a column that is plastic: common practice, no source."""

_SLACK_MM = 1e-3
"""Steps this much longer than allowed are rounding of the cuts."""

_DETAIL_MM = 0.02
"""Detail under this is dropped from columns, or it piles up from layer to layer."""


def overhangs(vertices_mm: Floats, triangles: Ints, *, limit_deg: float, above_mm: float) -> bool:
    """Tell whether any facet above the first layer leans out beyond the limit."""
    corners = vertices_mm[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    down = normal[:, 2] < -np.sin(radians(limit_deg)) * size - 1e-9 * size
    return bool(np.any(down & (corners[:, :, 2].max(axis=1) > above_mm)))


def columns(
    regions: Sequence[CrossSection], group: Sequence[int], *, step_mm: float
) -> list[CrossSection]:
    """Return the region of support in every layer, lowest first.

    `regions` are the cuts of the groups and `group` numbers each layer's; `step_mm` is how
    far a layer may step out.
    """
    held = [NOTHING] * len(group)
    for layer in range(len(group) - 2, -1, -1):
        here, over = group[layer], group[layer + 1]
        above = held[layer + 1]
        if here == over:
            held[layer] = above
            continue
        wanted = above + _hanging(regions[over], regions[here], step_mm)
        held[layer] = without(wanted, regions[here]).simplify(_DETAIL_MM)
    return held


def _hanging(over: CrossSection, here: CrossSection, step_mm: float) -> CrossSection:
    """Return what of `over` needs support, where `here` lies under it."""
    ring = without(over, grown(here, step_mm + _SLACK_MM))
    if ring.is_empty():
        return NOTHING
    return common(grown(ring, step_mm + 2 * _SLACK_MM), without(over, here))


def step_out_mm(thick_mm: float, overhang_deg: float) -> float:
    """How far a layer may step out beyond the one below; any distance from 90 degrees on."""
    return thick_mm * tan(radians(min(overhang_deg, 89.9)))
