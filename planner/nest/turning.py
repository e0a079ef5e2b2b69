"""The turns that a search tries for a part, from what a person allows."""

from __future__ import annotations

from math import atan2, degrees
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.settings.turns import QUARTERS, every

if TYPE_CHECKING:
    from planner.settings.turns import Turns
    from planner.solid.model import Footprint

FREE_EVERY_DEG = 15.0
"""Of free turns these are tried, besides those that lay long edges along the bed; our choice."""
_EDGES_MOST = 4
_LONG = 0.2  # of the longest edge: shorter ones are no reason for a turn of their own


def turns_tried(footprint: Footprint, turns: Turns) -> tuple[float, ...]:
    """Return the turns that the search tries for a part that may lie in these."""
    return free_turns(footprint) if turns.free else turns.angles_deg


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
