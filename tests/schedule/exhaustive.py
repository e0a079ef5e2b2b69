"""The earliest finish of a tiny weekend, by trying every start on a grid of time.

Knows the rules and nothing of the program. Where all times are multiples of the grid, some best
plan starts everything on the grid (push every start earlier until something stops it).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product


@dataclass(frozen=True)
class _Placed:
    task: int
    machine: str
    start: int
    end: int
    spool: int
    person: str


def earliest_finish(weekend, unit_s: int, horizon: int) -> int | None:
    """Return the earliest finish [s] of a plan with all plates, or None if there is none.

    For weekends without gates, and plates that one spool feeds; starts are tried up to
    `horizon` grid steps. Plates are tried in the order of their starts, so each later one only
    has to look at those before it.
    """
    grid = _Grid(weekend, unit_s, horizon)
    grid.extend((), frozenset(range(len(weekend.tasks))))
    return None if grid.best > horizon * 1000 else grid.best * unit_s


def best_value(weekend, unit_s: int, horizon: int) -> float:
    """Return the greatest value of sets that can all be done by the deadline.

    Every choice of sets is tried as a weekend of their plates alone.
    """
    due_s = (weekend.deadline - weekend.start).total_seconds()
    best = 0.0
    for chosen in product([False, True], repeat=len(weekend.sets)):
        names = {name for (name, _), take in zip(weekend.sets, chosen, strict=True) if take}
        value = sum(value for name, value in weekend.sets if name in names)
        tasks = tuple(task for task in weekend.tasks if names.intersection(task.sets))
        if value > best:
            finish_s = earliest_finish(replace(weekend, tasks=tasks), unit_s, horizon)
            if finish_s is not None and finish_s <= due_s:
                best = value
    return best


class _Grid:
    def __init__(self, weekend, unit_s: int, horizon: int) -> None:
        assert not any(task.gate for task in weekend.tasks)
        self.weekend, self.horizon = weekend, horizon
        self.best = horizon * 1000 + 1
        self.hands_on = int(weekend.hands_on_s) // unit_s
        self.alone = {slot.id: slot.unattended for slot in weekend.machines}
        self.there: dict[str, set[int]] = {}
        for window in weekend.attendance:
            begin = int((window.start - weekend.start).total_seconds()) // unit_s
            end = int((window.end - weekend.start).total_seconds()) // unit_s
            self.there.setdefault(window.who, set()).update(range(begin, end))
        self.anybody = set().union(*self.there.values())
        self.blocked: dict[str, set[int]] = {slot.id: set() for slot in weekend.machines}
        for slot in weekend.machines:
            for each in slot.blocked:
                begin = int((each.start - weekend.start).total_seconds()) // unit_s
                end = int((each.end - weekend.start).total_seconds()) // unit_s
                self.blocked[slot.id].update(range(begin, end))
        first = min(self.anybody, default=0)
        self.dry = [
            first + int(level.drying_s) // unit_s if level.drying_s else 0
            for level in weekend.spools
        ]
        self.runs = [
            [(m, (int(s) + int(weekend.hands_on_s)) // unit_s) for m, s in task.seconds]
            for task in weekend.tasks
        ]

    def extend(self, placed: tuple[_Placed, ...], todo: frozenset[int]) -> None:
        """Try every next plate, printer, start, spool and person."""
        if not todo:
            self.best = min(self.best, max((one.end for one in placed), default=0))
        begin = max((one.start for one in placed), default=0)
        for task in sorted(todo):
            for machine, run in self.runs[task]:
                for start in range(begin, min(self.horizon, self.best - run)):
                    run_now = (task, machine, start, start + run)
                    for spool, person in self.free(placed, run_now):
                        self.extend((*placed, _Placed(*run_now, spool, person)), todo - {task})

    def free(self, placed: tuple[_Placed, ...], run: tuple[int, str, int, int]):
        """Return the (spool, person) pairs with which this run breaks no rule."""
        task, machine, start, end = run
        if any(one.machine == machine and one.end > start for one in placed):
            return ()
        if not self.alone[machine] and not self.anybody.issuperset(range(start, end)):
            return ()
        if self.blocked[machine].intersection(range(start, end)):
            return ()
        spools = range(len(self.weekend.spools))
        return product(
            [s for s in spools if self.fits(placed, task, s, start)],
            [who for who in self.there if self.has_time(placed, who, start)],
        )

    def has_time(self, placed: tuple[_Placed, ...], who: str, start: int) -> bool:
        """Without hands-on time the person must be there at that very moment, edges included."""
        if self.hands_on == 0:
            return bool({start, start - 1} & self.there[who])
        busy = any(one.person == who and one.start + self.hands_on > start for one in placed)
        return not busy and self.there[who].issuperset(range(start, start + self.hands_on))

    def fits(self, placed: tuple[_Placed, ...], task: int, spool: int, start: int) -> bool:
        """Right material and colour, not in use, and enough grams left."""
        wanted, level = self.weekend.tasks[task], self.weekend.spools[spool]
        if wanted.material != level.material or wanted.colour not in {None, level.colour}:
            return False
        if start < self.dry[spool]:
            return False
        mine = [one for one in placed if one.spool == spool]
        fed = sum(self.weekend.tasks[one.task].grams for one in mine)
        return fed + wanted.grams <= level.grams and all(one.end <= start for one in mine)
