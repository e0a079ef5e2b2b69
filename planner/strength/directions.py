"""Candidate build directions, and what each costs besides strength: support, height, footing."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error
from planner.solid.measure import centre_of_mass, facet_vectors
from planner.solid.pose import CONTACT_BAND_MM, OVERHANG_DEG, convex_hull, rotation_to_up
from planner.strength.faces import AXES, select

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.model import Face, LoadCase
    from planner.solid.model import Solid

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

ON_SPHERE = 120
"""Free directions, spread over the sphere: neighbours lie about 18 degrees apart."""

MOST_POSES = 24
"""Resting poses looked at, the largest footing first."""

STABLE_DEG = 5.0
"""A pose that tips over at less than this needs a brim or support to stand (invented)."""

Room = tuple[float, float, float]
"""Width, depth and height in mm in which a part may lie."""

_SAME = 1.0 - 1.5e-4
"""Directions within a degree of each other are one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Footing:
    """How a part stands on the plate in one direction."""

    support_mm3: float
    height_mm: float
    contact_mm2: float
    stable: bool
    visible_overhang_mm2: float
    fits: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Facets:
    """(t, 3, 3) corners, (t, 3) outward normals as long as the area, (t,) areas and in sight."""

    corners_mm: Floats
    vectors: Floats
    area_mm2: Floats
    in_sight: Bools


def candidates(solid: Solid, given: tuple[float, float, float]) -> Floats:
    """Return (k, 3) unit directions: the one given, axes, resting poses, and a sphere of them."""
    own = np.array(given) / np.linalg.norm(given)
    every = np.concatenate(
        [own[None], np.array(list(AXES.values())), resting(solid), fibonacci_sphere(ON_SPHERE)]
    )
    kept: list[Floats] = []
    for one in every:
        if not kept or float((np.array(kept) @ one).max()) < _SAME:
            kept.append(one)
    return np.array(kept)


def resting(solid: Solid) -> Floats:
    """Return (n, 3) directions in which the part rests on a facet of its convex hull."""
    from scipy.spatial import ConvexHull  # noqa: PLC0415  kept out of the start-up path

    hull = ConvexHull(solid.vertices_mm)
    vectors = facet_vectors(solid.vertices_mm, hull.simplices)
    area = np.linalg.norm(vectors, axis=1)
    outward = hull.equations[:, :3]
    keys, group = np.unique(np.round(outward, 3), axis=0, return_inverse=True)
    size = np.bincount(group.ravel(), weights=area, minlength=len(keys))
    order = np.lexsort((*keys.T, -np.round(size, 6)))[:MOST_POSES]
    chosen: Floats = -keys[order] / np.linalg.norm(keys[order], axis=1, keepdims=True)
    return chosen


def fibonacci_sphere(count: int) -> Floats:
    """Return (count, 3) directions spread evenly, along a spiral of golden angles.

    Swinbank and Purser, Q. J. R. Meteorol. Soc. 132 (2006) 1769-1793, from memory.
    """
    number = np.arange(count) + 0.5
    height = 1.0 - 2.0 * number / count
    angle = pi * (1.0 + sqrt(5.0)) * number
    level = np.sqrt(1.0 - height**2)
    return np.stack([level * np.cos(angle), level * np.sin(angle), height], axis=1)


def in_sight(
    solid: Solid, faces: Sequence[Face], cases: Sequence[LoadCase], *, where: str = ""
) -> Bools:
    """Return (t,) which triangles are seen on the wall.

    An axis stands for all surface that faces that way within 45 degrees, a box or a plane for
    what it takes. Without faces all is in sight but what a load case holds: that lies
    against the wall. Raises InputError for a face that takes nothing.
    """
    if faces:
        each = [_seen(solid, face, where) for face in faces]
        return np.asarray(np.any(each, axis=0))
    seen = np.ones(len(solid.triangles), dtype=np.bool_)
    for case in cases:
        seen[select(solid, case.held, where=case.where)] = False
    return seen


