"""A bound from schedules in fractions: Dantzig-Wolfe decomposition by printers.

Every plan by a time T gives each printer a schedule that ends by T and uses each plate once.
So if prices of plates and tolls on starts exist with which all plates are worth more than the
dearest schedules of all printers by T and all tolls together, no plan ends by T (weak
duality). A schedule here may use a plate more often; the prices speak against it. G. B.
Dantzig and P. Wolfe, "Decomposition principle for linear programs", Operations Research 8
(1960) 101-111; prices of any round prove something: A. A. Farley, "A note on bounding a class
of linear programming problems, including cutting stock problems", Operations Research 38
(1990) 922-923 (both from memory).
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.schedule.prove.grid import grid_of
from planner.schedule.prove.master import Master
from planner.schedule.prove.pricing import Pricing

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from planner.schedule.instance import Instance
    from planner.schedule.prove.grid import Grid
    from planner.schedule.starts import Starts

    Floats = NDArray[np.float64]
    Wholes = NDArray[np.int64]

SCALE = 1_000_000.0
"""Prices are rounded to millionths of the dearest plate."""
WORTH_NOTHING = 1e-12
"""Prices below this prove nothing but rounding."""
COARSE, FINE = 600, 10_000
"""Cells of the whole time. The coarse grid finds prices for many plates, the fine one proves."""
MANY = 120
"""Plates from which the coarse grid goes first."""
CALM = 0.8
"""Share of the former prices in the next ones, which swing less so; 0 and 0.5 proved less."""
LP_STEPS = 8
"""Array operations that take as long as the linear programme does per schedule, as measured."""
MOST_PASSES = 4
"""More schedules a round than this and the first take longer than they save rounds."""
NOTHING_LEFT = 1e-7
"""Cells of work uncovered that are none but for rounding; a bound never rests on it."""


def column_bound(
    instance: Instance,
    starts: Starts,
    heads: Mapping[int, int],
    *,
    low_s: int,
    high_s: int,
    steps: int,
) -> int:
    """Return a finish [s] that no plan of the plates in `heads` can beat, from `low_s` on.

    `heads` are times before which the plates cannot start, `low_s` a bound and `high_s` the
    finish of a plan; `steps` the array operations that may be spent, about.
    """
    shortest_s = min(run_s for plate in heads for _, run_s in instance.options[plate])
    rates: dict[int, float] = {}
    for cells in (COARSE, FINE) if len(heads) > MANY else (FINE,):
        unit_s = max(1, min(high_s // cells, shortest_s))
        grid = grid_of(instance, starts, heads, unit_s=unit_s, until_s=high_s)
        prover = Prover(grid, low_s // unit_s - 1)
        prover.prove(rates, steps // 2)
        rates = prover.rates()
        low_s = max(low_s, (prover.proven + 1) * unit_s)
    return min(low_s, high_s)


class Prover:
    """The bound on one grid: `proven` is the last cell by which no plan can end."""

    def __init__(self, grid: Grid, proven: int) -> None:
        self.grid, self.proven = grid, proven
        self.prices = np.zeros(len(grid.classes))
        self.tolls = np.zeros(len(grid.crowds))
        self._lanes = [Pricing(grid, lane) for lane in range(len(grid.lanes))]
        self._counts = np.array([len(members) for members in grid.classes], dtype=np.int64)
        lengths = np.zeros(len(grid.classes))
        for lane in grid.lanes:
            for number, cells, _ in lane.runs:
                lengths[number] = min(lengths[number] or inf, cells)
        self._lengths = lengths
        self._best = lengths
        self._master = Master(grid, lengths)
        machines = sum(lane.machines for lane in grid.lanes)
        self._passes = 1 + max(1, min(MOST_PASSES, machines // (2 * len(grid.lanes))))

    def rates(self) -> dict[int, float]:
        """Return the best price of each plate, per cell of its shortest run.

        Best is what proved most; if nothing was proven, every cell costs the same.
        """
        return {
            plate: float(price) / float(cells)
            for members, price, cells in zip(
                self.grid.classes, self._best, self._lengths, strict=True
            )
            for plate in members
        }

    def prove(self, rates: Mapping[int, float], steps: int) -> None:
        """Raise `proven` by rounds of pricing; at first a cell of run costs its rate, or else 1.

        The target is halfway between what is proven and what fractions of schedules reach.
        """
        at_first = [rates.get(members[0], 1.0) for members in self.grid.classes]
        self.prices = np.array(at_first) * self._lengths
        reached = self.grid.cells
        per_round = sum(lane.steps for lane in self._lanes) * self._passes
        while True:
            target = (self.proven + reached) // 2
            if target <= self.proven:
                return
            steps -= per_round + LP_STEPS * len(self._master.columns)
            if steps < 0:
                return
            self.take_round(target)
            duals = self._master.solve(target)
            if duals.uncovered < NOTHING_LEFT:
                reached = target
                continue
            self.prices = CALM * self.prices + (1 - CALM) * duals.prices
            self.tolls = CALM * self.tolls + (1 - CALM) * duals.crowds

    def take_round(self, until: int) -> None:
        """Prove what the prices prove; take up the dearest schedules by `until`, and others.

        Others: what the printers can still earn with the plates that those do not use.
        """
        classes, crowds = self._whole_prices()
        tolls = self._tolls_by_cell(crowds)
        left = self._counts.copy()
        total = np.zeros(self.grid.cells + 1, dtype=np.int64)
        for number in range(self._passes):
            now = np.where(left > 0, classes, 0)
            for lane in self._lanes:
                earned = lane.earned(now, tolls)
                column = lane.trace(earned, now, tolls, until)
                self._master.add(column)
                for cls, _ in column.runs:
                    left[cls] -= 1
                if number == 0:
                    total += lane.machines * earned
                else:
                    now = np.where(left > 0, classes, 0)
        worth = int((self._counts * classes).sum())
        short = np.flatnonzero(total + self._all_tolls(crowds) < worth)
        if len(short) and short[-1] > self.proven:
            self.proven, self._best = int(short[-1]), self.prices

    def _whole_prices(self) -> tuple[Wholes, Wholes]:
        """Return the prices of classes and crowds in whole numbers, none negative.

        A toll above the worth of all plates together does no more than one of just that, and
        could be too large a number to count with.
        """
        dearest = float(self.prices.max(initial=0.0))
        if dearest < WORTH_NOTHING:
            return np.zeros(len(self.prices), np.int64), np.zeros(len(self.tolls), np.int64)
        scale = SCALE / dearest
        classes = np.floor(self.prices * scale).astype(np.int64)
        worth = int((self._counts * classes).sum())
        return classes, np.minimum(np.ceil(self.tolls * scale), worth).astype(np.int64)

    def _tolls_by_cell(self, crowds: Wholes) -> Wholes:
        """Return per cell what a start there costs."""
        change = np.zeros(self.grid.cells + 2, dtype=np.int64)
        for crowd, price in zip(self.grid.crowds, crowds.tolist(), strict=True):
            if price:
                change[max(0, crowd.first)] += price
                change[min(crowd.last, self.grid.cells) + 1] -= price
        return np.cumsum(change)[:-1]

    def _all_tolls(self, crowds: Wholes) -> Wholes:
        """Return per cell T what hands are worth in all crowds that plans by T can meet."""
        change = np.zeros(self.grid.cells + 1, dtype=np.int64)
        for crowd, price in zip(self.grid.crowds, crowds.tolist(), strict=True):
            if price:
                change[max(0, crowd.first)] += crowd.most * price
        return np.cumsum(change)
