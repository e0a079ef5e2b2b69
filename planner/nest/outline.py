"""Footprints made ready: moved to the origin, known by their content, simple enough to work on.

An outline of very many points is replaced by one of fewer that covers it.  What is free of the
cover is free of the shape; the check of the result looks at the shape itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import blake2b
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.nest.memory import Store
from planner.nest.shape import cos_sin, region, surface
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.shape import Floats, Region

POINTS_MANY = 400
"""Outlines of more points than this are simplified; our own choice: round parts have fewer."""
TOLERANCE = 0.1
"""How far a cover may stand out at first, in grid steps: far less than what the grid costs."""
_ROUNDS = 3
_CHORD = 0.99  # GEOS may fill dents shallower than 1 % of the distance: stay below the truth

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """A footprint whose extents begin at (0, 0).

    `cover` contains `shape`, and no point of it is more than `slack_mm` away from the shape.
    `hull` (n, 2) are the corners of the convex hull in mm; `key` tells outlines apart.
    """

    shape: Region
    cover: Region
    slack_mm: float
    hull: Floats
    key: bytes

    def extents_mm(self, rotations_deg: Sequence[float]) -> Floats:
        """Return width and depth at every turn, (n, 2)."""
        return np.array([np.ptp(self.hull @ _turn(angle), axis=0) for angle in rotations_deg])


_outlines: Store[tuple[bytes, float], Outline] = Store(48_000_000)
_areas: Store[tuple[bytes, float, float, bool], float] = Store(2_000_000)


def outline_of(footprint: Footprint, step_mm: float) -> tuple[Outline, Point]:
    """Return a footprint's outline, and where its low corner lies in the footprint's own frame.

    `step_mm` is the grid step that the cover has to suit.  Equal footprints, wherever they
    are drawn, share one outline.
    """
    points = [ring for rings in footprint.polygons_mm for ring in rings]
    low = np.min([ring.min(axis=0) for ring in points], axis=0)
    moved = tuple(
        tuple(np.ascontiguousarray(ring - low + 0.0) for ring in rings)
        for rings in footprint.polygons_mm
    )
    key = _digest(moved)
    found = _outlines.get((key, step_mm))
    if found is None:
        found = _outline(region(Footprint(polygons_mm=moved)), step_mm, key)
        size = 200 * shapely.get_num_coordinates(found.shape) + 2000
        _outlines.put((key, step_mm), found, size)
    return found, (float(low[0]), float(low[1]))


def grown_area_mm2(outline: Outline, radius_mm: float) -> float:
    """Return the area that a part takes up when grown, arcs and many points rounded."""
    return _kept_area(outline, radius_mm, least=False)


def least_area_mm2(outline: Outline, radius_mm: float) -> float:
    """Return an area that a part grown by a radius takes up at least."""
    return _kept_area(outline, radius_mm, least=True)


def shrunk_growth(outline: Outline, placed: Region, radius_mm: float) -> Region | None:
    """Grow a turned cover so that it lies inside the true shape's growth; None if it cannot."""
    radius_mm = _CHORD * (radius_mm - outline.slack_mm)
    if radius_mm < 0 or (radius_mm == 0 and outline.slack_mm):
        return None
    return placed.buffer(radius_mm) if radius_mm else placed


def _kept_area(outline: Outline, radius_mm: float, *, least: bool) -> float:
    key = (outline.key, outline.slack_mm, radius_mm, least)
    found = _areas.get(key)
    if found is None:
        if least:
            grown = shrunk_growth(outline, outline.cover, radius_mm)
            found = max(float(outline.shape.area), float(grown.area) if grown else 0.0)
        else:
            found = float(outline.cover.buffer(radius_mm).area)
        _areas.put(key, found, 200)
    return found


def _outline(shape: Region, step_mm: float, key: bytes) -> Outline:
    cover, slack_mm = _cover(shape, TOLERANCE * step_mm)
    return Outline(
        shape=shape,
        cover=cover,
        slack_mm=slack_mm,
        hull=shapely.get_coordinates(shape.convex_hull),
        key=key,
    )


def _cover(shape: Region, tolerance_mm: float) -> tuple[Region, float]:
    """Return a region of fewer points around the shape, and how far it stands out at most.

    Growing closes gaps between many fine teeth; dropping points then moves the edge by less
    than it has been grown.  The extents stay.  Where few points are not reached, the next
    round goes further out.
    """
    cover, slack_mm = shape, 0.0
    frame = shapely.box(*shape.bounds)
    for doublings in range(_ROUNDS):
        if shapely.get_num_coordinates(cover) <= POINTS_MANY:
            break
        reach_mm = tolerance_mm * 2**doublings
        # Chords of a quarter cut into two come as near as 0.83 of the radius, 0.5 are dropped.
        grown = cover.buffer(reach_mm, quad_segs=2).simplify(reach_mm / 2)
        fewer = surface(grown.intersection(frame))
        if not fewer.covers(shape):
            break
        cover, slack_mm = fewer, slack_mm + 1.6 * reach_mm
    return cover, slack_mm


def _digest(polygons: Sequence[Sequence[Floats]]) -> bytes:
    whole = blake2b(digest_size=16)
    for rings in polygons:
        whole.update(b"polygon")
        for ring in rings:
            whole.update(len(ring).to_bytes(8, "little"))
            whole.update(np.asarray(ring, dtype=np.float64).tobytes())
    return whole.digest()


def _turn(rotation_deg: float) -> Floats:
    cosine, sine = cos_sin(rotation_deg)
    return np.array([[cosine, sine], [-sine, cosine]])
