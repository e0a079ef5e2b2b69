"""Plates for very many kinds: they keep which cells are taken, not what each shape forbids."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.nest import sequence
from planner.nest.plate import Plate, end_of

if TYPE_CHECKING:
    from planner.nest.cells import Block, Cells
    from planner.nest.plate import Spot
    from planner.nest.table import Table

CHUNK = 6
"""After so many blocks of a shape the positions left are looked at one by one, so many."""


class RoughPlate(Plate):
    """A plate that answers from the cells taken; positions and layouts are as in `Plate`."""

    __slots__ = ("_taken", "_widened")

    def __init__(self, table: Table, bed: int, spots: tuple[Spot, ...] = ()) -> None:
        super().__init__(table, bed, spots)
        self._taken: int | None = None
        self._widened: dict[tuple[int, int], int] = {}

    def use_layout(self, layout: int) -> None:
        """Choose along which axis positions are counted first; 0 is x, 1 is y."""
        if layout != self.layout:
            self._taken = None
            self._widened.clear()
        super().use_layout(layout)

    def free(self, shape: int) -> int:
        """Return all positions at which a shape may lie."""
        cells = self.table.cells(shape, self.layout)
        return self._left(shape) & ~self._swept(cells.blocks)

    def first(self, shape: int, *, far: bool) -> int | None:
        """Return the first free position of a shape, the last if `far`, or None.

        Positions are ruled out by one block of the shape after another; what is left over may
        still be taken and is kept for the next time.
        """
        cells, table = self.table.cells(shape, self.layout), self.table
        left, found = self._left(shape), None
        table.work += 5
        if not self.spots:
            return end_of(left, far=far) if left else None
        for start in range(0, len(cells.blocks), CHUNK):
            if not left:
                break
            left ^= left & self._swept(cells.blocks[start : start + CHUNK])
            left, found = self._tried(left, cells, far=far)
            if found is not None:
                break
        self._free[shape] = left
        return found

    def place(self, spot: Spot) -> None:
        """Lay a copy; the caller has asked `first` and `allows`."""
        super().place(spot)
        if self._taken is not None:
            self._taken |= self._mask(spot)
        self._widened.clear()

    def _left(self, shape: int) -> int:
        """Return positions that are not yet ruled out."""
        left = self._free.get(shape)
        if left is None:
            left = self.table.inner(self.bed, shape, self.layout)
        if self.table.beds[self.bed].head is not None:
            fresh = self.spots[self._seen.get(shape, 0) :]
            left &= ~sequence.blocked(self.table, self.bed, fresh, shape, self.layout)
            self._free[shape], self._seen[shape] = left, len(self.spots)
        return left

    def _tried(self, left: int, cells: Cells, *, far: bool) -> tuple[int, int | None]:
        """Look at a few positions exactly: return those that are left, and a free one."""
        taken = self._widest(0, 0)
        for _ in range(CHUNK):
            if not left:
                break
            bit = end_of(left, far=far)
            if not (taken >> bit) & cells.mask:
                return left, bit
            left ^= 1 << bit
        return left, None

    def _swept(self, blocks: tuple[Block, ...]) -> int:
        """Return the positions at which any of the blocks would meet a taken cell."""
        self.table.work += 3 * len(blocks)
        swept = 0
        for block in blocks:
            widened = self._widest(block.wide, block.high)
            for shift in block.shifts:
                swept |= widened >> shift
        return swept

    def _widest(self, wide: int, high: int) -> int:
        """Return the places whose square of 2^wide x 2^high cells meets a taken cell."""
        found = self._widened.get((wide, high))
        if found is None:
            if high:
                shorter = self._widest(wide, high - 1)
                found = shorter | shorter >> (self.table.stride(self.layout) << high - 1)
            elif wide:
                narrower = self._widest(wide - 1, 0)
                found = narrower | narrower >> (1 << wide - 1)
            else:
                found = self._all_taken()
            self._widened[wide, high] = found
        return found

    def _all_taken(self) -> int:
        if self._taken is None:
            self._taken = 0
            for spot in self.spots:
                self._taken |= self._mask(spot)
        return self._taken

    def _mask(self, spot: Spot) -> int:
        u, v = (spot.x, spot.y) if self.layout == 0 else (spot.y, spot.x)
        shift = v * self.table.stride(self.layout) + u
        return self.table.cells(spot.option.shape, self.layout).mask << shift


def new_plate(table: Table, bed: int, spots: tuple[Spot, ...] = ()) -> Plate:
    """Return a plate of the kind that suits the number of shapes."""
    return (RoughPlate if table.rough else Plate)(table, bed, spots)
