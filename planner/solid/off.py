"""Triangles of an OFF file: a first word, counts, one vertex a line, one face a line."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from planner.solid import limits
from planner.solid.polygons import Polygons
from planner.solid.words import clipped

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.solid.loose import Loose

LINE = re.compile(r"^[ \t\v\f]*+([^#\s][^#\n]*+)", re.MULTILINE | re.ASCII)
"""A line that says something, without its comment."""

KEYWORD = re.compile(r"(?:ST)?C?N?OFF", re.IGNORECASE)
"""Texture, colour and normal stand after the coordinates, so they do not matter; 4OFF and nOFF
would have other coordinates."""


def read_off(data: bytes, *, file: object) -> Loose:
    """Return the triangles; polygons are cut into fans, colours and normals are left out.

    Raises InputError, naming the line, for what is no OFF in text form and for files that
    hold less or more than they announce.
    """
    met = Polygons(file=file, kind="OFF")
    lines = _lines(data, met)
    vertices, faces = _counts(lines, met)
    for words in lines:
        if met.vertices < vertices:
            met.vertex(words)
        elif len(met.sizes) < faces:
            met.polygon(_face(words, met, vertices))
        else:
            raise met.fault("more lines", f"the {faces} faces it announces")
    if (met.vertices, len(met.sizes)) != (vertices, faces):
        raise met.fault(
            f"the end after {met.vertices} vertices and {len(met.sizes)} faces",
            f"the {vertices} vertices and {faces} faces it announces",
        )
    return met.loose(first=0)


def _lines(data: bytes, met: Polygons) -> Iterator[list[str]]:
    """Yield the words of each line that has any, keeping count of the lines."""
    text = data.removeprefix(b"\xef\xbb\xbf").decode("latin-1")
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    met.line, counted = 1, 0
    for found in LINE.finditer(text):
        met.line += text.count("\n", counted, found.start())
        counted = found.start()
        yield met.split(found[1])


def _counts(lines: Iterator[list[str]], met: Polygons) -> tuple[int, int]:
    """Return the numbers of vertices and faces; that of edges may be left out."""
    words = next(lines, [])
    if not words or not KEYWORD.fullmatch(words[0]):
        raise met.fault(f"'{clipped(' '.join(words[:1]))}' at the start", "the word OFF")
    words = words[1:] or next(lines, [])
    if len(words) not in {2, 3}:
        raise met.fault(f"'{clipped(' '.join(words[:9]))}'", "the counts of vertices and faces")
    vertices = met.whole(words[0], "the number of vertices")
    faces = met.whole(words[1], "the number of faces", most=limits.MOST_TRIANGLES)
    if min(vertices, faces) < 0:
        raise met.fault(f"{vertices} vertices and {faces} faces announced", "0 or more")
    return vertices, faces


def _face(words: list[str], met: Polygons, vertices: int) -> list[int]:
    """Return the rows of a face: its number of corners, the corners; then perhaps a colour."""
    size = met.whole(words[0], "the number of corners")
    corners = [met.whole(word, "a face that uses vertex") for word in words[1 : 1 + max(size, 0)]]
    if len(corners) != size:
        raise met.fault(f"a face of {size} corners that names {len(corners)}", "as many as it says")
    wrong = next((corner for corner in corners if not 0 <= corner < vertices), None)
    if wrong is not None:
        raise met.fault(f"a face that uses vertex {wrong}", f"0 to {vertices - 1}")
    return corners
