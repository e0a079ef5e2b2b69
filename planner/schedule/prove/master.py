"""The linear programme over schedules: how far they can cover the plates, in fractions."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.schedule.prove.grid import Grid
    from planner.schedule.prove.pricing import Column

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Duals:
    """What is left uncovered, and the shadow prices of classes and crowds; shares of columns."""

    uncovered: float
    prices: Floats
    crowds: Floats
    shares: Floats


class Master:
    """Schedules found so far, as the sparse matrix of the programme.

    Rows: each class is covered as often as it has plates, or its weight is paid; a lane has so
    many printers; a crowd has so many hands. Crowds that no schedule meets have no row.
    """

    def __init__(self, grid: Grid, weights: Floats) -> None:
        self.columns: list[Column] = []
        self._grid, self._weights = grid, weights
        self._known: set[Column] = set()
        self._entries: list[tuple[int, int, float]] = []
        self._crowd_row: dict[int, int] = {}
        self._crowds_at: dict[int, list[int]] = {}
        for number, crowd in enumerate(grid.crowds):
            for cell in range(max(0, crowd.first), crowd.last + 1):
                self._crowds_at.setdefault(cell, []).append(number)

    def add(self, column: Column) -> bool:
        """Take up a schedule; False if it is known or empty."""
        if column in self._known or not column.runs:
            return False
        place = len(self.columns)
        self._known.add(column)
        self.columns.append(column)
        classes, lanes = len(self._grid.classes), len(self._grid.lanes)
        self._entries.append((classes + column.lane, place, 1.0))
        for number, times in sorted(Counter(number for number, _ in column.runs).items()):
            self._entries.append((number, place, -float(times)))
        met = Counter(crowd for _, cell in column.runs for crowd in self._crowds_at.get(cell, ()))
        for crowd, times in sorted(met.items()):
            row = self._crowd_row.setdefault(crowd, classes + lanes + len(self._crowd_row))
            self._entries.append((row, place, float(times)))
        return True

    def solve(self, until: int) -> Duals:
        """Return the cheapest covering by schedules that end by the cell `until`."""
        from scipy.optimize import linprog  # noqa: PLC0415  # half a second to import
        from scipy.sparse import csc_array  # noqa: PLC0415

        grid, count, classes = self._grid, len(self.columns), len(self._grid.classes)
        short = [(cls, count + cls, -1.0) for cls in range(classes)]
        rows, places, values = zip(*self._entries, *short, strict=True)
        limits = [-float(len(members)) for members in grid.classes]
        limits += [float(lane.machines) for lane in grid.lanes]
        limits += [float(grid.crowds[crowd].most) for crowd in self._crowd_row]
        most = [np.inf if column.end <= until else 0.0 for column in self.columns]
        answer: Any = linprog(  # type: ignore[call-overload]  # its stubs know dense matrices only
            np.append(np.zeros(count), self._weights),
            A_ub=csc_array((values, (rows, places)), shape=(len(limits), count + classes)),
            b_ub=limits,
            bounds=np.column_stack([np.zeros(count + classes), most + [np.inf] * classes]),
            method="highs-ds",
        )
        crowds = np.zeros(len(grid.crowds))
        if answer.status != 0:  # never seen; any prices are valid
            nothing = np.zeros(count)
            return Duals(uncovered=np.inf, prices=self._weights, crowds=crowds, shares=nothing)
        duals = np.maximum(0.0, -np.asarray(answer.ineqlin.marginals, dtype=np.float64))
        crowds[list(self._crowd_row)] = duals[classes + len(grid.lanes) :]
        return Duals(
            uncovered=float(answer.fun),
            prices=duals[:classes],
            crowds=crowds,
            shares=np.asarray(answer.x[:count], dtype=np.float64),
        )
