"""Shapes whose measures are known on paper, and a way to put them into files."""

import struct
from pathlib import Path

import numpy as np
import pytest

from planner.solid.mend import make_solid

BOX_SIDES = np.array(
    [
        [0, 2, 1], [1, 2, 3],  # x = low: corners are numbered z fastest, x slowest
        [4, 5, 6], [5, 7, 6],
        [0, 1, 4], [1, 5, 4],
        [2, 6, 3], [3, 6, 7],
        [0, 4, 2], [2, 4, 6],
        [1, 3, 5], [3, 7, 5],
    ]
)  # fmt: skip


def box(low, high):
    """Return (8, 3) corners and (12, 3) outward triangles of a box."""
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    low, high = np.array(low, dtype=float), np.array(high, dtype=float)
    return low + corners * (high - low), _outward(corners, BOX_SIDES)


def _outward(corners, sides):
    """Turn the triangles of a convex shape round (0.5, 0.5, 0.5) to face outwards."""
    points = corners[sides]
    normals = np.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])
    inwards = np.einsum("ij,ij->i", normals, points.mean(axis=1) - 0.5) < 0
    return np.where(inwards[:, None], sides[:, ::-1], sides)


def lathe(radii, heights, sides):
    """Return a stack of similar regular polygons, closed at both ends with fans.

    With A = sides / 2 r^2 sin(2 pi / sides) the volume between two of them is that of a
    frustum, h (A1 + A2 + sqrt(A1 A2)) / 3, exactly.
    """
    turn = 2 * np.pi * np.arange(sides) / sides
    rings = [
        np.stack([r * np.cos(turn), r * np.sin(turn), np.full(sides, h)], axis=1)
        for r, h in zip(radii, heights, strict=True)
    ]
    ends = np.array([[0, 0, heights[0]], [0, 0, heights[-1]]])
    vertices = np.concatenate([*rings, ends])
    here, after = np.arange(sides), (np.arange(sides) + 1) % sides
    faces = []
    for level in range(len(radii) - 1):
        a, b = level * sides + here, level * sides + after
        faces += [np.stack([a, b, b + sides], axis=1), np.stack([a, b + sides, a + sides], axis=1)]
    bottom, top = np.full(sides, len(vertices) - 2), np.full(sides, len(vertices) - 1)
    last = (len(radii) - 1) * sides
    faces += [np.stack([bottom, after, here], axis=1)]
    faces += [np.stack([top, last + here, last + after], axis=1)]
    return vertices, np.concatenate(faces)


def lathe_volume(radii, heights, sides):
    """Return the exact volume of `lathe`."""
    area = sides / 2 * np.array(radii, dtype=float) ** 2 * np.sin(2 * np.pi / sides)
    steps = np.diff(heights)
    return float(np.sum(steps * (area[:-1] + area[1:] + np.sqrt(area[:-1] * area[1:])) / 3))


def merged(*meshes):
    """Put several (vertices, triangles) into one, not united."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    return (
        np.concatenate([vertices for vertices, _ in meshes]),
        np.concatenate([t + s for (_, t), s in zip(meshes, starts, strict=False)]),
    )


def stl_bytes(vertices, triangles, header=b"made by a test"):
    """Return a binary STL."""
    record = np.zeros(
        len(triangles), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("extra", "<u2")]
    )
    record["corners"] = vertices[triangles]
    return header.ljust(80, b"\0") + struct.pack("<I", len(triangles)) + record.tobytes()


class Shapes:
    """What the tests of this folder share."""

    box = staticmethod(box)
    lathe = staticmethod(lathe)
    lathe_volume = staticmethod(lathe_volume)
    merged = staticmethod(merged)
    stl_bytes = staticmethod(stl_bytes)

    @staticmethod
    def solid(mesh):
        """Make a solid of (vertices, triangles)."""
        return make_solid(*mesh, name="part", file="part.stl")

    @staticmethod
    def sphere(radius, sides=48, levels=24):
        """Return a lathe near a sphere that stands on z = 0, and the lathe's exact volume."""
        angle = np.linspace(-np.pi / 2, np.pi / 2, levels + 1)[1:-1]
        profile = radius * np.cos(angle), radius + radius * np.sin(angle), sides
        return lathe(*profile), lathe_volume(*profile)


@pytest.fixture(scope="session")
def shapes():
    return Shapes


@pytest.fixture
def write(tmp_path):
    """Write bytes, or a mesh as binary STL, and return the path."""

    def _write(content, name="part.stl") -> Path:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else stl_bytes(*content))
        return path

    return _write
