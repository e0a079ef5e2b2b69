"""What the walls of a layer leave, parted into bridges, other solid fill and sparse fill."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.layers.region import NOTHING, common, grown, without
from planner.layers.skins import covers

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import CrossSection

    from planner.layers.kinds import Kinds
    from planner.settings.model import Settings

_WIDE_LINES = 2.0
"""Solid fill over air counts as a bridge where it is wider than this many lines."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inside:
    """The regions inside the walls of each cell: they do not overlap and leave nothing out."""

    solid: Sequence[CrossSection]
    bridge: Sequence[CrossSection]
    sparse: Sequence[CrossSection]


def inside(
    regions: Sequence[CrossSection],
    found: Kinds,
    left: Sequence[CrossSection],
    *,
    group: Sequence[int],
    settings: Settings,
) -> Inside:
    """Part what the walls of every cell leave, `left`; `group` is the cut of each layer.

    With support nothing is a bridge.
    """
    solid, bridge, sparse = [], [], []
    for cell, interior in enumerate(covers(regions, found.spans)):
        core, rest = _split(left[cell], interior, settings.infill)
        layer = int(found.layer_of_cell[cell])
        below = regions[group[layer - 1]] if layer else NOTHING
        over_air = NOTHING
        if layer and not settings.support and group[layer] != group[layer - 1]:
            over_air = _over_air(core, below, settings.line_width_mm)
        solid.append(without(core, over_air))
        bridge.append(over_air)
        sparse.append(rest)
    return Inside(solid=solid, bridge=bridge, sparse=sparse)


def _split(
    region: CrossSection, interior: CrossSection, infill: float
) -> tuple[CrossSection, CrossSection]:
    """Part what the walls leave into solid and sparse; at full infill all of it is solid."""
    if infill >= 1.0 or interior.is_empty():
        return region, NOTHING
    solid = without(region, interior)
    return solid, region if solid.is_empty() else common(region, interior)


def _over_air(solid: CrossSection, below: CrossSection, width_mm: float) -> CrossSection:
    """Return the wide places of `solid` that lie over nothing."""
    if solid.is_empty():
        return NOTHING
    air = without(solid, below)
    if air.is_empty():
        return NOTHING
    half_mm = _WIDE_LINES * width_mm / 2.0
    core = grown(air, -half_mm)
    return NOTHING if core.is_empty() else common(grown(core, half_mm), air)
