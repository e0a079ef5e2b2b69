"""Outlines of few corners that cover the true ones."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from planner.nest.shape import surface

if TYPE_CHECKING:
    from planner.nest.shape import Region

CORNERS_MOST = 40
"""More corners than this are worth dropping: walls grow with the square; our own choice."""
_ROUNDS = 8


def plain_cover(shape: Region, reach_mm: float) -> Region:
    """Return a region of few corners that contains the shape and has its extents.

    It stands out by `reach_mm` at first, by more where that is not enough; the convex hull is
    the last resort.
    """
    frame = shapely.box(*shape.bounds)
    for doublings in range(_ROUNDS):
        if shapely.get_num_coordinates(shape) <= CORNERS_MOST:
            return shape
        grown = shape.buffer(reach_mm * 2**doublings, quad_segs=2)
        fewer = surface(grown.simplify(reach_mm * 2**doublings / 2).intersection(frame))
        if shapely.get_num_coordinates(fewer) <= CORNERS_MOST and fewer.covers(shape):
            return fewer
    return shape.convex_hull
