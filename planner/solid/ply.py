"""Triangles of a PLY file, through trimesh."""

from __future__ import annotations

import io
import logging
import re
import warnings
from typing import Any

import numpy as np

from planner.errors import InputError, input_error
from planner.solid import limits
from planner.solid.loose import Loose
from planner.solid.words import clipped

FACES = re.compile(rb"^element[ \t]+face[ \t]+(\d{1,12})", re.MULTILINE)
"""Where a PLY announces its number of faces."""

BREAKS = (b"\n", b"\r", b"\v", b"\f", b"\x1c", b"\x1d", b"\x1e")
"""What ends a line of text for the reader underneath."""

MOST_LINES = 2 * limits.MOST_TRIANGLES
"""Lines of a text PLY: it has about half as many vertices as triangles."""

MOST_PLY_BYTES = 150_000_000
"""2 million triangles take 26 MB of faces and half as many vertices of up to 60 bytes."""


def read_ply(data: bytes, *, file: object) -> Loose:
    """Return the triangles of a PLY mesh; polygons are cut into fans.

    Nothing the file refers to (pictures) is opened. Raises InputError for what trimesh
    cannot read and for files of which it reads only a part.
    """
    announced = _announced_faces(data, file)
    try:
        mesh = _load(data)
        vertices = np.array(mesh.vertices, dtype=np.float64)
        triangles = np.array(mesh.faces, dtype=np.int64)
    except Exception as error:  # noqa: BLE001  readers fail in any way on damaged files
        reason = clipped(" ".join(str(error).split()), 80) or type(error).__name__
        raise _damaged(f"something that cannot be read ({reason})", file) from None
    if len(triangles) < announced:
        raise _damaged(f"{len(triangles)} triangles for {announced} faces", file)
    if len(triangles) and (vertices.ndim, vertices.shape[-1], triangles.shape[-1]) != (2, 3, 3):
        raise _damaged("vertices without three coordinates", file)
    return Loose(vertices=vertices, triangles=triangles)


def _load(data: bytes) -> Any:
    """Let trimesh read; a number it would have skipped is an error, its log stays quiet."""
    import trimesh  # noqa: PLC0415  takes half a second to import

    log = logging.getLogger("trimesh")
    before = log.disabled
    log.disabled = True
    try:
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            warnings.filterwarnings("error", message="string or file could not be read")
            return trimesh.load_mesh(io.BytesIO(data), file_type="ply", process=False)
    finally:
        log.disabled = before


def _announced_faces(data: bytes, file: object) -> int:
    """Return how many faces the file says it holds; refuse what would take too much memory."""
    found = FACES.search(data[:65536])
    announced = int(found[1]) if found else 0
    text = b"ascii" in data[:1000]
    lines = sum(map(data.count, BREAKS)) if text else 0
    if announced > limits.MOST_TRIANGLES or lines > MOST_LINES or len(data) > MOST_PLY_BYTES:
        raise input_error(
            file,
            found=f"{announced} faces announced in {len(data) / 1e6:.3g} MB",
            expected=f"at most {limits.MOST_TRIANGLES} in {MOST_PLY_BYTES / 1e6:.0f} MB"
            + (f" and {MOST_LINES} lines" if text else ""),
            remedy="export it with a coarser tolerance, such as 0.01 mm",
        )
    return announced


def _damaged(found: str, file: object) -> InputError:
    return input_error(
        file,
        found=found,
        expected="a whole PLY mesh",
        remedy="the file is damaged or cut off: export it again, binary STL or 3MF best",
    )
