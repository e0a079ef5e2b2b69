"""The dearest schedule of one printer, for given prices of plates and tolls on starts.

Dynamic programming over time: what a printer free in cell t can have earned. All numbers are
whole, so that a bound made of them is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.schedule.prove.grid import Doors, Grid

    Wholes = NDArray[np.int64]

NOTHING = np.int64(-(1 << 60))


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A schedule of one printer: (class, start cell) in order, and the cell of its end."""

    lane: int
    end: int
    runs: tuple[tuple[int, int], ...]


class Pricing:
    """One lane of a grid, made ready to be priced often."""

    def __init__(self, grid: Grid, lane: int) -> None:
        self._grid, self._number, self._lane = grid, lane, grid.lanes[lane]
        self._shortest = self._lane.shortest
        groups: dict[Doors, list[tuple[int, int]]] = {}
        for number, cells, doors in self._lane.runs:
            groups.setdefault(doors, []).append((number, cells))
        self._groups = [(_mask(doors, grid.cells), runs) for doors, runs in groups.items()]
        self._length = {number: cells for number, cells, _ in self._lane.runs}

    @property
    def machines(self) -> int:
        """How many printers share these schedules."""
        return self._lane.machines

    @property
    def steps(self) -> int:
        """The array operations that one pricing takes, about: runs of one length are one."""
        lengths = sum(len({cells for _, cells in runs}) for _, runs in self._groups)
        return lengths * (self._grid.cells // self._shortest + 1)

    def earned(self, prices: Wholes, tolls: Wholes) -> Wholes:
        """Return the most that a printer can have earned by each cell, for starts with tolls.

        A run that begins in a cell ends `_shortest` cells later at the soonest, so as many
        cells at a time are dealt with as one array.
        """
        cells, span = self._grid.cells, self._shortest
        earned = np.full(cells + 1, NOTHING)
        earned[0] = 0
        offers = [(mask, _best_offers(runs, prices)) for mask, runs in self._groups]
        for begin in range(0, cells + 1, span):
            end = min(begin + span, cells + 1)
            block = earned[begin:end]
            if begin:
                block[0] = max(block[0], earned[begin - 1])
            np.maximum.accumulate(block, out=block)
            for mask, runs in offers:
                open_ = mask[begin:end]
                if not open_.any():
                    continue
                start = np.where(open_, block - tolls[begin:end], NOTHING)
                for length, price in runs:
                    target = earned[begin + length : end + length]
                    np.maximum(target, start[: len(target)] + price, out=target)
        return earned

    def trace(self, earned: Wholes, prices: Wholes, tolls: Wholes, until: int) -> Column:
        """Return a schedule that earns `earned[until]` by the cell `until`."""
        cell, runs = until, []
        while cell > 0:
            if earned[cell] == earned[cell - 1]:
                cell -= 1
                continue
            number = self._last_run(earned, prices, tolls, cell)
            cell -= self._length[number]
            runs.append((number, cell))
        runs.reverse()
        end = runs[-1][1] + self._length[runs[-1][0]] if runs else 0
        return Column(lane=self._number, end=end, runs=tuple(runs))

    def _last_run(self, earned: Wholes, prices: Wholes, tolls: Wholes, cell: int) -> int:
        for mask, runs in self._groups:
            for number, length in runs:
                start = cell - length
                if (
                    start >= 0
                    and mask[start]
                    and earned[start] - tolls[start] + prices[number] == earned[cell]
                ):
                    return number
        raise AssertionError(cell)


def _mask(doors: Doors, cells: int) -> NDArray[np.bool_]:
    mask = np.zeros(cells + 1, dtype=bool)
    for first, last in doors:
        mask[first : last + 1] = True
    return mask


def _best_offers(runs: list[tuple[int, int]], prices: Wholes) -> list[tuple[int, np.int64]]:
    """Return (cells, price) without runs that are no shorter than a dearer one."""
    offers: list[tuple[int, np.int64]] = []
    dearest = np.int64(0)
    for length, price in sorted((length, -prices[number]) for number, length in runs):
        if -price > dearest:
            dearest = -price
            offers.append((length, dearest))
    return offers
