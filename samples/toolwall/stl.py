"""Solids to binary STL, always in the same order.

Layout as published since 1989: 80 bytes of header that do not begin with 'solid', a
little-endian count, then 50 bytes a triangle (normal, three corners, two bytes unused).
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from manifold3d import Manifold
    from numpy.typing import NDArray

FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("unused", "<u2")])


def triangles_of(solid: Manifold) -> NDArray[np.float32]:
    """Return a solid's triangles, shape (n, 3, 3), in mm, in an order of their own.

    Each triangle begins with its lowest corner and they are sorted, so the order does not
    depend on how the kernel happened to store them.
    """
    mesh = solid.to_mesh64()
    corners = np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts)]
    return in_order(np.round(corners, 4).astype("<f4") + np.float32(0))  # +0: no minus zero


def in_order(corners: NDArray[np.float32]) -> NDArray[np.float32]:
    """Turn each triangle to begin with its lowest corner, then sort the triangles."""
    lowest = [min(range(3), key=lambda k, t=t: tuple(t[k])) for t in corners]
    turned = np.stack([np.roll(t, -k, axis=0) for t, k in zip(corners, lowest, strict=True)])
    return turned[np.lexsort(turned.reshape(len(turned), 9).T[::-1])]


def binary_stl(corners: NDArray[np.float32], header: str) -> bytes:
    """Return the bytes of a binary STL of triangles, shape (n, 3, 3)."""
    facets = np.zeros(len(corners), FACET)
    facets["corners"] = corners
    facets["normal"] = _normals(corners.astype(np.float64))
    start = header.encode("ascii").ljust(80)[:80]
    return start + struct.pack("<I", len(corners)) + facets.tobytes()


def _normals(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(across, axis=1, keepdims=True)
    return np.divide(across, length, out=np.zeros_like(across), where=length > 0) + 0.0
