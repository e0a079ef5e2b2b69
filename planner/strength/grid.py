"""A grid of bricks that fits a part: turned to its main faces, its planes on theirs.

Bricks that end where the part ends make beams and plates exact that a plain raster would
leave with steps; what is round or slanted is filled partly, brick by brick.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from planner.solid.measure import facet_vectors

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.solid.model import Solid

    Floats = NDArray[np.float64]

FLAT = 1e-4
"""A facet whose normal is this near to an axis (1 - cosine) lies across it."""

_NEAREST = 0.35
"""Planes nearer to each other than this share of a brick share one grid plane (invented)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Planes of a tensor grid. `turn` is (3, 3) with grid frame = turn @ part frame.

    `lines_mm` holds the ascending plane positions along the three axes of the grid frame.
    """

    turn: Floats
    lines_mm: tuple[Floats, Floats, Floats]

    @property
    def shape(self) -> tuple[int, int, int]:
        """Bricks along each axis."""
        x, y, z = (len(lines) - 1 for lines in self.lines_mm)
        return x, y, z

    @property
    def widths_mm(self) -> tuple[Floats, Floats, Floats]:
        """Widths of the bricks along each axis."""
        x, y, z = (np.diff(lines) for lines in self.lines_mm)
        return x, y, z


def main_frame(solid: Solid) -> Floats:
    """Return the rotation (3, 3) whose rows are the part's main face normals.

    The first is the direction that most surface faces, the second that which most of the
    rest faces across it. Directions 0.5 degrees apart count as one. A part drawn along its
    axes keeps its own frame, so that equal shapes give equal grids.
    """
    vectors = facet_vectors(solid.vertices_mm, solid.triangles)
    area = np.linalg.norm(vectors, axis=1)
    kept = area > 0.0
    normals, area = vectors[kept] / area[kept, None], area[kept]
    own = np.eye(3)
    along_own = (area[:, None] * (np.abs(normals) > 1.0 - FLAT)).sum(axis=0)
    first = _most_faced(normals, area)
    if along_own.max() >= (1.0 - 1e-6) * _share(normals, area, first):
        first = own[int(np.argmax(along_own))]
    across = np.abs(normals @ first) < 1e-2
    if not across.any():
        second = own[int(np.argmin(np.abs(first)))]
    else:
        second = _most_faced(normals[across], area[across])
        facing = along_own * (np.abs(first) < 1e-9)
        if facing.max() >= (1.0 - 1e-6) * _share(normals, area, second):
            second = own[int(np.argmax(facing))]
    second = second - (second @ first) * first
    second /= np.linalg.norm(second)
    axes = np.array([first, second, np.cross(first, second)])
    return _tidy(axes)


def _most_faced(normals: Floats, area: Floats) -> Floats:
    """Return the direction (sign aside) that most area faces, averaged over its facets."""
    upward = normals * np.where(_leading_sign(normals) < 0, -1.0, 1.0)[:, None]
    keys, group = np.unique(np.round(upward, 3), axis=0, return_inverse=True)
    weight = np.bincount(group.ravel(), weights=area, minlength=len(keys))
    best = keys[int(np.argmax(np.round(weight, 9)))]
    best = best / np.linalg.norm(best)
    near = np.abs(normals @ best) > 1.0 - FLAT
    signed = normals[near] * np.sign(normals[near] @ best)[:, None]
    mean = (area[near, None] * signed).sum(axis=0)
    direction: Floats = mean / np.linalg.norm(mean)
    return direction


def _leading_sign(normals: Floats) -> Floats:
    """Return the sign of each row's first part that is not next to nothing."""
    parts = np.where(np.abs(normals) > 1e-6, np.sign(normals), 0.0)
    first: Floats = np.take_along_axis(parts, (parts != 0.0).argmax(axis=1)[:, None], axis=1)[:, 0]
    return first


def _share(normals: Floats, area: Floats, direction: Floats) -> float:
    return float(area[np.abs(normals @ direction) > 1.0 - FLAT].sum())


