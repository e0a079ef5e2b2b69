"""Walls of many regions: bands accounted by area, loops drawn as real parallels.

Band k (0 is the outer wall) lies between the insets e + k s and e + (k + 1) s, with s the
spacing and e the edge of `Line`; its loop runs in its middle. Bands are accounted by area,
so walls, fill and thin places always add up to the region. Loops are moved along the mitres
of their corners, all regions at once; where that and a real offset of the whole region
disagree, its loops are made one by one (`planner.layers.pinched`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.pinched import pinched
from planner.layers.region import grown
from planner.layers.rings import Rings, corners, following, per_owner, per_ring, rings_of
from planner.layers.strokes import INNER, NONE, OUTER, Strokes, closed, joined

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from planner.layers.bead import Line
    from planner.layers.rings import Corners

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

_EVEN = 3e-3
"""Share of the bands' area by which parallels may miss a real offset."""

_TURNED = 1e-3
"""Share of the outer wall's length that may run backwards (edges shorter than their mitres)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shells:
    """Walls of each region: areas of the outer and the inner bands, what is left, the loops."""

    outer_mm2: Floats
    inner_mm2: Floats
    inside: Sequence[CrossSection]
    strokes: Strokes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Depths:
    """Edge and spacing of each region's line, and how many walls there are."""

    edge: Floats
    step: Floats
    count: int

    def at(self, walls: float) -> Floats:
        """Depth under the outline after so many walls, in mm, for each region."""
        depth: Floats = self.edge + walls * self.step
        return depth


def shells(
    regions: Sequence[CrossSection],
    area_mm2: Floats,
    *,
    lines: Sequence[Line],
    count: int,
    wanted: Bools,
) -> Shells:
    """Lay `count` walls in each region with its own line; areas are those before simplifying.

    Only in the `wanted` regions are they drawn.
    """
    rings = rings_of(regions)
    depths = _Depths(
        edge=np.array([line.edge_mm for line in lines]),
        step=np.array([line.spacing_mm for line in lines]),
        count=count,
    )
    inside = [
        grown(region, -depth) for region, depth in zip(regions, depths.at(count), strict=True)
    ]
    inside_mm2 = np.array([region.area() for region in inside])
    if not len(rings.size) or count == 0:
        none = np.zeros(len(regions))
        return Shells(outer_mm2=none, inner_mm2=none, inside=inside, strokes=NONE)
    shape = corners(rings)
    start_mm2 = area_mm2 - _band(rings, shape, np.zeros(len(regions)), depths.edge)
    uneven = _uneven(rings, shape, depths, inside_mm2)
    middle_mm2 = inside_mm2 + _band(rings, shape, depths.at(1), depths.at(count))
    for n in np.flatnonzero(uneven & (depths.count > 1)).tolist():
        middle_mm2[n] = grown(regions[n], -float(depths.at(1)[n])).area()
    which = np.flatnonzero(uneven & wanted)
    made = pinched(
        [regions[n] for n in which.tolist()],
        [lines[n] for n in which.tolist()],
        [inside[n] for n in which.tolist()],
        count=count,
        owners=which.tolist(),
    )
    middle_mm2 = np.clip(middle_mm2, inside_mm2, start_mm2)
    parallels = _parallels(rings, shape, depths, wanted & ~uneven)
    return Shells(
        outer_mm2=np.maximum(start_mm2 - middle_mm2, 0.0),
        inner_mm2=middle_mm2 - inside_mm2,
        inside=inside,
        strokes=joined([*parallels, made]),
    )


def _band(rings: Rings, shape: Corners, outer_mm: Floats, inner_mm: Floats) -> Floats:
    """Area between two depths of each region, as long as its rings keep off each other."""
    ring = rings.owner
    area = shape.area_at(outer_mm[ring]) - shape.area_at(inner_mm[ring])
    return per_owner(area, rings, len(outer_mm))


def _uneven(rings: Rings, shape: Corners, depths: _Depths, inside_mm2: Floats) -> Bools:
    """Tell which regions have rings that meet themselves or others within their walls."""
    owners, deep = len(inside_mm2), depths.at(depths.count)
    expected = per_owner(shape.area_at(deep[rings.owner]), rings, owners)
    band = _band(rings, shape, depths.edge, deep)
    outer = depths.at(0.5)[np.repeat(rings.owner, rings.size)]
    left = shape.edge_mm - outer * (shape.half_tan + shape.half_tan[following(rings)])
    turned = per_owner(per_ring(np.maximum(-left, 0.0), rings), rings, owners)
    length = per_owner(shape.length_mm, rings, owners)
    return (abs(expected - inside_mm2) > _EVEN * band) | (turned > _TURNED * length)


def _parallels(rings: Rings, shape: Corners, depths: _Depths, wanted: Bools) -> list[Strokes]:
    """Move the rings of the wanted regions inwards, once for each wall."""
    ring = np.flatnonzero(wanted[rings.owner])
    point = wanted[np.repeat(rings.owner, rings.size)]
    points, mitre = rings.points_mm[point], shape.mitre[point]
    owner, size = rings.owner[ring], rings.size[ring]
    found = []
    for wall in range(depths.count):
        depth = np.repeat(depths.at(wall + 0.5)[owner], size)
        moved = Rings(points_mm=points + depth[:, None] * mitre, size=size, owner=owner)
        found.append(closed(moved, owner, OUTER if wall == 0 else INNER))
    return found
