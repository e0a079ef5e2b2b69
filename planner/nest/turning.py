"""The turns that a search tries for a part, from what a person allows."""

from __future__ import annotations

from math import atan2, ceil, degrees
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from planner.solid.model import Footprint

QUARTERS = (0.0, 90.0, 180.0, 270.0)
FREE_EVERY_DEG = 15.0
"""Of free turns these are tried, besides those that lay long edges along the bed; our choice."""
_EDGES_MOST = 4
_LONG = 0.2  # of the longest edge: shorter ones are no reason for a turn of their own


def every(step_deg: float) -> tuple[float, ...]:
    """Return the turns that are multiples of a step, short of a full circle.

    >>> every(120)
    (0.0, 120.0, 240.0)
    """
    count = ceil(360 / step_deg - 1e-9)
    return tuple(round(number * step_deg, 9) + 0.0 for number in range(count))


def free_turns(footprint: Footprint) -> tuple[float, ...]:
    """Return the turns tried for a part that may lie in any: an even fan, and flat long edges."""
    fan = every(FREE_EVERY_DEG)
    flat = [(angle + quarter) % 360.0 for angle in _flat(footprint) for quarter in QUARTERS]
    return tuple(sorted({round(angle, 6) % 360.0 for angle in (*fan, *flat)}))


def _flat(footprint: Footprint) -> list[float]:
    """Return the turns (0 to 90 degrees) that lay the longest edges of the hull along an axis."""
    outer = [point for rings in footprint.polygons_mm for point in rings[0].tolist()]
    corners = shapely.get_coordinates(shapely.MultiPoint(outer).convex_hull)
    edges = np.diff(corners, axis=0)
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    longest = np.argsort(-lengths, kind="stable")[:_EDGES_MOST].tolist()
    angles = [
        -degrees(atan2(edges[place, 1], edges[place, 0])) % 90.0
        for place in longest
        if lengths[place] > _LONG * lengths.max()
    ]
    return sorted({round(angle, 6) % 90.0 for angle in angles})