def _tidy(axes: Floats) -> Floats:
    """Order and point the axes as near to the part's own as they come; a proper rotation."""
    size = np.abs(axes)
    orders = ((0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0))
    best = max(orders, key=lambda order: sum(size[row, own] for own, row in enumerate(order)))
    turned = axes[list(best)]
    turned = turned * np.where(np.diag(turned) < 0.0, -1.0, 1.0)[:, None]
    if np.linalg.det(turned) < 0.0:
        turned[2] = -turned[2]
    turned[np.abs(turned) < 1e-12] = 0.0
    return turned


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wanted:
    """Edges of bricks wanted along one axis: `edge_mm` at ascending `places_mm`, linear between."""

    places_mm: Floats
    edge_mm: Floats

    def at(self, places_mm: Floats) -> Floats:
        """Return the edge wanted at each place."""
        return np.interp(places_mm, self.places_mm, self.edge_mm)


def evenly(edge_mm: float) -> tuple[Wanted, Wanted, Wanted]:
    """Return the same edge wanted everywhere."""
    one = Wanted(places_mm=np.zeros(1), edge_mm=np.full(1, edge_mm))
    return one, one, one


def fitted_grid(solid: Solid, turn: Floats, brick_mm: float) -> Grid:
    """Return a grid of bricks no larger than `brick_mm`, with the part's main planes in it."""
    return Grid(turn=turn, lines_mm=main_planes(solid, turn).lines_mm(evenly(brick_mm)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MainPlanes:
    """Flats of a part across each axis of a frame: their places, areas, and both ends."""

    places_mm: tuple[Floats, Floats, Floats]
    area_mm2: tuple[Floats, Floats, Floats]
    ends_mm: tuple[tuple[float, float], ...]

    def lines_mm(self, wanted: tuple[Wanted, Wanted, Wanted]) -> tuple[Floats, Floats, Floats]:
        """Return the planes of a grid of bricks no larger than wanted, the larger flats in it."""
        x, y, z = (
            _lines(self.ends_mm[axis], self.places_mm[axis], self.area_mm2[axis], wanted[axis])
            for axis in range(3)
        )
        return x, y, z


def main_planes(solid: Solid, turn: Floats) -> MainPlanes:
    """Find the flats of a part across the axes of a frame."""
    vertices = solid.vertices_mm @ turn.T
    vectors = facet_vectors(vertices, solid.triangles)
    area = np.linalg.norm(vectors, axis=1)
    places, sizes = [], []
    for axis in range(3):
        flat = np.abs(vectors[:, axis]) > (1.0 - FLAT) * area
        heights = vertices[solid.triangles[flat], axis].mean(axis=1)
        keys, group = np.unique(np.round(heights, 4), return_inverse=True)
        places.append(keys)
        flats = np.bincount(group.ravel(), weights=area[flat] / 2.0, minlength=len(keys))
        sizes.append(flats.astype(np.float64))
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    return MainPlanes(
        places_mm=(places[0], places[1], places[2]),
        area_mm2=(sizes[0], sizes[1], sizes[2]),
        ends_mm=tuple((float(a), float(b)) for a, b in zip(low, high, strict=True)),
    )


def _lines(ends: tuple[float, float], places: Floats, area: Floats, wanted: Wanted) -> Floats:
    """Return grid planes: the ends, the larger flats, and steps between as large as wanted."""
    low, high = ends
    kept = [low, high]
    edges = wanted.at(places)
    for index in np.lexsort((places, -area)):
        place, edge = float(places[index]), float(edges[index])
        if area[index] >= edge**2 and min(abs(place - one) for one in kept) > _NEAREST * edge:
            kept.append(place)
    kept.sort()
    steps = [_steps(a, b, wanted) for a, b in pairwise(kept)]
    return np.append(np.concatenate(steps), high)


def _steps(a: float, b: float, wanted: Wanted) -> Floats:
    """Cut a stretch so that each piece is about as long as is wanted there; without its end."""
    fine = np.linspace(a, b, 65)
    density = 1.0 / wanted.at((fine[1:] + fine[:-1]) / 2.0)
    reached = np.concatenate([[0.0], np.cumsum(density * np.diff(fine))])
    count = max(1, int(np.ceil(reached[-1] - 0.02)))
    steps: Floats = np.interp(np.arange(count) * reached[-1] / count, reached, fine)
    return steps
