"""One weekend as it might come: the plan's order kept, failed plates printed again."""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from planner.schedule.board import ANY
from planner.schedule.odds.attempts import with_failures
from planner.schedule.odds.crew import LivedBoard

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.schedule.instance import Instance
    from planner.schedule.odds.attempts import Drawn


class Intent(NamedTuple):
    """What the plan says of each plate: the order of starts, kind of printer, spool."""

    order: tuple[int, ...]
    kinds: tuple[int, ...]
    spools: tuple[int, ...]


class Outcome(NamedTuple):
    """When each plate was good [s after the start], None if never; whether for want of filament."""

    ends_s: tuple[int | None, ...]
    no_filament: bool


class Trial:
    """Lives one weekend through.

    Plates keep the plan's order, kind of printer and, as long as it can feed them, spool; one
    that cannot begin before people leave lets the first one pass that can. A
    failed plate is seen at the first moment at which somebody has time for it, and starts
    again in that visit, before plates that have not begun, on the printer on which it ends
    first. How long a run will take is known when it is started. Nothing else is planned
    anew, so a person who does plan anew may do better than the odds say.
    """

    def __init__(self, instance: Instance, drawn: Sequence[Drawn], intent: Intent) -> None:
        self._instance, self._tries = with_failures(instance, drawn)
        plate_of = {try_: plate for plate, tries in enumerate(self._tries) for try_ in tries}
        firsts = {tries[0] for tries in self._tries}
        rows = range(len(plate_of))
        self._next = {one: other for tries in self._tries for one, other in pairwise(tries)}
        self._board = LivedBoard(
            self._instance,
            after_failed={other: one for one, other in self._next.items()},
            spools=[intent.spools[plate_of[row]] for row in rows],
        )
        self._wishes = [intent.kinds[plate_of[row]] if row in firsts else ANY for row in rows]
        self._queue = [self._tries[plate][0] for plate in intent.order]
        self._again: list[tuple[int, int]] = []

    def run(self) -> Outcome:
        """Return what became of it. What cannot be printed any more does not hold up the rest."""
        no_filament = False
        while self._queue or self._again:
            try_ = self._take()
            if not self._board.place(try_, self._wishes):
                no_filament |= self._hungry(try_)
            if try_ in self._next:
                self._see(try_)
        ends = [self._board.end[tries[-1]] for tries in self._tries]
        return Outcome(tuple(end if end >= 0 else None for end in ends), no_filament)

    def _see(self, failed: int) -> None:
        """Put the next try among those that are due, or strike it if nobody ever sees why."""
        seen = self._board.taken_off.get(failed)
        after = self._next[failed]
        if seen is not None:
            heappush(self._again, (seen[0], after))
            return
        while after in self._next:
            self._board.tried[after] = True
            after = self._next[after]
        self._board.tried[after] = True

    def _take(self) -> int:
        """Return the next try: a reprint that is due, else the first whose gates are decided."""
        gates, tried = self._instance.gates, self._board.tried
        for place, try_ in enumerate(self._queue):
            if all(tried[gate] for gate in gates[try_]):
                free_s = self._board.free_s(self._wishes[try_])
                if self._again and self._again[0][0] <= free_s:
                    break
                return self._queue.pop(self._before_all_leave(place, free_s))
        return heappop(self._again)[1]

    def _before_all_leave(self, place: int, free_s: int) -> int:
        """Return the place in the queue of the first that its printer can begin in this stay.

        That is `place` itself, unless its plate would have to wait until people come again.
        """
        board, kind = self._board, self._wishes[self._queue[place]]
        leave_s = board.stay_ends_s(free_s)
        for other in range(place, len(self._queue)):
            try_ = self._queue[other]
            decided = all(board.tried[gate] for gate in self._instance.gates[try_])
            if self._wishes[try_] == kind and decided and board.begins_s(try_, kind) < leave_s:
                return other
        return place

    def _hungry(self, try_: int) -> bool:
        need_mg, left_mg = self._instance.milligrams[try_], self._board.left_mg
        return not any(left_mg[spool] >= need_mg for spool in self._instance.spools_for[try_])
