"""The way into manifold3d, in double precision; None where it finds no closed body."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, TypeAlias

import manifold3d
import numpy as np

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices, Solid

Manifold: TypeAlias = manifold3d.Manifold
Region: TypeAlias = manifold3d.CrossSection
"""A flat region in mm: what a cut returns."""


def build(vertices: Floats, triangles: Indices) -> Manifold | None:
    """Return the body bounded by a closed, outward surface, or None if it is none."""
    body = Manifold(
        manifold3d.Mesh64(
            vert_properties=np.array(vertices, dtype=np.float64, order="C"),
            tri_verts=np.array(triangles, dtype=np.uint64, order="C"),
        )
    )
    sound = body.status() == manifold3d.Error.NoError and not body.is_empty()
    return body if sound else None


def surface(body: Manifold) -> tuple[Floats, Indices]:
    """Return (vertices, triangles) of a body."""
    mesh = body.to_mesh64()
    return (
        np.array(mesh.vert_properties, dtype=np.float64)[:, :3],
        np.array(mesh.tri_verts, dtype=np.int32),
    )


@lru_cache(maxsize=8)
def as_manifold(solid: Solid) -> Manifold:
    """Return a closed solid's body for booleans; the last few are kept.

    Raises ValueError for a solid that is not closed: it has no body, only cuts.
    """
    body = build(solid.vertices_mm, solid.triangles) if solid.closed else None
    if body is None:
        raise ValueError(f"{solid.name} is not closed")
    return body
