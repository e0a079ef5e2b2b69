"""How thick the walls of a part are, read off the runs of material along the grid axes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.grid import fitted_grid
from planner.strength.occupancy import SAMPLES, samples_inside

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.solid.model import Solid

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

_BRICKS = 60_000
"""Most bricks of the grid that thickness is read on (64 samples each)."""

_FINEST_MM = 0.8

THINNEST = 0.1
"""The thickness of a part, or of a piece of it, is what this share of it at most has."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walls:
    """Thickness at samples of a part, in the grid frame of `turn`.

    lines_mm: edges of the cells around the samples, along each axis; inside: (nx, ny, nz)
    whether a sample lies in the material; thick_mm: (nx, ny, nz), infinite outside.
    """

    turn: Floats
    lines_mm: tuple[Floats, Floats, Floats]
    inside: Bools
    thick_mm: NDArray[np.float32]

    def thinnest_mm(self) -> float:
        """Return how thick the thinnest tenth of the material at most is; 0 for no material."""
        x, y, z = (np.diff(lines).astype(np.float32) for lines in self.lines_mm)
        volume = (x[:, None, None] * y[:, None] * z)[self.inside]
        return _thinnest(self.thick_mm[self.inside], volume)

    def thinnest_at_mm(self, points_mm: Floats) -> float:
        """Return the same for the material around (p, 3) points; 0 where there is none."""
        places = tuple(
            np.clip(np.searchsorted(lines, points_mm[:, axis], "right") - 1, 0, len(lines) - 2)
            for axis, lines in enumerate(self.lines_mm)
        )
        thick = self.thick_mm[places]
        thick = thick[np.isfinite(thick)]
        return _thinnest(thick, np.ones_like(thick))


def _thinnest(thick: NDArray[np.float32], volume: NDArray[np.float32]) -> float:
    if not len(thick):
        return 0.0
    order = np.argsort(thick, kind="stable")
    reached = np.cumsum(volume[order], dtype=np.float64)
    return float(thick[order[np.searchsorted(reached, THINNEST * reached[-1])]])


def measured_walls(solid: Solid, turn: Floats) -> Walls:
    """Measure how thick a part is.

    The thickness at a place is the shortest run of material through it along the three axes
    of the grid frame: exact for walls along the axes, up to 1.7 times too much for slanted
    ones.
    """
    size = np.ptp(solid.vertices_mm @ turn.T, axis=0)
    brick_mm = max(_FINEST_MM, float(size.prod() / _BRICKS) ** (1 / 3))
    grid = fitted_grid(solid, turn, brick_mm)
    inside = samples_inside(solid, grid)
    widths = [np.repeat(width, SAMPLES) / SAMPLES for width in grid.widths_mm]
    shortest = np.full(inside.shape, np.inf, dtype=np.float32)
    for axis in range(3):
        runs = _runs(np.moveaxis(inside, axis, -1), widths[axis])
        np.minimum(shortest, np.moveaxis(runs, -1, axis), out=shortest)
    shortest[~inside] = np.inf
    x, y, z = (
        lines[0] + np.concatenate([[0.0], np.cumsum(width)])
        for lines, width in zip(grid.lines_mm, widths, strict=True)
    )
    return Walls(turn=turn, lines_mm=(x, y, z), inside=inside, thick_mm=shortest)


def _runs(inside: Bools, widths: Floats) -> NDArray[np.float32]:
    """Return the length of the run of True that each sample lies in, along the last axis."""
    flat = np.pad(inside.reshape(-1, inside.shape[-1]), ((0, 0), (1, 1))).ravel()
    ends = np.concatenate([[0.0, 0.0], np.cumsum(widths), [0.0]])
    turns = np.flatnonzero(flat[1:] != flat[:-1]) + 1
    first, past = turns[::2], turns[1::2]
    stride = len(widths) + 2
    lengths = (ends[past % stride] - ends[first % stride]).astype(np.float32)
    runs = np.zeros(len(flat), dtype=np.float32)
    runs[flat] = np.repeat(lengths, past - first)
    return runs.reshape(-1, stride)[:, 1:-1].reshape(inside.shape)
