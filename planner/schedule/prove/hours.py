"""A plan for many plates to begin from: fill the hours of one printer after the other.

Local search over the order of hundreds of plates takes long to make the last starts before a
night; here each printer in turn gets, of the plates that are left, the schedule with the most
work, by dynamic programming. A greedy rule; how many hours all fit in is found by halving.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.schedule.board import ANY, Board
from planner.schedule.bound import heads_and_ends
from planner.schedule.prove.grid import grid_of
from planner.schedule.prove.pricing import Pricing
from planner.schedule.starts import starts_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from planner.schedule.instance import Instance
    from planner.schedule.prove.grid import Grid
    from planner.schedule.starts import Starts

    Choice = list[tuple[int, int]]  # plates in order, each with a kind of printer
    Wholes = NDArray[np.int64]

CELLS = 800
"""Cells of the whole time; a run loses half a cell to rounding on average."""
HALVINGS = 6
"""Of the time between the bound and the plan at hand; our own choice."""
POWERS = (1.0, 1.1)
"""Worth of a run by its length: the second favours long plates, which fit worse at the end."""
SHUT = 1 << 50
"""A toll that nothing earns."""


def filled_hours(
    instance: Instance, plates: Sequence[int], *, low_s: int, high_s: int, steps: int
) -> Choice:
    """Return plates in the order of their starts, with kinds of printers; nothing if none is found.

    `low_s` is a bound, `high_s` the finish of a plan to be bettered, `steps` the array
    operations that may be spent, about.
    """
    starts = starts_of(instance)
    all_heads, _ = heads_and_ends(instance, starts)
    heads = {plate: all_heads[plate] for plate in plates}
    best: Choice = []
    for _ in range(HALVINGS):
        until_s, fits = (low_s + high_s) // 2, False
        for power in POWERS:
            hours = _Hours(instance, starts, heads, until_s)
            steps -= hours.steps
            if steps < 0 or until_s <= low_s:
                return best
            choice = hours.fill(power)
            finish_s = _finish_s(instance, plates, choice)
            if finish_s < high_s:
                best, high_s, fits = choice, min(finish_s, until_s), True
                break
        if not fits:
            low_s = until_s
    return best


def _finish_s(instance: Instance, plates: Sequence[int], choice: Choice) -> int:
    """Return the finish as the decoder makes the choice real; late if a plate has no place."""
    kinds = [ANY] * len(instance.options)
    for plate, kind in choice:
        kinds[plate] = kind
    board = Board(instance, keep_spool=True)
    board.fill([plate for plate, _ in choice], kinds)
    return max(board.end[plate] if board.end[plate] >= 0 else 1 << 60 for plate in plates)


class _Hours:
    """Printers with the hours until `until_s`, on a grid rounded inwards."""

    def __init__(
        self, instance: Instance, starts: Starts, heads: Mapping[int, int], until_s: int
    ) -> None:
        self._instance = instance
        unit_s, self._span = _unit_and_span(instance.hands_on_s, max(1, until_s // CELLS))
        self._grid = grid_of(instance, starts, heads, unit_s=unit_s, until_s=until_s, inwards=True)
        self._lanes = [Pricing(self._grid, lane) for lane in range(len(self._grid.lanes))]
        self._cells = [{cls: cells for cls, cells, _ in lane.runs} for lane in self._grid.lanes]
        self._hands = _hands(self._grid, instance, self._span)
        self._left = [list(members) for members in self._grid.classes]

    @property
    def steps(self) -> int:
        """The array operations that filling takes, about."""
        return sum(lane.machines * lane.steps for lane in self._lanes)

    def fill(self, power: float) -> Choice:
        """Return what was put on printers, in order of start, then what is left, longest first."""
        found: list[tuple[int, int, int]] = []
        longest = [min(cells[cls] for cells in self._cells if cls in cells) for cls in self._all()]
        worth = np.zeros(len(self._left), dtype=np.int64)
        worth[self._all()] = (1000.0 * np.array(longest) ** power).astype(np.int64)
        most = max((lane.machines for lane in self._lanes), default=0)
        for number in range(most):
            for lane, pricing in enumerate(self._lanes):
                if number < pricing.machines:
                    found += self._fill_one(lane, worth)
        found.sort()
        left = [plate for members in self._left for plate in members]
        left.sort(key=lambda plate: -min(s for _, s in self._instance.options[plate]))
        return [(plate, kind) for _, plate, kind in found] + [(plate, ANY) for plate in left]

    def _all(self) -> list[int]:
        """Return the classes that some printer can print in time."""
        return sorted({cls for cells in self._cells for cls in cells})

    def _fill_one(self, lane: int, worth: Wholes) -> list[tuple[int, int, int]]:
        """Return (start cell, plate, kind) for one more printer, and book hands.

        A class that is used more often than it has plates gives way to the best that fits.
        """
        now = np.where([bool(members) for members in self._left], worth, 0)
        tolls = self._tolls()
        pricing, cells = self._lanes[lane], self._cells[lane]
        earned = pricing.earned(now, tolls)
        column = pricing.trace(earned, now, tolls, self._grid.cells)
        found = []
        for wanted, cell in sorted(column.runs, key=lambda run: -cells[run[0]]):
            fitting = [cls for cls in cells if self._left[cls] and cells[cls] <= cells[wanted]]
            if not fitting:
                continue
            cls = wanted if self._left[wanted] else max(fitting, key=lambda c: (cells[c], c))
            self._hands[cell : cell + self._span] -= 1
            found.append((cell, self._left[cls].pop(), self._grid.lanes[lane].kind))
        return found

    def _tolls(self) -> Wholes:
        """Return tolls that shut the cells in which nobody has the hands-on time left."""
        cells = self._grid.cells + 1
        none = np.append(0, np.cumsum(self._hands <= 0))
        busy = none[self._span : self._span + cells] - none[:cells]
        return np.where(busy > 0, SHUT, 0).astype(np.int64)


def _unit_and_span(hands_on_s: int, unit_s: int) -> tuple[int, int]:
    """Return a unit of about that length of which the hands-on time takes a whole number.

    >>> _unit_and_span(480, 130), _unit_and_span(0, 130)
    ((120, 4), (130, 0))
    """
    if not hands_on_s:
        return unit_s, 0
    span = max(1, round(hands_on_s / unit_s))
    return -(-hands_on_s // span), span


def _hands(grid: Grid, instance: Instance, span: int) -> Wholes:
    """Return how many people are there for the whole of each cell."""
    hands = np.zeros(grid.cells + span + 1, dtype=np.int64)
    for own in instance.people:
        for begin, end in own:
            hands[-(-begin // grid.unit_s) : end // grid.unit_s] += 1
    return hands
