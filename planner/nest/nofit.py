"""Which offsets between two shapes are forbidden: the no-fit polygon on a grid.

The answer is exact along x (the ends of the runs are real numbers) and errs towards "forbidden"
by less than a slab along y.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.nest.shape import SLABS, SNAP

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.nest.shape import Runs

    Bits = NDArray[np.bool_]


def forbidden(
    fixed: Runs, moving: Runs, *, step_mm: float, low: tuple[int, int], size: tuple[int, int]
) -> Bits:
    """Return a bitmap (size[1] rows, size[0] columns) of offsets that make two shapes overlap.

    The bit in row j, column i belongs to the offset (low[0] + i, low[1] + j) in grid steps of
    the moving shape's frame against the fixed one's.  Offsets outside the window are dropped.
    """
    columns, rows = size
    change = np.zeros(rows * (columns + 1), dtype=np.int32)
    for rest in range(SLABS):
        one, other = fixed.row % SLABS == rest, moving.row % SLABS == rest
        if one.any() and other.any():
            change += _changes(
                _part(fixed, one), _part(moving, other), step_mm=step_mm, low=low, size=size
            )
    return np.cumsum(change.reshape(rows, columns + 1), axis=1, dtype=np.int32)[:, :-1] > 0


def packed(bits: Bits, stride: int) -> int:
    """Write a bitmap (rows, columns) as one integer, row j starting at bit j * stride.

    A row longer than the stride runs on into the next one.

    >>> bin(packed(np.array([[True, False], [True, True]]), 4))
    '0b110001'
    """
    rows, columns = bits.shape
    if columns > stride:
        return packed(bits[:, :stride], stride) | packed(bits[:, stride:], stride) << stride
    padded = np.zeros((rows, stride), dtype=bool)
    padded[:, :columns] = bits
    return int.from_bytes(np.packbits(padded, bitorder="little").tobytes(), "little")


def _changes(
    fixed: tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]],
    moving: tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]],
    *,
    step_mm: float,
    low: tuple[int, int],
    size: tuple[int, int],
) -> NDArray[np.int32]:
    """Return +1 where a forbidden interval of offsets starts in a row and -1 behind its end."""
    columns, rows = size
    row = (fixed[0][:, None] - moving[0][None, :]) // SLABS - low[1]
    first = (fixed[1][:, None] - moving[2][None, :]) / step_mm
    last = (fixed[2][:, None] - moving[1][None, :]) / step_mm
    first = np.clip(np.floor(first + SNAP) + 1 - low[0], 0, columns).astype(np.int64)
    behind = np.clip(np.ceil(last - SNAP) - low[0], 0, columns).astype(np.int64)
    kept = (row >= 0) & (row < rows) & (first < behind)
    line = row[kept] * (columns + 1)
    length = rows * (columns + 1)
    starts = np.bincount(line + first[kept], minlength=length)
    return (starts - np.bincount(line + behind[kept], minlength=length)).astype(np.int32)


def _part(
    runs: Runs, chosen: Bits
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    return runs.row[chosen], runs.low_mm[chosen], runs.high_mm[chosen]