def _seen(solid: Solid, face: Face, where: str) -> Bools:
    if face.axis is None:
        chosen = np.zeros(len(solid.triangles), dtype=np.bool_)
        chosen[select(solid, face, where=where)] = True
        return chosen
    vectors = facet_vectors(solid.vertices_mm, solid.triangles)
    facing = vectors @ np.array(AXES[face.axis])
    seen: Bools = facing > (np.cos(np.radians(45.0)) - 1e-9) * np.linalg.norm(vectors, axis=1)
    if not seen.any():
        raise input_error(
            where or solid.name,
            found=f"visible: {face.axis}, and no surface of {solid.name} that faces that way",
            expected="faces of the part",
            remedy="write another side, or a box",
        )
    return seen


def footings(
    solid: Solid, ups: Floats, seen: Bools | None = None, *, rooms: Sequence[Room] = ()
) -> list[Footing]:
    """Return how the part stands in each of (k, 3) directions; `seen` (t,) is what is in sight.

    It fits if it does in one of the `rooms`, or if none is named.

    Support is counted from every facet that leans out more than 45 degrees straight down to
    the plate, also where the part itself is in between: a volume on the high side.
    """
    corners = solid.vertices_mm[solid.triangles]
    vectors = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2
    area = np.linalg.norm(vectors, axis=1)
    centre = centre_of_mass(solid.vertices_mm, solid.triangles)
    facets = _Facets(
        corners_mm=corners,
        vectors=vectors,
        area_mm2=area,
        in_sight=np.ones(len(area), dtype=np.bool_) if seen is None else seen,
    )
    return [_footing(solid.vertices_mm, facets, centre, up, rooms=rooms) for up in ups]


def _footing(
    vertices: Floats, facets: _Facets, centre: Floats, up: Floats, *, rooms: Sequence[Room]
) -> Footing:
    heights = vertices @ up
    floor = float(heights.min())
    high = float(heights.max()) - floor
    down = -(facets.vectors @ up)
    levels = facets.corners_mm @ up - floor
    lying = levels.max(axis=1) <= CONTACT_BAND_MM
    leaning = (down > (np.sin(np.radians(OVERHANG_DEG)) + 1e-6) * facets.area_mm2) & ~lying
    flat = rotation_to_up((float(up[0]), float(up[1]), float(up[2])))[:2]
    touching = vertices[heights <= floor + CONTACT_BAND_MM] @ flat.T
    return Footing(
        support_mm3=float((down * levels.mean(axis=1))[leaning].sum()),
        height_mm=high,
        contact_mm2=float(down[lying & (down > 0)].sum()),
        stable=_tip_deg(touching, flat @ centre, float(centre @ up) - floor) >= STABLE_DEG,
        visible_overhang_mm2=float(facets.area_mm2[leaning & facets.in_sight].sum()),
        fits=not rooms or any(_fits(np.ptp(vertices @ flat.T, axis=0), high, r) for r in rooms),
    )


def _fits(sides_mm: Floats, high_mm: float, room: Room) -> bool:
    wide, deep, high = room
    a, b = sides_mm.tolist()
    lies = (a <= wide and b <= deep) or (b <= wide and a <= deep)
    return lies and high_mm <= high


def _tip_deg(touching: Floats, centre: Floats, height_mm: float) -> float:
    """Return the tilt at which the centre of mass stands over the edge of the footing."""
    corners = np.array(convex_hull(np.round(touching, 6)))
    if len(corners) < 3:
        return 0.0
    sides = np.roll(corners, -1, axis=0) - corners
    to_centre = centre - corners
    inside = sides[:, 0] * to_centre[:, 1] - sides[:, 1] * to_centre[:, 0]
    nearest = float((inside / np.linalg.norm(sides, axis=1)).min())
    return float(np.degrees(np.arctan2(max(0.0, nearest), max(height_mm, 1e-9))))
