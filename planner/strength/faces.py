"""Patches of a part's surface, chosen by axis, box or plane; and where their middle lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.job.model import Face, Plane
    from planner.solid.model import Solid

    Floats = NDArray[np.float64]
    Indices = NDArray[np.int64]

AXES = {
    "+x": (1.0, 0.0, 0.0),
    "-x": (-1.0, 0.0, 0.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
    "+z": (0.0, 0.0, 1.0),
    "-z": (0.0, 0.0, -1.0),
}
"""The six axis directions by name."""


def select(solid: Solid, face: Face, *, where: str = "") -> Indices:
    """Return the numbers of the triangles that belong to `face`, ascending.

    An axis takes the triangles that lie wholly within the face's tolerance of the part's
    extreme that way; a box takes those whose centroid lies in it, its sides included; a
    plane takes those that lie wholly within the tolerance of it, whichever way they face.
    Raises InputError (at `where`, or at the solid's name) if the face takes none.
    """
    chosen = _taken(solid.vertices_mm[solid.triangles], face)
    if not chosen.any():
        raise _nothing_there(solid, face, where)
    return np.flatnonzero(chosen)


def _taken(corners: Floats, face: Face) -> NDArray[np.bool_]:
    """Return which (t, 3, 3) triangles belong to a face."""
    if face.axis is not None:
        heights = corners @ np.array(AXES[face.axis])
        return np.asarray(heights.min(axis=1) >= heights.max() - face.tolerance_mm)
    if face.plane is not None:
        off = (corners - np.array(face.plane.point_mm)) @ np.array(face.plane.normal)
        return np.asarray(np.abs(off).max(axis=1) <= face.tolerance_mm)
    assert face.box_mm is not None
    low, high = np.array(face.box_mm)
    middles = corners.mean(axis=1)
    return np.asarray(np.all((middles >= low) & (middles <= high), axis=1))


def centroid_mm(solid: Solid, triangles: Indices) -> Floats:
    """Centroid of the surface of these triangles, weighed by area; shape (3,)."""
    corners = solid.vertices_mm[solid.triangles[triangles]]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(cross, axis=1)
    middles: Floats = corners.mean(axis=1)
    weights = area / area.sum() if area.sum() > 0.0 else np.full(len(area), 1.0 / len(area))
    centroid: Floats = weights @ middles
    return centroid


def describe(face: Face) -> str:
    """Name a face as the user wrote it."""
    if face.axis is not None:
        return f"face {face.axis}"
    if face.plane is not None:
        point, normal = (", ".join(f"{x:g}" for x in at) for at in _of(face.plane))
        return f"plane through [{point}] across [{normal}]"
    assert face.box_mm is not None
    low, high = (", ".join(f"{x:g}" for x in corner) for corner in face.box_mm)
    return f"box [{low}] to [{high}]"


def _of(plane: Plane) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return plane.point_mm, tuple(round(x, 4) for x in plane.normal)


def _nothing_there(solid: Solid, face: Face, where: str) -> Exception:
    low, high = (", ".join(f"{x:.4g}" for x in corner) for corner in solid.bounds_mm)
    if face.axis is not None:
        found = f"no flat surface within {face.tolerance_mm:g} mm of the {face.axis} extreme"
    elif face.plane is not None:
        found = f"no surface within {face.tolerance_mm:g} mm of the {describe(face)}"
    else:
        found = f"no triangle of {solid.name} with its centroid in the {describe(face)}"
    return input_error(
        where or solid.name,
        found=found,
        expected="a face of the part",
        remedy=f"give a box; {solid.name} spans [{low}] to [{high}] mm",
    )
