"""Areas, normals, volume and centre of mass of triangles, by the divergence theorem."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices


def facet_vectors(vertices: Floats, triangles: Indices) -> Floats:
    """Return (t, 3): each triangle's outward normal times twice its area."""
    first, second, third = (vertices[triangles[:, corner]] for corner in range(3))
    return np.cross(second - first, third - first)


def facet_areas(vertices: Floats, triangles: Indices) -> Floats:
    """Return (t,): the area of each triangle.

    >>> facet_areas(np.array([[0.0, 0, 0], [4, 0, 0], [0, 3, 0]]), np.array([[0, 1, 2]]))
    array([6.])
    """
    areas: Floats = np.linalg.norm(facet_vectors(vertices, triangles), axis=1) / 2
    return areas


def cone_volumes(vertices: Floats, triangles: Indices, apex: Floats) -> Floats:
    """Return (t,): signed volume of the tetrahedron of each triangle with `apex`.

    Over a closed, outward surface they add up to its volume wherever the apex is
    (divergence theorem); an apex near the middle keeps the rounding small.
    """
    first, second, third = (vertices[triangles[:, corner]] - apex for corner in range(3))
    volumes: Floats = np.einsum("ij,ij->i", first, np.cross(second, third)) / 6
    return volumes


def extent(vertices: Floats, triangles: Indices) -> Floats:
    """Return (3,): length, width and height of what the triangles use."""
    corners = vertices[triangles]
    size: Floats = corners.max(axis=(0, 1)) - corners.min(axis=(0, 1))
    return size


def middle(vertices: Floats) -> Floats:
    """Return (3,): the centre of the bounding box."""
    centre: Floats = (vertices.min(axis=0) + vertices.max(axis=0)) / 2
    return centre


def signed_volume(vertices: Floats, triangles: Indices) -> float:
    """Return the volume of a closed surface; negative if it faces inwards."""
    return float(cone_volumes(vertices, triangles, middle(vertices)).sum())


def centre_of_mass(vertices: Floats, triangles: Indices) -> Floats:
    """Return (3,): the centroid of a closed surface filled evenly.

    Each cone's centroid lies at the mean of its four corners, weighted by its volume.
    """
    apex = middle(vertices)
    volumes = cone_volumes(vertices, triangles, apex)
    means = (vertices[triangles] - apex).sum(axis=1) / 4
    centre: Floats = apex + volumes @ means / volumes.sum()
    return centre
