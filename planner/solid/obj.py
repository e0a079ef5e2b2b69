"""Triangles of an OBJ file: its vertices and faces; materials, groups and curves are left out."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from planner.solid.polygons import Polygons

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.solid.loose import Loose

STATEMENT = re.compile(
    r"^[ \t\v\f]*+([vf])[ \t\v\f]++((?:[^\\\n]++|\\\n?)*+)", re.MULTILINE | re.ASCII
)
"""A vertex or a face; a backslash at the end of a line continues it. Nothing is tried twice,
so the time grows with the text and no faster."""


def read_obj(data: bytes, *, file: object) -> Loose:
    """Return the triangles of all groups together; polygons are cut into fans.

    Nothing that the file refers to is opened. Vertices count from 1; a negative number counts
    back from the last vertex before the face. Raises InputError, naming the line, for whatever
    is no vertex or face, and for vertices that are not there.
    """
    met = Polygons(file=file, kind="OBJ")
    for letter, rest in _statements(data, met):
        words = met.split(rest)
        if letter == "v":
            met.vertex(words)
        else:
            met.polygon([_row(word, met) for word in words])
    return met.loose(first=1)


def _statements(data: bytes, met: Polygons) -> Iterator[tuple[str, str]]:
    """Yield vertices and faces with what follows their letter, keeping count of the lines."""
    text = data.decode("latin-1").replace("\r\n", "\n").replace("\r", "\n")
    met.line, counted = 1, 0
    for found in STATEMENT.finditer(text):
        met.line += text.count("\n", counted, found.start())
        counted = found.start()
        yield found[1], found[2].replace("\\\n", " ").split("#", 1)[0]


def _row(word: str, met: Polygons) -> int:
    """Return the row of a corner such as 7, 7/2, 7//3 or -1."""
    if word[0] != "0" and word.isdecimal() and len(word) < 8:  # nearly all, and quick
        return int(word) - 1
    index = met.whole(word.split("/", 1)[0], "a face that uses vertex")
    row = index - 1 if index > 0 else met.vertices + index
    if index == 0 or row < 0:
        raise met.fault(
            f"a face that uses vertex {index}",
            f"1 or more, or down to -{met.vertices} counted back from here",
        )
    return row
