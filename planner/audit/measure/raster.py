"""All layers on one grid, layer by layer: which cells hold plastic, and how much."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.audit.measure.harvest import Lines

    Floats = NDArray[np.floating[Any]]
    Ints = NDArray[np.int64]

MOST_CELLS = 4_000_000
"""Cells of one layer: 0.45 mm cells on a bed of 900 mm."""
WIDEST_MM = 600.0
"""Wider than this a plate holds stray lines, a fault of their own: our choice."""
FARTHEST_MM = 1000.0
RIM = 8
"""Free cells around everything, so that a look past an edge sees nothing there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Square cells from a corner on; shape is (rows along y, columns along x)."""

    left_mm: float
    front_mm: float
    cell_mm: float
    shape: tuple[int, int]

    def cells(self, x: Floats, y: Floats) -> Ints:
        """Flat index of the cell of each point; points outside go to the border."""
        column = ((x - self.left_mm) / self.cell_mm).astype(np.int64)
        row = ((y - self.front_mm) / self.cell_mm).astype(np.int64)
        np.clip(column, 0, self.shape[1] - 1, out=column)
        np.clip(row, 0, self.shape[0] - 1, out=row)
        return row * self.shape[1] + column

    def coarser(self, cell_mm: float) -> Grid:
        """Return a grid over the same place with other cells."""
        rows, columns = (int(n * self.cell_mm / cell_mm) + 2 for n in self.shape)
        return Grid(
            left_mm=self.left_mm, front_mm=self.front_mm, cell_mm=cell_mm, shape=(rows, columns)
        )


def grid_over(lines: Lines, cell_mm: float) -> Grid:
    """Return the grid that holds all lines with a free rim; coarser for huge plates."""
    low, high = _within(lines.x0, lines.x1), _within(lines.y0, lines.y1)
    wide, deep = low[1] - low[0], high[1] - high[0]
    cell = max(cell_mm, float(np.sqrt(wide * deep / MOST_CELLS)))
    return Grid(
        left_mm=low[0] - RIM * cell,
        front_mm=high[0] - RIM * cell,
        cell_mm=cell,
        shape=(int(deep / cell) + 2 * RIM + 1, int(wide / cell) + 2 * RIM + 1),
    )


def _within(first: Floats, second: Floats) -> tuple[float, float]:
    """Least and greatest coordinate; on absurdly wide plates a thousandth is left out."""
    low, high = float(min(first.min(), second.min())), float(max(first.max(), second.max()))
    if high - low <= WIDEST_MM:
        return low, high
    low, high = (float(end) for end in np.quantile(second, (0.001, 0.999)))
    middle = (low + high) / 2
    half = min((high - low) / 2 + 20.0, FARTHEST_MM / 2)
    return middle - half, middle + half


def points_along(lines: Lines, step_mm: float) -> tuple[Floats, Floats, Ints, Floats]:
    """Points about a step apart on all lines: x, y, the line's row, and its share there."""
    length = np.minimum(lines.length_mm, 4 * FARTHEST_MM)
    counts = np.maximum(np.ceil(length / step_mm), 1).astype(np.int64)
    index = np.repeat(np.arange(len(counts)), counts)
    within = np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)
    many = counts[index].astype(np.float32)
    share = (within + 0.5).astype(np.float32) / many
    x = lines.x0[index] + share * (lines.x1[index] - lines.x0[index])
    y = lines.y0[index] + share * (lines.y1[index] - lines.y0[index])
    return x, y, index.astype(np.int64), 1.0 / many
