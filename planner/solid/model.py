"""A part's shape as read and put right: triangles in mm, seen from outside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int32]
    Indices = NDArray[np.integer[Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """Something that was put right on the way in, in the user's words."""

    kind: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid:
    """A shape in its own frame.

    vertices_mm: (v, 3) float64; triangles: (t, 3) int32, counter-clockwise seen from
    outside. `closed` is False for a mesh whose cuts have to be chained shut: then
    `invented` is the share of outline (0 to 0.05) that had to be guessed.
    `digest` is the SHA-256 of the content in mm, the key of every cache.
    """

    name: str
    vertices_mm: Floats
    triangles: Ints
    closed: bool
    volume_mm3: float
    repairs: tuple[Repair, ...]
    invented: float
    digest: str

    @property
    def bounds_mm(self) -> Floats:
        """Lowest and highest corner, shape (2, 3)."""
        return np.array([self.vertices_mm.min(axis=0), self.vertices_mm.max(axis=0)])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Footprint:
    """A flat region: the silhouette of a posed part seen from above.

    Each polygon is (outer ring, *hole rings); a ring is (n, 2) float64 in mm, not closed
    (the first point is not repeated), outer counter-clockwise, holes clockwise.
    """

    polygons_mm: tuple[tuple[Floats, ...], ...]

    @property
    def area_mm2(self) -> float:
        """Area, holes taken off (shoelace formula; holes run clockwise and count below 0)."""
        return sum(_signed_area(ring) for polygon in self.polygons_mm for ring in polygon)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posed:
    """A solid turned so that `up` points away from the plate, standing on z = 0.

    `rotation` is the (3, 3) matrix with posed = rotation @ original; the posed shape's
    lowest corner is the origin, so x, y, z all start at 0. `footprint` shares that frame.
    `tip_deg` is the tilt at which it would fall over (0 = stands on an edge or point).
    """

    solid: Solid
    up: tuple[float, float, float]
    rotation: Floats
    vertices_mm: Floats
    size_mm: tuple[float, float, float]
    contact_mm2: float
    overhang_mm2: float
    tip_deg: float
    footprint: Footprint


def _signed_area(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)) / 2
