"""How much of each brick is material: cuts through the body, sampled four by four by four."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.solid.kernel import as_manifold

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.solid.model import Solid
    from planner.strength.grid import Grid

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

SAMPLES = 4
"""Samples along each edge of a brick; two of them for each octant."""


def octant_fill(solid: Solid, grid: Grid) -> Floats:
    """Return (nx, ny, nz, 8): share of each octant that is material, in steps of 1/8.

    Octants are numbered 4 x + 2 y + z with 0 for the lower half. Raises ValueError for a
    solid that is not closed.
    """
    inside = samples_inside(solid, grid)
    nx, ny, nz = grid.shape
    halves = inside.reshape(nx, 2, 2, ny, 2, 2, nz, 2, 2)
    counts = halves.sum(axis=(2, 5, 8), dtype=np.int16)
    fill: Floats = counts.transpose(0, 2, 4, 1, 3, 5).reshape(nx, ny, nz, 8) / 8.0
    return fill


def samples_inside(solid: Solid, grid: Grid) -> Bools:
    """Return (4 nx, 4 ny, 4 nz): whether each sample lies in the material."""
    places = [_sample_places(lines) for lines in grid.lines_mm]
    last = int(np.argmin([len(each) for each in places]))  # cut across the fewest planes
    order = [(last + 1) % 3, (last + 2) % 3, last]
    turn = grid.turn[order]
    body = as_manifold(solid).transform(np.hstack([turn, np.zeros((3, 1))]))
    x, y, z = (places[axis] for axis in order)
    inside = np.empty((len(z), len(y), len(x)), dtype=np.bool_)
    for number, height in enumerate(z):
        inside[number] = _raster(body.slice(float(height)).to_polygons(), x, y)
    # from (z, y, x) of the cutting frame back to the axes of the grid
    return np.ascontiguousarray(np.moveaxis(inside, (2, 1, 0), order))


def _sample_places(lines: Floats) -> Floats:
    steps = (np.arange(SAMPLES) + 0.5) / SAMPLES
    places: Floats = (lines[:-1, None] + np.diff(lines)[:, None] * steps).ravel()
    return places


def _raster(polygons: list[Floats], x: Floats, y: Floats) -> Bools:
    """Return (y, x): which points lie inside, by counting outline crossings to the left."""
    if not polygons:
        return np.zeros((len(y), len(x)), dtype=np.bool_)
    starts = np.concatenate(polygons)
    ends = np.concatenate([np.roll(polygon, -1, axis=0) for polygon in polygons])
    first = np.searchsorted(y, np.minimum(starts[:, 1], ends[:, 1]), side="left")
    past = np.searchsorted(y, np.maximum(starts[:, 1], ends[:, 1]), side="left")
    spans = past - first
    edge = np.repeat(np.arange(len(spans)), spans)
    row = np.arange(spans.sum()) - np.repeat(np.cumsum(spans) - spans, spans) + first[edge]
    rise = ends[edge, 1] - starts[edge, 1]
    along = (y[row] - starts[edge, 1]) / rise
    crossing = starts[edge, 0] + along * (ends[edge, 0] - starts[edge, 0])
    column = np.searchsorted(x, crossing, side="left")
    width = len(x) + 1
    toggles = np.bincount(row * width + column, minlength=len(y) * width).reshape(len(y), width)
    odd: Bools = (np.cumsum(toggles, axis=1)[:, :-1] & 1).astype(np.bool_)
    return odd
