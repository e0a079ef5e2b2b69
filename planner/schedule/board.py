"""The decoder: takes plates one after the other and gives each its earliest end.

A board is filled once, plate by plate, and then read. Plain lists and integers, and few
calls: this is the inner loop of the search.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from heapq import heapreplace
from typing import TYPE_CHECKING

from planner.schedule.clock import NEVER, after_presence, clear_from
from planner.schedule.pairs import Change, Pair, pair_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.schedule.instance import Instance

Spot = tuple[int, int, int, int]
"""Kind, printer, start, and the person who starts."""

ANY = -1
"""No wish for a kind of printer."""

NO_VISIT = NEVER, -1
"""Nobody has time any more."""

GAPS = 0.02
"""Hours of late runs that a gap of one hour, squared, makes up for: of 0.02 and 0.1 the better."""

Key = tuple[int, float, float]
"""(weight of what is left out or late, then two guides): see `Board.key`."""


class Board:
    """Printers, people and spools with what has been put on them so far.

    Indexed by plate: `start`, `end` (s, or -1), `machine`, `spool`, `person`. From `start`
    to `end` machine and spool are in use; the first `hands_on_s` of that are the person's.
    `taken_off` maps a gate plate, and in the end the last plate of each printer, to
    (s, person) of the visit at which it is taken off; the others are taken off when the next
    one starts. `second` maps a plate that two spools feed to the change between them.
    `changes` counts the spools that are put on. `opens[p]` and
    `closes[p]` are the first and last moments at which person p can still begin a visit.
    """

    __slots__ = (
        "changes",
        "closes",
        "end",
        "free",
        "instance",
        "keep_spool",
        "left_mg",
        "machine",
        "mounted",
        "opens",
        "person",
        "second",
        "spool",
        "spool_free",
        "spool_on",
        "start",
        "taken_off",
        "tried",
        "visit_on",
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
        self.second: dict[int, Change] = {}
        self.free = [[(0, machine) for machine in kind.machines] for kind in instance.kinds]
        self.visit_on: dict[int, tuple[int, int]] = {}
        self.mounted: dict[int, int] = {}
        self.left_mg = list(instance.spool_milligrams)
        self.spool_free = list(instance.spool_ready_s)
        self.spool_on = [-1] * len(self.left_mg)
        self.changes = 0
        self.opens = [list(opens) for opens, _ in instance.hands]
        self.closes = [list(closes) for _, closes in instance.hands]

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
        """Return the weight of what is left out (twice) and of what is late (once).

        To it comes the cost of the sets that are not complete in time.
        """
        late_after_s, ends = self.instance.late_after_s, self.end
        if not ends or (min(ends) >= 0 and max(ends) <= late_after_s):
            return 0
        plates = sum(
            2 * weight if end < 0 else weight
            for end, weight in zip(ends, self.instance.weights, strict=True)
            if end < 0 or end > late_after_s
        )
        if not self.instance.sets:
            return plates
        return plates + sum(
            cost
            for cost, members in self.instance.sets
            if not all(0 <= ends[plate] <= late_after_s for plate in members)
        )

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

    def short_of(self, target_s: int) -> Key:
        """Return how far the plan is from ending by `target_s`; smaller is better.

        Counts the runs that end later, and a little against them the squares of what is free
        before: one large gap takes a plate in, several small ones do not.
        """
        late_s = sum(
            end - start for start, end in zip(self.start, self.end, strict=True) if end > target_s
        )
        gaps = sum(max(0, target_s - free_s) ** 2 for heap in self.free for free_s, _ in heap)
        return self.cost(), late_s / 3600 - GAPS * gaps / 3600**2, self.finish_s

    def place(self, plate: int, wishes: Sequence[int]) -> bool:
        """Give the plate the printer on which it ends first; its gates have been tried."""
        self.tried[plate] = True
        ready_s = self._spool_ready(plate)
        if self.instance.gates[plate]:
            ready_s = max(ready_s, self._gates_open(plate))
        if ready_s == NEVER:
            return self._place_on_two(plate, wishes)
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
        best_end, best = min(self.instance.latest_end_s + 1, NEVER), None
        free, kinds, visit_on = self.free, self.instance.kinds, self.visit_on
        for kind, duration_s in options:
            free_s, machine = free[kind][0]
            begin = free_s if free_s > ready_s else ready_s  # noqa: FURB136  # inner loop
            if begin + duration_s >= best_end:
                continue
            if machine not in visit_on and kinds[kind].any_time:
                start, person = self._first_hands(begin)
            else:
                start, person = self.first_visit(begin, duration_s, kind, machine)
            if start + duration_s < best_end:
                best_end, best = start + duration_s, (kind, machine, start, person)
        if best is None:
            return False
        self._put(plate, best, best_end)
        self._feed(plate, best[1])
        return True

    def _put(self, plate: int, spot: Spot, end: int) -> None:
        """Write down where and when the plate is printed, and who starts it."""
        kind, machine, start, person = spot
        self.start[plate], self.end[plate] = start, end
        self.machine[plate], self.person[plate] = machine, person
        if self.visit_on.pop(machine, None) != (start, person):
            self._book(start, person)
        heapreplace(self.free[kind], (end, machine))
        if self.instance.is_gate[plate]:
            self._take_off(plate, machine, end)

    def _place_on_two(self, plate: int, wishes: Sequence[int]) -> bool:
        """Feed the plate, which no spool can feed alone, from two, if there are such two."""
        ready_s = self._gates_open(plate)
        pair = None if ready_s == NEVER else pair_for(self, plate)
        if pair is None:
            return False
        ready_s = max(ready_s, pair.ready_s)
        options = self.instance.options[plate]
        wished = [option for option in options if option[0] == wishes[plate]]
        return self._put_on_two(plate, wished, ready_s, pair) or self._put_on_two(
            plate, options, ready_s, pair
        )

    def _put_on_two(
        self, plate: int, options: Sequence[tuple[int, int]], ready_s: int, pair: Pair
    ) -> bool:
        best_end, best, best_change = min(self.instance.latest_end_s + 1, NEVER), None, NO_VISIT
        for kind, duration_s in options:
            free_s, machine = self.free[kind][0]
            begin = max(free_s, ready_s)
            whole_s = duration_s + self._pause_s(kind)
            start, person, change = self._first_for_two(begin, duration_s, kind, machine, pair)
            if start + whole_s < best_end:
                best_end, best_change = start + whole_s, change
                best = kind, machine, start, person
        if best is None:
            return False
        if best_change[1] >= 0:
            self._book(*best_change)
        self._put(plate, best, best_end)
        self._feed_two(plate, best[1], pair, best_change)
        return True

    def _pause_s(self, kind: int) -> int:
        """Return for how long a print stands still while its spools are changed."""
        return 0 if self.instance.kinds[kind].changes_over else self.instance.hands_on_s

    def _first_for_two(
        self, begin: int, duration_s: int, kind: int, machine: int, pair: Pair
    ) -> tuple[int, int, tuple[int, int]]:
        """Return the first (s, person) to start, and (s, person, or -1) of the change of spools."""
        hands_on_s, of_kind = self.instance.hands_on_s, self.instance.kinds[kind]
        printing_s = max(0, duration_s - hands_on_s - of_kind.cool_down_s)
        lead_s = hands_on_s + pair.lead_s(printing_s)
        while True:
            start, person = self.first_visit(begin, duration_s + self._pause_s(kind), kind, machine)
            if of_kind.changes_over or start == NEVER:
                return start, person, (start + lead_s, -1)
            change = self._first_hands(start + lead_s)
            if change[0] in {start + lead_s, NEVER}:
                return (start, person, change) if change[0] < NEVER else (*NO_VISIT, NO_VISIT)
            begin = change[0] - lead_s

    def _feed_two(self, plate: int, machine: int, pair: Pair, change: tuple[int, int]) -> None:
        """Write down what the two spools lose, the first of them everything."""
        first, second = pair.first, pair.second
        mounted = self.mounted.get(machine, -1)
        self.changes += 1 + (mounted != first or self.spool_on[first] != machine)
        self.spool[plate] = first
        self.second[plate] = Change(
            spool=second, milligrams=pair.second_mg, at_s=change[0], person=change[1]
        )
        self.left_mg[first] = 0
        self.left_mg[second] -= pair.second_mg
        self.spool_free[first] = self.spool_free[second] = self.end[plate]
        self.spool_on[first] = -1
        self.mounted[machine], self.spool_on[second] = second, machine

    def _feed(self, plate: int, machine: int) -> None:
        """Choose the spool and write down what it loses."""
        mounted = self.mounted.get(machine, -1)
        if mounted >= 0 and self.spool_on[mounted] != machine:
            mounted = -1  # it has gone to another printer since
        spool = self._choose_spool(plate, mounted, self.start[plate])
        self.changes += spool != mounted
        self.spool[plate] = spool
        self.left_mg[spool] -= self.instance.milligrams[plate]
        self.spool_free[spool] = self.end[plate]
        self.mounted[machine], self.spool_on[spool] = spool, machine

    def _take_off(self, plate: int, machine: int, end: int) -> None:
        """Book the first visit after the end; a plate that follows may share it."""
        visit = self._first_hands(end)
        if visit != NO_VISIT:
            self._book(*visit)
            self.visit_on[machine] = self.taken_off[plate] = visit

    def take_off_last(self) -> tuple[int, ...]:
        """Book a visit for the last plate of each printer, first ended first; the board is full.

        Returns the plates that nobody has time for any more. To be asked as often as one likes.
        """
        by_end = sorted(self.instance.plates, key=self.end.__getitem__)
        last = {self.machine[plate]: plate for plate in by_end if self.end[plate] >= 0}
        open_ends = [plate for plate in by_end if last.get(self.machine[plate]) == plate]
        for plate in open_ends:
            if plate not in self.taken_off:
                self._take_off(plate, self.machine[plate], self.end[plate])
        return tuple(plate for plate in open_ends if plate not in self.taken_off)

    def _gates_open(self, plate: int) -> int:
        """Return when the checks of the gate plates are over; NEVER if they never are."""
        ready_s = 0
        for gate in self.instance.gates[plate]:
            if gate not in self.taken_off:
                return NEVER
            seen_s = self.taken_off[gate][0] + self.instance.hands_on_s
            open_s = after_presence(self.instance.presence, seen_s, self.instance.check_s[plate])
            if open_s is None:
                return NEVER
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

    def _choose_spool(self, plate: int, mounted: int, start: int) -> int:
        """Return the tightest fit among the free spools, or the one on the printer.

        The tightest fit uses up remnants; `keep_spool` prefers what is mounted, which
        spares changes. The search tries both.
        """
        need_mg, left_mg, free_s = self.instance.milligrams[plate], self.left_mg, self.spool_free
        best, best_mg = -1, NEVER
        for spool in self.instance.spools_for[plate]:
            spare_mg = left_mg[spool]
            if spare_mg < need_mg or free_s[spool] > start:
                continue
            if spool == mounted and self.keep_spool:
                return spool
            if spare_mg < best_mg or (spare_mg == best_mg and spool == mounted):
                best, best_mg = spool, spare_mg
        return best

    def first_visit(self, begin: int, duration_s: int, kind: int, machine: int) -> tuple[int, int]:
        """Return the first (s, person) from `begin` on at which somebody can start a run.

        A visit that takes off the plate on the machine is shared, or waited for. If the
        machine must not run alone, the whole of `duration_s` passes while anybody is there.
        """
        hands_on_s, presence = self.instance.hands_on_s, self.instance.presence
        of_kind, shared = self.instance.kinds[kind], self.visit_on.get(machine)
        while True:
            if shared is not None and begin > shared[0]:
                begin, shared = max(begin, shared[0] + hands_on_s), None
            visit = shared or self._first_hands(begin)
            if visit == NO_VISIT:
                return visit
            if of_kind.blocked:
                clear_s = clear_from(of_kind.blocked, visit[0], duration_s)
                if clear_s > visit[0]:
                    begin = clear_s
                    continue
            if of_kind.unattended:
                return visit
            i = bisect_right(presence, (visit[0], NEVER)) - 1
            if visit[0] + duration_s <= presence[i][1]:
                return visit
            if i + 1 == len(presence):
                return NO_VISIT
            begin = presence[i + 1][0]

    def _first_hands(self, begin: int) -> tuple[int, int]:
        """Return the first (s, person) from `begin` on at which somebody has the hands-on time."""
        best, who, opens = NEVER, -1, self.opens
        for person, closes in enumerate(self.closes):
            i = bisect_left(closes, begin)
            if i < len(closes):
                first = opens[person][i]
                if first <= begin:
                    return begin, person
                if first < best:
                    best, who = first, person
        return best, who

    def _book(self, start: int, person: int) -> None:
        """Take the hands-on time from `start` on, and what no visit can begin in before it."""
        hands_on_s = self.instance.hands_on_s
        if not hands_on_s:
            return
        opens, closes = self.opens[person], self.closes[person]
        i = bisect_left(closes, start)
        if start + hands_on_s > closes[i]:
            del closes[i]
            if start - hands_on_s >= opens[i]:
                closes.insert(i, start - hands_on_s)
            else:
                del opens[i]
        elif start - hands_on_s >= opens[i]:
            closes.insert(i, start - hands_on_s)
            opens.insert(i + 1, start + hands_on_s)
        else:
            opens[i] = start + hands_on_s
