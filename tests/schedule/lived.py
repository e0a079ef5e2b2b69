"""A weekend lived by a plain event loop: a second writing of the odds, no code shared.

Written from the policy as it is described to users, on the weekend and the plan as people
get them. Plates keep the plan's order on their kind of printer (printers that are alike share
a queue) and the plan's spool while it can feed them, else the one on the printer, else the one
with the least that is enough. A failed plate is seen at the first moment at which somebody has
time, and starts again in that visit if its printer may run then, else on the first alike that
may. First articles are taken off as soon as somebody can; what waits for them waits until
somebody has been there for the check. A watched printer starts only what ends while somebody
is there. Hours: one leaning per kind of printer, a triangle over its plates' ranges. People who
are wanted at several printers go first to the one whose plate comes first in the plan. Failures:
a chance in the first layer, and a constant rate per hour after that.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, inf
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np

FIRST_LAYER_S = 600.0


@dataclass
class Printer:
    """A printer with what is on it: `ends` is when that is done or has failed."""

    name: str
    kind: int
    unattended: bool
    plate: str | None = None
    ends: float = 0.0
    expected: float = 0.0
    failed: bool = False
    seen: bool = True
    spool: str | None = None


@dataclass
class Life:
    """One weekend; `finish` is when the last plate was good, inf if one never was."""

    weekend: object
    plan: object
    ranges_s: dict
    first_layer: float
    per_hour: float
    random: np.random.Generator
    good: dict = field(default_factory=dict)
    checked: dict = field(default_factory=dict)

    def __post_init__(self):
        begin = self.weekend.start
        self.tasks = {task.id: task for task in self.weekend.tasks}
        self.hands_on = ceil(self.weekend.hands_on_s)
        self.windows = [
            (w.who, (w.start - begin).total_seconds(), (w.end - begin).total_seconds())
            for w in self.weekend.attendance
        ]
        self.busy = {who: 0.0 for who, _, _ in self.windows}
        self.presence = self._union()
        alike = []
        self.printers = []
        for slot in self.weekend.machines:
            look = (
                slot.unattended,
                [dict(task.seconds).get(slot.id) for task in self.weekend.tasks],
            )
            if look not in alike:
                alike.append(look)
            self.printers.append(Printer(slot.id, alike.index(look), slot.unattended))
        kind_of = {printer.name: printer.kind for printer in self.printers}
        runs = sorted(self.plan.runs, key=lambda run: run.start)
        self.order = [run.plate for run in runs]
        self.spool_of = {run.plate: run.spool for run in runs}
        self.queues = {kind: [] for kind in range(len(alike))}
        for run in runs:
            self.queues[kind_of[run.machine]].append(run.plate)
        self.again = []
        self.leaning = [self.random.triangular(-1, 0, 1) for _ in alike]
        self.left = {spool.id: spool.grams for spool in self.weekend.spools}
        self.spool_free = dict.fromkeys(self.left, 0.0)
        self.gates = {gate for task in self.weekend.tasks for gate in task.gate}
        self.due = inf
        if self.weekend.deadline is not None:
            due = (self.weekend.deadline - begin).total_seconds()
            if max(end for _, _, end in self.windows) <= due:
                self.due = due

    def _union(self):
        out = []
        for a, b in sorted((a, b) for _, a, b in self.windows):
            if out and a <= out[-1][1]:
                out[-1][1] = max(out[-1][1], b)
            else:
                out.append([a, b])
        return out

    def finish(self):
        """Live it through and return the last end of a plate that became good."""
        now = 0.0
        while now < inf:
            while self._act(now):
                pass
            now = self._next(now)
        return max(self.good.values()) if len(self.good) == len(self.spool_of) else inf

    def _next(self, now):
        """Return the next moment at which anything may have changed."""
        moments = [printer.ends for printer in self.printers]
        moments += [a for _, a, _ in self.windows]
        moments += [*self.busy.values(), *self.spool_free.values()]
        moments += [self._gates_end(plate) for queue in self.queues.values() for plate in queue]
        return min((moment for moment in moments if moment > now), default=inf)

    def _person(self, now):
        for who, a, b in self.windows:
            if a <= now and now + self.hands_on <= b and self.busy[who] <= now:
                return who
        return None

    def _act(self, now):
        """Do one thing, if there is anything to do and somebody to do it."""
        who = self._person(now)
        if who is None:
            return False
        for printer in self.printers:
            if printer.failed and not printer.seen and printer.ends <= now:
                self._see_failure(printer, who, now)
                return True
        free = [printer for printer in self.printers if printer.ends <= now]
        for printer in sorted(free, key=self._turn):
            if self._fill(printer, who, now):
                return True
        for printer in self.printers:
            if printer.plate in self.gates and not printer.seen and printer.ends <= now:
                self.busy[who] = now + self.hands_on
                self._take_off(printer, now)
                return True
        return False

    def _turn(self, printer):
        """Return the place in the plan of the plate that waits for this printer."""
        queue = self.queues[printer.kind]
        return self.order.index(queue[0]) if queue else len(self.order)

    def _fill(self, printer, who, now):
        """Start a plate on a free printer: one that failed, else the next of the queue."""
        for plate, kind in self.again:
            if kind == printer.kind and self._start(printer, plate, who, now):
                self.again.remove((plate, kind))
                return True
        queue = self.queues[printer.kind]
        plate = next((p for p in queue if self._can_this_stay(printer, p, now)), None)
        if plate and self._gates_open(plate, now) and self._start(printer, plate, who, now):
            queue.remove(plate)
            return True
        return False

    def _can_this_stay(self, printer, plate, now):
        """Tell whether a plate can begin before the people who are there leave."""
        leave = next(b for a, b in self.presence if a <= now < b)
        begin = max(now, self._gates_end(plate))
        spools = [max(begin, self.spool_free[level.id]) for level in self._spools_for(plate)]
        begin = min(spools, default=inf)
        lasts = self._lasts(printer, plate)
        if lasts is None or begin + self.hands_on > leave:
            return False
        return printer.unattended or begin + self.hands_on + lasts <= leave

    def _see_failure(self, printer, who, now):
        plate = printer.plate
        self._take_off(printer, now)
        if not self._start(printer, plate, who, now):
            self.again.append((plate, printer.kind))
            self.busy[who] = now + self.hands_on

    def _take_off(self, printer, now):
        """Take the plate off; if it is a good first article, its check begins."""
        if printer.plate in self.gates and not printer.failed and not printer.seen:
            self.checked[printer.plate] = now + self.hands_on
        printer.seen, printer.plate, printer.failed = True, None, False

    def _gates_open(self, plate, now):
        return self._gates_end(plate) <= now

    def _gates_end(self, plate):
        """Return when the checks that a plate waits for are over, as far as is known."""
        task, over = self.tasks[plate], 0.0
        for gate in task.gate:
            taken = self.checked.get(gate, self._foreseen(gate))
            over = max(over, self._after_check(taken, task.check_s))
        return over

    def _foreseen(self, gate):
        """Return when a first article that is being printed will be off its printer."""
        for printer in self.printers:
            if printer.plate == gate:
                a = next(
                    (a for a, b in self.presence if printer.expected + self.hands_on <= b), inf
                )
                return max(a, printer.expected) + self.hands_on
        return inf

    def _after_check(self, taken, wanted):
        for a, b in self.presence:
            usable = b - max(a, taken)
            if usable >= wanted:
                return max(a, taken) + wanted
            wanted -= max(0.0, usable)
        return inf

    def _start(self, printer, plate, who, now):
        """Start a plate if it can be printed here and now; nobody knows yet that it will fail."""
        lasts = self._lasts(printer, plate)
        if lasts is None:
            return False
        end = now + self.hands_on + lasts
        there = any(a <= now and end <= b for a, b in self.presence)
        spool = self._spool(printer, plate, now)
        if end > self.due or not (printer.unattended or there) or spool is None:
            return False
        self._take_off(printer, now)
        runs = self._runs(lasts)
        self.left[spool] -= self.tasks[plate].grams * runs / lasts
        printer.plate, printer.failed, printer.seen = plate, runs < lasts, False
        printer.ends = self.spool_free[spool] = now + self.hands_on + runs
        printer.expected = end
        printer.spool, self.busy[who] = spool, now + self.hands_on
        if not printer.failed:
            self.good[plate] = end
        return True

    def _lasts(self, printer, plate):
        """Return how long the plate takes this time on a printer, None if it cannot be there."""
        planned = dict(self.tasks[plate].seconds).get(printer.name)
        if planned is None:
            return None
        low, high = self.ranges_s.get(plate, {}).get(printer.name, (planned, planned))
        lean = self.leaning[printer.kind]
        return planned + lean * (high - planned if lean > 0 else planned - low)

    def _runs(self, lasts):
        """Return how long a run lasts, up to its end or to its failure."""
        if self.random.random() < self.first_layer:
            return min(FIRST_LAYER_S, lasts)
        return min(lasts, self.random.exponential(3600.0 / self.per_hour))

    def _spool(self, printer, plate, now):
        """Return the planned spool, else the one on the printer, else the tightest, or None."""
        fit = {
            level.id: self.left[level.id]
            for level in self._spools_for(plate)
            if self.spool_free[level.id] <= now
        }
        for wished in (self.spool_of[plate], printer.spool):
            if wished in fit:
                return wished
        return min(fit, key=fit.__getitem__, default=None)

    def _spools_for(self, plate):
        task = self.tasks[plate]
        return [
            level
            for level in self.weekend.spools
            if level.material == task.material
            and task.colour in (None, level.colour)
            and self.left[level.id] >= task.grams
        ]
