"""A board as it fills on the weekend itself: with reprints, and the spools that were planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.schedule.board import Board
from planner.schedule.clock import NEVER
from planner.schedule.pairs import pair_for

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.schedule.instance import Instance


class LivedBoard(Board):
    """A `Board` whose people keep to the planned spools and start a failed plate at once.

    `after_failed` maps a try to the failed one before it, `spools` has the planned spool of
    every try.
    """

    __slots__ = ("_after_failed", "_spools")

    def __init__(
        self, instance: Instance, *, after_failed: Mapping[int, int], spools: Sequence[int]
    ) -> None:
        super().__init__(instance, keep_spool=True)
        self._after_failed = after_failed
        self._spools = spools

    def _gates_open(self, plate: int) -> int:
        """Return when the plate may start: again in the visit that finds its failure."""
        failed = self._after_failed.get(plate)
        if failed is None:
            return super()._gates_open(plate)
        return self.taken_off[failed][0] if failed in self.taken_off else NEVER

    def _choose_spool(self, plate: int, mounted: int, start: int) -> int:
        """Return the planned spool if it is free and has enough, else what a board takes."""
        spool = self._spools[plate]
        enough = self.left_mg[spool] >= self.instance.milligrams[plate]
        if enough and self.spool_free[spool] <= start:
            return spool
        return super()._choose_spool(plate, mounted, start)

    def free_s(self, kind: int) -> int:
        """Return when the first printer of a kind can take the next plate."""
        free_s, machine = self.free[kind][0]
        visit = self.visit_on.get(machine)
        return free_s if visit is None else visit[0]

    def begins_s(self, plate: int, kind: int) -> int:
        """Return when the plate could begin on a kind of printer, or `NEVER`."""
        ready_s, pair = self._spool_ready(plate), None
        if ready_s == NEVER and (pair := pair_for(self, plate)):
            ready_s = pair.ready_s
        if self.instance.gates[plate]:
            ready_s = max(ready_s, self._gates_open(plate))
        if ready_s == NEVER:
            return NEVER
        free_s, machine = self.free[kind][0]
        begin = max(free_s, ready_s)
        duration_s = next(s for own, s in self.instance.options[plate] if own == kind)
        if pair is not None:
            return self._first_for_two(begin, duration_s, kind, machine, pair)[0]
        return self.first_visit(begin, duration_s, kind, machine)[0]

    def is_hungry(self, plate: int) -> bool:
        """Tell whether neither one spool nor two have enough left for the plate."""
        need_mg, left_mg = self.instance.milligrams[plate], self.left_mg
        enough = any(left_mg[spool] >= need_mg for spool in self.instance.spools_for[plate])
        return not enough and pair_for(self, plate) is None

    def stay_ends_s(self, begin: int) -> int:
        """Return when the people leave of whom somebody can start a plate first after `begin`."""
        hands_on_s = self.instance.hands_on_s
        ends = (end for _, end in self.instance.presence if begin + hands_on_s <= end)
        return next(ends, NEVER)
