"""Triangles as text: ASCII STL, OBJ, PLY and OFF, and a page that is none of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    Triangles = NDArray[np.float32]

WEB_PAGE = b"""<!DOCTYPE html>
<html><head><title>Please sign in</title></head>
<body><p>Your download starts after you have signed in.</p></body></html>
"""


def indexed(corners: Triangles) -> tuple[Triangles, NDArray[np.int64]]:
    """Return (vertices (v, 3), triangles (t, 3)); equal corners are one vertex."""
    vertices, numbers = np.unique(corners.reshape(-1, 3), axis=0, return_inverse=True)
    return vertices, numbers.reshape(-1, 3)


def ascii_stl(solids: Mapping[str, Triangles]) -> bytes:
    """Return a text STL with one `solid` block per name; normals are left at 0 0 0."""
    lines = []
    for name, corners in solids.items():
        lines.append(f"solid {name}")
        for triangle in corners:
            lines += ["  facet normal 0 0 0", "    outer loop"]
            lines += [f"      vertex {_row(corner)}" for corner in triangle]
            lines += ["    endloop", "  endfacet"]
        lines.append(f"endsolid {name}")
    return _text(lines)


def obj(corners: Triangles) -> bytes:
    """Return a Wavefront OBJ; its vertices count from 1."""
    vertices, triangles = indexed(corners)
    faces = [f"f {_row(face)}" for face in triangles + 1]
    return _text(["# in mm", *(f"v {_row(v)}" for v in vertices), *faces])


def ply(corners: Triangles) -> bytes:
    """Return a text PLY."""
    vertices, triangles = indexed(corners)
    head = ["ply", "format ascii 1.0", f"element vertex {len(vertices)}"]
    head += [f"property float {axis}" for axis in "xyz"]
    head += [f"element face {len(triangles)}", "property list uchar int vertex_indices"]
    return _text([*head, "end_header", *map(_row, vertices), *_faces(triangles)])


def off(corners: Triangles) -> bytes:
    """Return an OFF file."""
    vertices, triangles = indexed(corners)
    head = ["OFF", f"{len(vertices)} {len(triangles)} 0"]
    return _text([*head, *map(_row, vertices), *_faces(triangles)])


def _faces(triangles: NDArray[np.int64]) -> Iterable[str]:
    return (f"3 {_row(face)}" for face in triangles)


def _row(values: Iterable[float]) -> str:
    return " ".join(f"{value:.9g}" for value in values)


def _text(lines: list[str]) -> bytes:
    return ("\n".join(lines) + "\n").encode("ascii")
