"""Polygons of a text file, collected corner by corner and cut into triangles."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import InputError, input_error
from planner.solid import limits
from planner.solid.loose import Loose
from planner.solid.words import clipped, number, whole

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices

MOST_LINE = 1_000_000
"""Letters of a line: a polygon of 100,000 corners takes 700,000."""


@dataclass(slots=True, kw_only=True)
class Polygons:
    """What a reader has met so far; `line` is where it stands, counted from 1."""

    file: object
    kind: str
    coordinates: array[float] = field(default_factory=lambda: array("d"))
    corners: array[int] = field(default_factory=lambda: array("q"))
    sizes: array[int] = field(default_factory=lambda: array("q"))
    line: int = 0

    @property
    def vertices(self) -> int:
        """How many vertices there are."""
        return len(self.coordinates) // 3

    def split(self, text: str) -> list[str]:
        """Return the words of a line."""
        if len(text) > MOST_LINE:
            raise self.fault("a line of millions of letters", f"at most {MOST_LINE} in a line")
        return text.split()

    def vertex(self, words: list[str]) -> None:
        """Take the first three words; what follows is weight, normal or colour."""
        try:
            x, y, z = words[:3]
            self.coordinates.extend((number(x), number(y), number(z)))
        except ValueError:
            raise self.fault(f"a vertex at '{_listed(words)}'", "three coordinates") from None
        if self.vertices > limits.MOST_VERTICES:
            raise self.fault("millions of vertices", f"at most {limits.MOST_VERTICES}")

    def polygon(self, corners: list[int]) -> None:
        """Take a face whose corners are rows of vertices, counted from 0."""
        if len(corners) < 3:
            raise self.fault(f"a face of {len(corners)} corners", "three or more")
        self.corners.extend(corners)
        self.sizes.append(len(corners))
        if len(self.corners) - 2 * len(self.sizes) > limits.MOST_TRIANGLES:
            raise self.fault(
                "polygons that make millions of triangles", f"at most {limits.MOST_TRIANGLES}"
            )

    def whole(self, word: str, what: str, *, most: int = limits.MOST_VERTICES) -> int:
        """Return a whole number from -most to most; `what` says in a refusal what it is."""
        try:
            value = whole(word)
        except ValueError:
            raise self.fault(f"{what} '{clipped(word)}'", "a whole number") from None
        if abs(value) > most:
            raise self.fault(f"{what} {value}", f"at most {most}")
        return value

    def fault(self, found: str, expected: str) -> InputError:
        """Return a refusal that names the line."""
        return _damaged(self, found, expected, line=self.line)

    def loose(self, *, first: int) -> Loose:
        """Return the triangles; `first` is what the file's own count of vertices begins at."""
        corners = np.array(self.corners, dtype=np.int64)
        if len(corners) and corners.max() >= self.vertices:
            raise _damaged(
                self,
                f"a face that uses vertex {corners.max() + first}",
                f"one of the {self.vertices} vertices, counted from {first}",
            )
        vertices: Floats = np.array(self.coordinates, dtype=np.float64).reshape(-1, 3)
        return Loose(vertices=vertices, triangles=fans(corners, np.array(self.sizes, np.int64)))


def fans(corners: Indices, sizes: Indices) -> Indices:
    """Return (t, 3): polygons given one after another, each cut into a fan from its first corner.

    >>> fans(np.array([7, 8, 9, 4, 5, 6, 7]), np.array([3, 4])).tolist()
    [[7, 8, 9], [4, 5, 6], [4, 6, 7]]
    """
    start = np.cumsum(sizes) - sizes
    count = sizes - 2
    step = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    base = np.repeat(start, count)
    triangles: Indices = corners[np.stack([base, base + step + 1, base + step + 2], axis=1)]
    return triangles


def _listed(words: list[str]) -> str:
    return clipped(" ".join(words[:3]))


def _damaged(met: Polygons, found: str, expected: str, *, line: int | None = None) -> InputError:
    return input_error(
        met.file,
        line=line,
        found=found,
        expected=f"{expected}, in a whole {met.kind} mesh",
        remedy="the file is damaged or cut off: export it again, binary STL or 3MF best",
    )
