"""One weekend as it might come: the plan's order kept, failed plates printed again."""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from planner.schedule.board import Board
from planner.schedule.odds.attempts import with_failures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.schedule.instance import Instance
    from planner.schedule.odds.attempts import Drawn


class Outcome(NamedTuple):
    """When all plates were good [s after the start], None if never; why not; which failed."""

    finish_s: int | None
    no_filament: bool
    failed: tuple[int, ...]


class Trial:
    """Lives one weekend through. Plates keep the plan's order and kind of printer.

    A failed plate goes again as soon as somebody has seen it and a printer is free, before
    plates that have not begun. Nothing else is re-planned, so a person who does re-plan may
    do better than the odds say.
    """

    def __init__(
        self, instance: Instance, drawn: Sequence[Drawn], order: Sequence[int], wishes: list[int]
    ) -> None:
        self._instance, self._tries = with_failures(instance, drawn)
        self._board = Board(self._instance, keep_spool=True)
        self._wishes = wishes + [
            wishes[plate] for plate, tries in enumerate(self._tries) for _ in tries[:-1]
        ]
        self._next = {one: other for tries in self._tries for one, other in pairwise(tries)}
        self._queue = [self._tries[plate][0] for plate in order]
        self._again: list[tuple[int, int]] = []
        self._failed = tuple(plate for plate, tries in enumerate(self._tries) if len(tries) > 1)

    def run(self) -> Outcome:
        """Return what became of it."""
        while self._queue or self._again:
            try_ = self._take()
            if try_ is None or not self._board.place(try_, self._wishes):
                return Outcome(None, try_ is not None and self._hungry(try_), self._failed)
            if try_ in self._next:
                seen = self._board.taken_off.get(try_)
                if seen is None:
                    return Outcome(None, no_filament=False, failed=self._failed)
                heappush(self._again, (seen[0] + self._instance.hands_on_s, self._next[try_]))
        last = [tries[-1] for tries in self._tries]
        return Outcome(max(self._board.end[try_] for try_ in last), False, self._failed)  # noqa: FBT003

    def _take(self) -> int | None:
        """Return the next try: a reprint that is due, else the first whose gates are decided."""
        if self._again and (self._again[0][0] <= self._soonest() or not self._queue):
            return heappop(self._again)[1]
        for place, try_ in enumerate(self._queue):
            if all(self._board.tried[gate] for gate in self._instance.gates[try_]):
                return self._queue.pop(place)
        return heappop(self._again)[1] if self._again else None

    def _soonest(self) -> int:
        """Return when the first printer is free."""
        return min(heap[0][0] for heap in self._board.free)

    def _hungry(self, try_: int) -> bool:
        need_mg, left_mg = self._instance.milligrams[try_], self._board.left_mg
        return not any(left_mg[spool] >= need_mg for spool in self._instance.spools_for[try_])
