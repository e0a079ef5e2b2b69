"""Cut a posed solid at any heights."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from planner.solid.chain import outlines, region_of
from planner.solid.kernel import Manifold, Region, build
from planner.solid.levels import off_levels

if TYPE_CHECKING:
    from planner.solid.model import Floats, Posed


def cut(posed: Posed, heights_mm: Floats) -> list[Region]:
    """Return the region of the solid at each height above the plate, in any order of heights.

    A plane within 1 um of a vertex level is moved just above it (at the very top: below).
    Above and below the part the region is empty. A solid that is not closed is cut segment
    by segment and its gaps closed from each loose end to the nearest.
    """
    heights = off_levels(np.asarray(heights_mm, dtype=np.float64), vertex_levels(posed))
    body = _body(posed)
    if body is not None:
        return [body.slice(height) for height in heights.tolist()]
    vertices, triangles = posed.vertices_mm, posed.solid.triangles
    return [region_of(outline) for outline in outlines(vertices, triangles, heights)]


def areas_mm2(regions: list[Region]) -> Floats:
    """Return (n,): the area of each region."""
    return np.array([region.area() for region in regions])


def vertex_levels(posed: Posed) -> Floats:
    """Return the distinct heights at which the posed solid has vertices, rising."""
    return np.unique(posed.vertices_mm[:, 2])


@lru_cache(maxsize=8)
def _body(posed: Posed) -> Manifold | None:
    """Return the posed solid's body, None if it is not closed; the last few are kept."""
    return build(posed.vertices_mm, posed.solid.triangles) if posed.solid.closed else None
