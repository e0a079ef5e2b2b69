"""One weekend as it might come: the plan's order kept, failed plates printed again."""

from __future__ import annotations

from heapq import heappop, heappush
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from planner.schedule.clock import NEVER
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
    """Lives one weekend through, in the order of time.

    Plates keep the plan's order on their kind of printer and, as long as it can feed them,
    their spool; one that cannot begin before people leave lets the first one pass that can.
    People who are wanted at several printers go first to the one whose plate comes first in
    the plan. A failed plate is seen at the first moment at which somebody has time for it,
    and starts again in that visit, before plates that have not begun. How long a run will
    take is known when it is started. Nothing else is planned anew, so a person who does plan
    anew may do better than the odds say.
    """

    def __init__(self, instance: Instance, drawn: Sequence[Drawn], intent: Intent) -> None:
        self._instance, self._tries = with_failures(instance, drawn)
        plate_of = {try_: plate for plate, tries in enumerate(self._tries) for try_ in tries}
        rows = range(len(plate_of))
        self._next = {one: other for tries in self._tries for one, other in pairwise(tries)}
        self.board = LivedBoard(
            self._instance,
            after_failed={other: one for one, other in self._next.items()},
            spools=[intent.spools[plate_of[row]] for row in rows],
        )
        self._wishes = [intent.kinds[plate_of[row]] for row in rows]
        self._turn = {self._tries[plate][0]: turn for turn, plate in enumerate(intent.order)}
        self._queues: list[list[int]] = [[] for _ in instance.kinds]
        for try_ in self._turn:
            self._queues[self._wishes[try_]].append(try_)
        self._heads: list[tuple[int, int, int]] = []
        self._again: list[tuple[int, int]] = []

    def run(self) -> Outcome:
        """Return what became of it. What cannot be printed any more does not hold up the rest."""
        no_filament = False
        self._look_everywhere()
        while (try_ := self._take()) is not None:
            if not self.board.place(try_, self._wishes):
                no_filament |= self.board.is_hungry(try_)
            if try_ in self._next:
                self._see(try_)
            elif self._instance.is_gate[try_]:
                self._look_everywhere()
        ends = [self.board.end[tries[-1]] for tries in self._tries]
        return Outcome(tuple(end if end >= 0 else None for end in ends), no_filament)

    def _look_everywhere(self) -> None:
        """Ask every kind of printer anew what it begins next: a gate has been decided."""
        self._heads = [(0, -1, kind) for kind, queue in enumerate(self._queues) if queue]

    def _take(self) -> int | None:
        """Return the try that begins next; None when all are placed.

        `_heads` is a heap of moments before which no kind can begin its next plate. As time
        goes on they only become later, so that only the first needs to be brought up to date.
        """
        while self._heads:
            at, turn, kind = heappop(self._heads)
            begin, try_ = self._candidate(kind)
            if try_ < 0:
                continue  # waits for a gate: all are asked again when that is decided
            if (begin, self._turn[try_]) > (at, turn) and self._heads:
                heappush(self._heads, (begin, self._turn[try_], kind))
                if self._heads[0] < (begin, self._turn[try_], kind):
                    continue
                heappop(self._heads)
            if self._again and self._again[0][0] <= begin:
                heappush(self._heads, (begin, self._turn[try_], kind))
                break
            self._queues[kind].remove(try_)
            if self._queues[kind]:
                heappush(self._heads, (begin, self._turn[try_], kind))
            return try_
        return heappop(self._again)[1] if self._again else None

    def _candidate(self, kind: int) -> tuple[int, int]:
        """Return (s, try) of what a kind of printer begins next; the try is -1 if all wait.

        It is the first of the queue whose gates are decided, or the first that can begin
        before people leave if that one cannot.
        """
        board, gates = self.board, self._instance.gates
        leave_s = board.stay_ends_s(board.free_s(kind))
        first = (NEVER, -1)
        for try_ in self._queues[kind]:
            if all(board.tried[gate] for gate in gates[try_]):
                begin = board.begins_s(try_, kind)
                if begin < leave_s:
                    return begin, try_
                if first[1] < 0:
                    first = begin, try_
        return first

    def _see(self, failed: int) -> None:
        """Put the next try among those that are due, or strike it if nobody ever sees why."""
        seen = self.board.taken_off.get(failed)
        after = self._next[failed]
        if seen is not None:
            heappush(self._again, (seen[0], after))
            return
        while after in self._next:
            after = self._next[after]
        self.board.tried[after] = True
        self._look_everywhere()
