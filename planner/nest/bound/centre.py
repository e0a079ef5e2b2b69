"""Items that cover the middle of the bed wherever they lie: no two of them share a plate."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from planner.nest.memory import Store
from planner.nest.outline import shrunk_growth
from planner.nest.shape import turned_region

if TYPE_CHECKING:
    from planner.nest.outline import Outline

_ROUND = 1e-6

Room = tuple[float, float]
_covering: Store[tuple[bytes, tuple[float, ...], Room, float], bool] = Store(2_000_000)


def covers_centre(
    outline: Outline, rotations_deg: tuple[float, ...], room_mm: Room, clearance_mm: float
) -> bool:
    """Say whether an item, grown by half the clearance, always covers a bed's centre.

    `room_mm` is the space for grown outlines.  As the item moves over the bed, the centre moves
    over a rectangle inside its frame, as large as the room to spare: that must lie within it.
    """
    key = (outline.key, rotations_deg, room_mm, clearance_mm)
    found = _covering.get(key)
    if found is None:
        sizes = (outline.extents_mm(rotations_deg) + clearance_mm).tolist()
        found = all(
            _covers(outline, angle, (width, depth), room_mm, clearance_mm / 2)
            for angle, (width, depth) in zip(rotations_deg, sizes, strict=True)
            if width <= room_mm[0] + _ROUND and depth <= room_mm[1] + _ROUND
        )
        _covering.put(key, found, 400)
    return found


def _covers(outline: Outline, angle: float, size_mm: Room, room_mm: Room, radius_mm: float) -> bool:
    spare = [max(0.0, room - size) for room, size in zip(room_mm, size_mm, strict=True)]
    if any(extra >= size for extra, size in zip(spare, size_mm, strict=True)):
        return False
    placed = turned_region(outline.shape, angle)
    low_x, low_y = placed.bounds[0] - radius_mm, placed.bounds[1] - radius_mm
    centre_x, centre_y = low_x + room_mm[0] / 2, low_y + room_mm[1] / 2
    path = shapely.box(
        centre_x - spare[0] - _ROUND,
        centre_y - spare[1] - _ROUND,
        centre_x + _ROUND,
        centre_y + _ROUND,
    )
    cover = turned_region(outline.cover, angle)
    return bool((shrunk_growth(outline, cover, radius_mm) or placed).covers(path))
