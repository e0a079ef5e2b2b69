"""Patches of a part's surface, chosen by an axis or a box; and where their middle lies."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.job.model import Face
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
    extreme that way; a box takes those whose centroid lies in it, its sides included.
    Raises InputError (at `where`, or at the solid's name) if the face takes none.
    """
    corners = solid.vertices_mm[solid.triangles]
    if face.axis is not None:
        heights = corners @ np.array(AXES[face.axis])
        chosen = heights.min(axis=1) >= heights.max() - face.tolerance_mm
    else:
        assert face.box_mm is not None
        low, high = np.array(face.box_mm)
        middles = corners.mean(axis=1)
        chosen = np.all((middles >= low) & (middles <= high), axis=1)
    if not chosen.any():
        raise _nothing_there(solid, face, where)
    return np.flatnonzero(chosen)


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
    assert face.box_mm is not None
    low, high = (", ".join(f"{x:g}" for x in corner) for corner in face.box_mm)
    return f"box [{low}] to [{high}]"


def _nothing_there(solid: Solid, face: Face, where: str) -> Exception:
    low, high = (", ".join(f"{x:.4g}" for x in corner) for corner in solid.bounds_mm)
    if face.axis is not None:
        found = f"no flat surface within {face.tolerance_mm:g} mm of the {face.axis} extreme"
    else:
        found = f"no triangle of {solid.name} with its centroid in the {describe(face)}"
    return input_error(
        where or solid.name,
        found=found,
        expected="a face of the part",
        remedy=f"give a box; {solid.name} spans [{low}] to [{high}] mm",
    )
