"""Triangles of OBJ, PLY and OFF files, through trimesh."""

from __future__ import annotations

import io
import logging
import re
import warnings
from typing import Any

import numpy as np

from planner.errors import InputError, input_error
from planner.solid.loose import Loose

FACES = {
    "ply": re.compile(rb"^element\s+face\s+(\d+)", re.MULTILINE),
    "off": re.compile(rb"^\s*(?:OFF\s)?\s*\d+\s+(\d+)\s+\d+\s*$", re.MULTILINE),
}
"""Where a file announces its number of faces."""


def read_other(data: bytes, kind: str, *, file: object) -> Loose:
    """Return the triangles of a mesh of `kind` obj, ply or off; polygons are cut into fans.

    Nothing the file refers to (materials, pictures) is opened. Raises InputError for what
    trimesh cannot read and for files of which it reads only a part.
    """
    try:
        mesh = _load(data, kind)
        vertices = np.array(mesh.vertices, dtype=np.float64)
        triangles = np.array(mesh.faces, dtype=np.int64)
    except Exception as error:  # noqa: BLE001  readers fail in any way on damaged files
        reason = " ".join(str(error).split())[:80] or type(error).__name__
        raise _damaged(kind, f"something that cannot be read ({reason})", file) from None
    announced = _announced_faces(data, kind)
    if len(triangles) < announced:
        raise _damaged(kind, f"{len(triangles)} triangles for {announced} faces", file)
    if len(triangles) and (vertices.ndim, vertices.shape[-1], triangles.shape[-1]) != (2, 3, 3):
        raise _damaged(kind, "vertices without three coordinates", file)
    return Loose(vertices=vertices, triangles=triangles)


def _load(data: bytes, kind: str) -> Any:
    """Let trimesh read; a number it would have skipped is an error, its log stays quiet."""
    import trimesh  # noqa: PLC0415  takes half a second to import

    log = logging.getLogger("trimesh")
    before = log.disabled
    log.disabled = True
    try:
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            warnings.filterwarnings("error", message="string or file could not be read")
            return trimesh.load_mesh(io.BytesIO(data), file_type=kind, process=False)
    finally:
        log.disabled = before


def _announced_faces(data: bytes, kind: str) -> int:
    """Return how many faces the file says it holds; in an OBJ, how many lines hold one."""
    if kind == "obj":
        return len(re.findall(rb"^\s*f\s", data, re.MULTILINE))
    found = FACES[kind].search(data[:65536])
    return int(found[1]) if found else 0


def _damaged(kind: str, found: str, file: object) -> InputError:
    return input_error(
        file,
        found=found,
        expected=f"a whole {kind.upper()} mesh",
        remedy="the file is damaged or cut off: export it again, binary STL or 3MF best",
    )
