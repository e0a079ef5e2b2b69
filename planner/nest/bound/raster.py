"""Shapes and places as shares of grid cells, in whole 256ths that err one way only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.nest.memory import Store
from planner.nest.shape import inner_runs, outer_runs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.nest.shape import Region, Runs

    Floats = NDArray[np.float64]
    Shares = NDArray[np.int64]
    Cell = tuple[float, float]

WHOLE = 256
"""A cell that is covered altogether."""
_SLABS = 8  # per cell: slanted edges lose a share of a slab, which only the weighted part feels
_NOISE = 1e-6

_known: Store[tuple[bytes, Cell, tuple[float, float]], Raster] = Store(32_000_000)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Raster:
    """What a shape surely covers of the cells of a grid that begins at the low corner (0, 0).

    `share` is (rows, columns) in 256ths, rounded down; `size_mm` are width and depth.
    """

    share: Shares
    size_mm: tuple[float, float]


def raster(shape: Region, size_mm: tuple[float, float], cell_mm: Cell) -> Raster:
    """Return what a shape covers at least; it lies within (0, 0) .. `size_mm`."""
    key = (shapely.to_wkb(shape), cell_mm, size_mm)
    found = _known.get(key)
    if found is None:
        columns, rows = (
            max(1, int(np.ceil(length / step - _NOISE)))
            for length, step in zip(size_mm, cell_mm, strict=True)
        )
        runs = inner_runs(shape, cell_mm[1] / _SLABS)
        covered = _summed(runs, rows, columns, cell_mm[0])
        found = Raster(share=np.floor(covered * WHOLE + _NOISE).astype(np.int64), size_mm=size_mm)
        _known.put(key, found, found.share.nbytes + len(key[0]) + 300)
    return found


def most_covered(shape: Region, rows: int, columns: int, cell_mm: Cell) -> Shares:
    """Return the share of each cell that a place has at most, rounded up."""
    runs = outer_runs(shape, cell_mm[1] / _SLABS)
    covered = np.ceil(_summed(runs, rows, columns, cell_mm[0]) * WHOLE - _NOISE)
    return np.minimum(covered, WHOLE).astype(np.int64)


def _summed(runs: Runs, rows: int, columns: int, step_mm: float) -> Floats:
    """Return the share of each cell (rows, columns) that runs of thinner slabs cover."""
    lines = np.arange(columns + 1) * step_mm
    lengths = np.diff(np.clip(lines[None, :], runs.low_mm[:, None], runs.high_mm[:, None]), axis=1)
    total = np.zeros((rows, columns))
    row = runs.row // _SLABS
    kept = (row >= 0) & (row < rows)
    np.add.at(total, row[kept], lengths[kept])
    return total / (_SLABS * step_mm)
