"""How thick the walls of a part are, read off the runs of material along the grid axes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.strength.grid import fitted_grid
from planner.strength.occupancy import SAMPLES, samples_inside

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.solid.model import Solid

    Floats = NDArray[np.float64]

_BRICKS = 120_000
"""Most bricks of the grid that thickness is read on (64 samples each)."""

_FINEST_MM = 0.8


def wall_thickness_mm(solid: Solid, turn: Floats) -> float:
    """Return how thick the thinnest tenth of the material at most is, in mm.

    The thickness at a place is the shortest run of material through it along the three axes
    of the grid frame: exact for walls along the axes, up to 1.7 times too much for slanted
    ones. 0 if the samples meet no material at all.
    """
    size = np.ptp(solid.vertices_mm @ turn.T, axis=0)
    brick_mm = max(_FINEST_MM, float(size.prod() / _BRICKS) ** (1 / 3))
    grid = fitted_grid(solid, turn, brick_mm)
    inside = samples_inside(solid, grid)
    if not inside.any():
        return 0.0
    shortest = np.full(inside.shape, np.inf, dtype=np.float32)
    widths = [np.repeat(width, SAMPLES) / SAMPLES for width in grid.widths_mm]
    for axis in range(3):
        runs = _runs(np.moveaxis(inside, axis, -1), widths[axis])
        np.minimum(shortest, np.moveaxis(runs, -1, axis), out=shortest)
    x, y, z = (width.astype(np.float32) for width in widths)
    volume = (x[:, None, None] * y[:, None] * z)[inside]
    thick = shortest[inside]
    order = np.argsort(thick, kind="stable")
    reached = np.cumsum(volume[order], dtype=np.float64)
    return float(thick[order[np.searchsorted(reached, 0.1 * reached[-1])]])


def _runs(inside: NDArray[np.bool_], widths: Floats) -> NDArray[np.float32]:
    """Return the length of the run of True that each sample lies in, along the last axis."""
    flat = np.pad(inside.reshape(-1, inside.shape[-1]), ((0, 0), (0, 1))).ravel()
    ends = np.concatenate([[0.0], np.cumsum(np.append(widths, 0.0))])
    turns = np.flatnonzero(np.diff(flat.astype(np.int8), prepend=0, append=0))
    first, past = turns[::2], turns[1::2]
    stride = len(widths) + 1
    lengths = ends[past % stride] - ends[first % stride]
    runs = np.zeros(len(flat), dtype=np.float32)
    runs[flat] = np.repeat(lengths, past - first)
    return runs.reshape(-1, stride)[:, :-1].reshape(inside.shape)
