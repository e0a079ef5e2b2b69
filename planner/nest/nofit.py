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

    from planner.nest.shape import Bands

    Bits = NDArray[np.bool_]
    Ints = NDArray[np.int64]
    Numbers = NDArray[np.int64] | NDArray[np.float64]


def forbidden(
    fixed: Bands, moving: Bands, *, step_mm: float, low: tuple[int, int], size: tuple[int, int]
) -> Bits:
    """Return a bitmap (size[1] rows, size[0] columns) of offsets that make two shapes overlap.

    The bit in row j, column i belongs to the offset (low[0] + i, low[1] + j) in grid steps of
    the moving shape's frame against the fixed one's.  Offsets outside the window are dropped.

    Two bands (equal runs in consecutive slabs) forbid a rectangle of offsets; all rectangles
    are summed up at once from their corners (a summed-area table).
    """
    columns, rows = size
    first_row, behind_row = _offsets(
        fixed.start[:, None] - moving.end[None, :],
        fixed.end[:, None] - moving.start[None, :],
        SLABS,
    )
    first, behind = _offsets(
        fixed.low_mm[:, None] - moving.high_mm[None, :],
        fixed.high_mm[:, None] - moving.low_mm[None, :],
        step_mm,
    )
    first_row = np.clip(first_row - low[1], 0, rows)
    behind_row = np.clip(behind_row - low[1], 0, rows)
    first, behind = np.clip(first - low[0], 0, columns), np.clip(behind - low[0], 0, columns)
    kept = (first_row < behind_row) & (first < behind)
    top, bottom = first_row[kept] * (columns + 1), behind_row[kept] * (columns + 1)
    left, right = first[kept], behind[kept]
    length = (rows + 1) * (columns + 1)
    plus = np.bincount(np.concatenate([top + left, bottom + right]), minlength=length)
    minus = np.bincount(np.concatenate([top + right, bottom + left]), minlength=length)
    corners = (plus - minus).astype(np.int32).reshape(rows + 1, columns + 1)
    summed = np.cumsum(np.cumsum(corners, axis=0, dtype=np.int32), axis=1, dtype=np.int32)
    return summed[:-1, :-1] > 0


def packed(bits: Bits, stride: int) -> int:
    """Write a bitmap (rows, columns) as one integer, row j starting at bit j * stride.

    A row longer than the stride runs on into the next fixed.

    >>> bin(packed(np.array([[True, False], [True, True]]), 4))
    '0b110001'
    """
    rows, columns = bits.shape
    if columns > stride:
        return packed(bits[:, :stride], stride) | packed(bits[:, stride:], stride) << stride
    padded = np.zeros((rows, stride), dtype=bool)
    padded[:, :columns] = bits
    return int.from_bytes(np.packbits(padded, bitorder="little").tobytes(), "little")


def _offsets(low: Numbers, high: Numbers, unit: float) -> tuple[Ints, Ints]:
    """Return the first whole multiple of the unit above `low`, and the first not below `high`."""
    first = np.floor(low / unit + SNAP).astype(np.int64) + 1
    return first, np.ceil(high / unit - SNAP).astype(np.int64)
