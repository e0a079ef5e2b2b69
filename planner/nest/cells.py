"""Shapes as grid cells: coarser than runs, but nothing has to be worked out per pair.

Whether a shape may lie somewhere follows from the cells taken on the plate, however many
shapes they belong to.
"""

from __future__ import annotations

from dataclasses import dataclass
from sys import getsizeof
from typing import TYPE_CHECKING

import numpy as np

from planner.nest.nofit import packed
from planner.nest.shape import SLABS, SNAP

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.nofit import Bits, Ints
    from planner.nest.shape import Bands


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle of cells inside a shape, written as squares of powers of two that cover it.

    The taken cells, each widened to 2^`wide` x 2^`high` cells, are shifted by each of `shifts`.
    """

    wide: int
    high: int
    shifts: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """The cells of a shape: all of them as a bitmap (see `Table`), and blocks, largest first."""

    mask: int
    blocks: tuple[Block, ...]

    def size_bytes(self) -> int:
        """Return roughly what it takes up in memory."""
        return getsizeof(self.mask) + 250 * len(self.blocks) + 300


def cells_of(
    bands: Bands, *, step_mm: float, size: tuple[int, int], layout: int, stride: int
) -> Cells:
    """Return the cells that a shape touches; layout 1 has x and y changed over."""
    bits = _bitmap(bands, step_mm, size)
    if layout == 1:
        bits = bits.T
    return Cells(mask=packed(bits, stride), blocks=_blocks(bits, stride))


def _bitmap(bands: Bands, step_mm: float, size: tuple[int, int]) -> Bits:
    """Mark every cell that a band overlaps, by the corners of the bands (a summed-area table)."""
    columns, rows = size
    corners = np.zeros((rows + 1, columns + 1), dtype=np.int32)
    bottom = np.clip(bands.start // SLABS, 0, rows)
    top = np.clip(-(-bands.end // SLABS), 0, rows)
    left = np.clip(np.floor(bands.low_mm / step_mm + SNAP).astype(np.int64), 0, columns)
    right = np.clip(np.ceil(bands.high_mm / step_mm - SNAP).astype(np.int64), 0, columns)
    np.add.at(corners, (bottom, left), 1)
    np.add.at(corners, (top, right), 1)
    np.add.at(corners, (bottom, right), -1)
    np.add.at(corners, (top, left), -1)
    return corners.cumsum(axis=0).cumsum(axis=1)[:-1, :-1] > 0


def _blocks(bits: Bits, stride: int) -> tuple[Block, ...]:
    """Cover the cells with rectangles, largest first: every run, as high as its columns go on."""
    row, left, right = _runs(bits)
    first, behind = _heights(bits, row, left, right)
    table = np.unique(np.column_stack([first, behind, left, right]), axis=0)
    area = (table[:, 1] - table[:, 0]) * (table[:, 3] - table[:, 2])
    ordered = table[np.argsort(-area, kind="stable")].tolist()
    return tuple(_block(sides[:2], sides[2:], stride) for sides in ordered)


def _runs(bits: Bits) -> tuple[Ints, Ints, Ints]:
    """Return row, first column and column behind of every run of marked cells."""
    edges = np.diff(bits.astype(np.int8), axis=1, prepend=0, append=0)
    row, left = np.nonzero(edges == 1)
    _, right = np.nonzero(edges == -1)
    return row, left, right


def _heights(bits: Bits, row: Ints, left: Ints, right: Ints) -> tuple[Ints, Ints]:
    """Return, for every run, the first row and the row behind where its columns are all marked."""
    before = np.zeros((bits.shape[0], bits.shape[1] + 1), dtype=np.int64)
    np.cumsum(bits, axis=1, out=before[:, 1:])
    gap = before[:, right] - before[:, left] < (right - left)  # rows x runs
    rows = np.arange(bits.shape[0])[:, None]
    first = np.where(gap & (rows < row), rows + 1, 0).max(axis=0)
    behind = np.where(gap & (rows > row), rows, bits.shape[0]).min(axis=0)
    return first, behind


def _block(rows: Sequence[int], columns: Sequence[int], stride: int) -> Block:
    high, wide = ((end - start).bit_length() - 1 for start, end in (rows, columns))
    across = sorted({rows[0], rows[1] - (1 << high)})
    along = sorted({columns[0], columns[1] - (1 << wide)})
    return Block(wide, high, tuple(v * stride + u for v in across for u in along))
