"""Which neighbouring layers have the same cut, told from the triangles before any cutting.

Between two planes the cut does not change if no vertex lies between them and every
triangle that crosses them stands vertical. Prisms, panels and brackets are mostly such.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int32]
    Groups = NDArray[np.int64]

_VERTICAL_MM = 1e-7
"""Sideways run over the height between planes under which a facet counts as vertical."""


def groups(vertices_mm: Floats, triangles: Ints, planes_mm: Floats) -> Groups:
    """Return (layers,): numbers from 0 up; layers of one number have one and the same cut.

    >>> import manifold3d
    >>> mesh = manifold3d.Manifold.cube((9, 9, 1)).to_mesh64()
    >>> groups(mesh.vert_properties, mesh.tri_verts, np.array([0.1, 0.3, 0.5]))
    array([0, 0, 0])
    """
    heights = vertices_mm[:, 2]
    below = np.searchsorted(np.sort(heights), planes_mm)
    changed = np.diff(below) > 0
    slanted = _slanted_crossings(vertices_mm, triangles, planes_mm) > 0
    return np.concatenate([[0], np.cumsum(changed | slanted[1:])])


def _slanted_crossings(vertices_mm: Floats, triangles: Ints, planes_mm: Floats) -> Groups:
    """Count the triangles that are not vertical and cross each plane."""
    corners = vertices_mm[triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    flat = abs(normal[:, 2]) > _VERTICAL_MM * np.linalg.norm(normal, axis=1)
    z = corners[flat, :, 2]
    first = np.searchsorted(planes_mm, z.min(axis=1))
    last = np.searchsorted(planes_mm, z.max(axis=1))
    count = np.zeros(len(planes_mm) + 1, dtype=np.int64)
    np.add.at(count, first, 1)
    np.add.at(count, last, -1)
    return np.cumsum(count)[:-1]
