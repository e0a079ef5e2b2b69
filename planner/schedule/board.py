"""The decoder: takes plates one after the other and gives each its earliest end.

A board is filled once, plate by plate, and then read. Plain lists and integers: this is
the inner loop of the search.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from heapq import heapify, heapreplace
from typing import TYPE_CHECKING

from planner.schedule.clock import NEVER, after_presence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.schedule.instance import Instance

ANY = -1
"""No wish for a kind of printer."""

Key = tuple[int, float, float]
"""(weight of what is left out or late, then two guides): see `Board.key`."""


class Board:
    """Printers, people and spools with what has been put on them so far.

    Indexed by plate: `start`, `end` (s, or -1), `machine`, `spool`, `person`. `taken_off`
    maps a gate plate, and in the end the last plate of each printer, to (s, person) of the
    visit at which it is taken off; the others are taken off when the next one starts.
    """

    __slots__ = (
        "booked",
        "end",
        "free",
        "instance",
        "keep_spool",
        "left_mg",
        "machine",
        "mounted",
        "person",
        "presence_ends",
        "presence_starts",
        "spool",
        "spool_free",
        "spool_on",
        "start",
        "taken_off",
        "tried",
        "visit_on",
        "window_last",
    )

    def __init__(self, instance: Instance, *, keep_spool: bool) -> None:
        count = len(instance.options)
        self.instance = instance
        self.keep_spool = keep_spool
        self.start = [-1] * count
        self.end = [-1] * count
        self.machine = [-1] * count
        self.spool = [-1] * count
        self.person = [-1] * count
        self.tried = [False] * count
        self.taken_off: dict[int, tuple[int, int]] = {}
        self.free = [[(0, machine) for machine in kind.machines] for kind in instance.kinds]
        for heap in self.free:
            heapify(heap)
        self.visit_on: dict[int, tuple[int, int]] = {}
        self.mounted: dict[int, int] = {}
        self.left_mg = list(instance.spool_milligrams)
        self.spool_free = [0] * len(self.left_mg)
        self.spool_on = [-1] * len(self.left_mg)
        self.booked: list[list[int]] = [[] for _ in instance.people]
        self.window_last = [[b - instance.hands_on_s for _, b in w] for w in instance.people]
        self.presence_starts = [a for a, _ in instance.presence]
        self.presence_ends = [b for _, b in instance.presence]

    def fill(self, order: Sequence[int], wishes: Sequence[int]) -> None:
        """Place all plates in `order`, each on its wished kind if it can."""
        for plate in order:
            if self.instance.gates[plate]:
                self._place_gates(plate, wishes)
            if not self.tried[plate]:
                self.place(plate, wishes)

    @property
    def finish_s(self) -> int:
        """The last end of a run; -1 without runs."""
        return max(self.end, default=-1)

    def cost(self) -> int:
        """Return the weight of what is left out (twice) and of what is late (once)."""
        instance = self.instance
        deadline_s = NEVER if instance.deadline_s is None else instance.deadline_s
        cost = 0
        for end, weight in zip(self.end, instance.weights, strict=True):
            if end < 0:
                cost += 2 * weight
            elif end > deadline_s:
                cost += weight
        return cost

    def key(self, power: int) -> Key:
        """Return what the search compares: smaller is better.

        The finish alone is flat: most changes do not move the last printer. Power 1 adds the
        sum of all printers' last ends to tell plans of one finish apart; a higher power puts
        a sum of powers first, in which the last printer counts most and all count.
        """
        ends = sum((free_s / 3600) ** power for heap in self.free for free_s, _ in heap)
        if power == 1:
            return self.cost(), self.finish_s, ends
        return self.cost(), ends, self.finish_s

    def place(self, plate: int, wishes: Sequence[int]) -> bool:
        """Give the plate the printer on which it ends first; its gates have been tried."""
        self.tried[plate] = True
        ready_s = self._gates_open(plate)
        if ready_s is None:
            return False
        ready_s = max(ready_s, self._spool_ready(plate))
        options = self.instance.options[plate]
        if wishes[plate] != ANY:
            wished = [option for option in options if option[0] == wishes[plate]]
            if self._put_on_best(plate, wished, ready_s):
                return True
        return self._put_on_best(plate, options, ready_s)

    def _place_gates(self, plate: int, wishes: Sequence[int]) -> None:
        """Place what the plate waits for, deepest first (a stack: chains may be long)."""
        stack = list(self.instance.gates[plate])
        while stack:
            waiting = [gate for gate in self.instance.gates[stack[-1]] if not self.tried[gate]]
            if waiting:
                stack.extend(waiting)
            elif not self.tried[gate := stack.pop()]:
                self.place(gate, wishes)

    def _put_on_best(self, plate: int, options: Sequence[tuple[int, int]], ready_s: int) -> bool:
        best_end, best = self.instance.latest_end_s + 1, None
        for kind, duration_s in options:
            free_s, machine = self.free[kind][0]
            begin = free_s if free_s > ready_s else ready_s  # noqa: FURB136  # inner loop
            if begin + duration_s >= best_end:
                continue
            alone = self.instance.kinds[kind].unattended
            start, person = self.first_visit(begin, duration_s, alone=alone, machine=machine)
            if start >= 0 and start + duration_s < best_end:
                best_end, best = start + duration_s, (kind, machine, person)
        if best is None:
            return False
        kind, machine, person = best
        start = best_end - dict(options)[kind]
        self.start[plate], self.end[plate] = start, best_end
        self.machine[plate], self.person[plate] = machine, person
        if self.visit_on.pop(machine, None) != (start, person):
            insort(self.booked[person], start)
        heapreplace(self.free[kind], (best_end, machine))
        self._feed(plate, machine)
        if self.instance.is_gate[plate]:
            self._take_off(plate, machine, best_end)
        return True

    def _feed(self, plate: int, machine: int) -> None:
        """Choose the spool and write down what it loses."""
        spool = self._choose_spool(plate, machine, self.start[plate])
        self.spool[plate] = spool
        self.left_mg[spool] -= self.instance.milligrams[plate]
        self.spool_free[spool] = self.end[plate]
        self.mounted[machine], self.spool_on[spool] = spool, machine

    def _take_off(self, plate: int, machine: int, end: int) -> None:
        """Book the first visit after the end; a plate that follows may share it."""
        visit = self.first_visit(end, 0, alone=True, machine=machine)
        if visit[0] >= 0:
            insort(self.booked[visit[1]], visit[0])
            self.visit_on[machine] = self.taken_off[plate] = visit

    def take_off_last(self) -> None:
        """Book a visit for the last plate of each printer, if anybody comes; the board is full."""
        last = {self.machine[j]: j for j in sorted(self.instance.plates, key=self.end.__getitem__)}
        for machine, plate in last.items():
            if machine >= 0 and plate not in self.taken_off:
                self._take_off(plate, machine, self.end[plate])

    def _gates_open(self, plate: int) -> int | None:
        """Return when the checks of the gate plates are over; None if they never are."""
        ready_s = 0
        for gate in self.instance.gates[plate]:
            if gate not in self.taken_off:
                return None
            seen_s = self.taken_off[gate][0] + self.instance.hands_on_s
            open_s = after_presence(self.instance.presence, seen_s, self.instance.check_s[plate])
            if open_s is None:
                return None
            ready_s = max(ready_s, open_s)
        return ready_s

    def _spool_ready(self, plate: int) -> int:
        """Return when the first spool with enough on it is free; NEVER if there is none."""
        need_mg, ready_s = self.instance.milligrams[plate], NEVER
        left_mg, free_s = self.left_mg, self.spool_free
        for spool in self.instance.spools_for[plate]:
            if left_mg[spool] >= need_mg and free_s[spool] < ready_s:
                ready_s = free_s[spool]
        return ready_s

    def _choose_spool(self, plate: int, machine: int, start: int) -> int:
        """Return the tightest fit among the free spools, or the one on the printer.

        The tightest fit uses up remnants; `keep_spool` prefers what is mounted, which
        spares changes. The search tries both.
        """
        need_mg, mounted = self.instance.milligrams[plate], self.mounted.get(machine, -1)
        if mounted >= 0 and self.spool_on[mounted] != machine:
            mounted = -1  # it has gone to another printer since
        fits = [
            (self.left_mg[spool], spool != mounted, spool)
            for spool in self.instance.spools_for[plate]
            if self.left_mg[spool] >= need_mg and self.spool_free[spool] <= start
        ]
        if self.keep_spool and any(spool == mounted for _, _, spool in fits):
            return mounted
        return min(fits)[2]

    def first_visit(
        self, begin: int, duration_s: int, *, alone: bool, machine: int
    ) -> tuple[int, int]:
        """Return the first (s, person) from `begin` on at which somebody has time.

        With `alone` false the whole of `duration_s` must pass while anybody is there.
        (-1, -1) if there is no such time.
        """
        shared = self.visit_on.get(machine)
        if shared is not None and begin > shared[0]:
            begin, shared = max(begin, shared[0] + self.instance.hands_on_s), None
        while True:
            start, person = self._first_person(begin)
            if shared is not None and begin <= shared[0]:
                start, person = shared
            if start < 0 or alone:
                return start, person
            i = bisect_right(self.presence_starts, start) - 1
            if start + duration_s <= self.presence_ends[i]:
                return start, person
            if i + 1 == len(self.presence_starts):
                return -1, -1
            begin = self.presence_starts[i + 1]

    def _first_person(self, begin: int) -> tuple[int, int]:
        best, who = -1, -1
        for person in range(len(self.booked)):
            start = self._first_time(person, begin)
            if start == begin:
                return start, person
            if start >= 0 and (best < 0 or start < best):
                best, who = start, person
        return best, who

    def _first_time(self, person: int, begin: int) -> int:
        """Return the first time this person has the hands-on time free, or -1."""
        hands_on_s = self.instance.hands_on_s
        windows, last = self.instance.people[person], self.window_last[person]
        booked = self.booked[person]
        for w in range(bisect_left(last, begin), len(windows)):
            start = max(begin, windows[w][0])
            if hands_on_s:
                i = bisect_left(booked, start - hands_on_s + 1)
                while i < len(booked) and booked[i] < start + hands_on_s:
                    start = booked[i] + hands_on_s
                    i += 1
            if start <= last[w]:
                return start
        return -1
