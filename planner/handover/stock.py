"""Good copies in hand, over the lived weekends: the odds that all is there in number in time.

Every weekend that was lived gets its bad copies drawn: each is bad with the job's
`failure_rate`, by itself, and is found when its plate is done. What is short in the end is
printed on one more plate, begun when the plates with copies of it are good, a printer has
nothing else to do, no quiet hours before it is done, and somebody is there; the weekend is not
done before.
"""

from __future__ import annotations

from math import ceil, inf
from typing import TYPE_CHECKING

import numpy as np

from planner.schedule.clock import inner_stretch, joined, outer_stretch

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.job.model import Job
    from planner.schedule.odds.model import Lived

    Counts = NDArray[np.int_]
    Seconds = NDArray[np.float64]

POINTS_PER_HOUR = 1.0
"""A spare is worth printing if it raises the odds by so much for its hours: our own choice."""
MORE_MOST = 20
"""So many more copies of a kind than now are thought about."""
WORK_MOST = 200_000_000
"""Trials times kinds that are looked at in all, steps and tries together: a second or two."""
HOPELESS = 0.01
"""Below such odds spares are no longer thought about."""
TRIED_MOST = 12
"""So many kinds, scarce ones and those that take long, are tried in each step."""
HEAT_UP_S = 600.0
"""From the start of a plate to its first line; common practice, no source."""


def copy_s(ready: ReadyPart) -> float:
    """Return the time of one copy on the quickest printer; a second if no printer takes it."""
    return max(1.0, min((time.middle_s for time in ready.times.values()), default=1.0))


class Stock:
    """What is in hand when, trial by trial, and what it would be with other numbers of copies.

    `more` is always how many copies more (or, below 0, fewer) than now of each kind; all
    plates are taken to end later by their printing time, shared among the printers.
    """

    def __init__(
        self,
        job: Job,
        parts: Sequence[ReadyPart],
        plates: Sequence[PlannedPlate],
        lived: Lived,
    ) -> None:
        self.lived = lived
        self.due_s = inf if lived.due_s is None else lived.due_s
        self._job = job
        ends_s = np.array([[inf if e is None else e for e in ends] for ends in lived.ends_s])
        self._end_s = ends_s.max(axis=1)
        counts = {plate.id: plate.counts for plate in plates}
        copies = np.array(
            [[counts[plate].get(r.part.name, 0) for plate in lived.plates] for r in parts]
        )
        self._held = copies.sum(axis=1)
        self._known_s = np.column_stack(
            [np.where(on, ends_s, 0.0).max(axis=1) for on in copies > 0]
        )
        # After this end fewer plates are under way than there are printers.
        printers = min(len(job.machines), len(lived.plates))
        self._idle_s = np.sort(ends_s, axis=1)[:, len(lived.plates) - printers]
        self._needed = np.array([ready.need.needed for ready in parts])
        self._copy_s = np.array([copy_s(ready) for ready in parts])
        self._good = [self._drawn(k, int(held)) for k, held in enumerate(self._held)]
        kinds = sorted({(r.part.settings.material, str(r.part.colour)) for r in parts})
        self._kind = np.array(
            [kinds.index((r.part.settings.material, str(r.part.colour))) for r in parts]
        )
        self._openings = tuple(_openings(job))
        self._shorts: dict[tuple[int, int], Counts] = {}
        self.none = np.zeros(len(parts), dtype=int)

    def odds(self, more: Counts) -> float:
        """Return the odds of all kinds in number by the deadline."""
        return self._share(self.done_s(more), self.due_s)

    def odds_by(self, second: float) -> float:
        """Return the odds that all kinds are there in number by a moment, copies as they are."""
        return self._share(self.done_s(self.none), second)

    @staticmethod
    def _share(done_s: Seconds, second: float) -> float:
        # Never is not in time either, even where there is no deadline.
        return float(((done_s <= second) & (done_s < inf)).mean())

    def sure_s(self, wanted: float) -> float | None:
        """Return the second by which all is there with the odds `wanted`; None if never."""
        done_s = np.sort(self.done_s(self.none))
        at = done_s[ceil(wanted * len(done_s) - 1e-9) - 1]
        return None if at == inf else float(at)

    def done_s(self, more: Counts) -> Seconds:
        """Return when all was there, trial by trial; inf if it never was."""
        later_s = float(more @ self._copy_s) / max(1, len(self._job.machines))
        end_s = self._end_s + later_s
        if not self._enough(more):
            return np.full_like(end_s, inf)
        short = np.column_stack([self._short(k, int(n)) for k, n in enumerate(more)])
        lasts_s = short @ self._copy_s + self._plates(short) * (self._job.hands_on_s + HEAT_UP_S)
        known_s = np.where(short > 0, self._known_s, 0.0).max(axis=1)
        begin_s = np.maximum(self._idle_s, known_s) + later_s
        again_s = np.maximum(end_s, self._ends_again_s(begin_s, lasts_s))
        done_s: Seconds = np.where(short.any(axis=1), again_s, end_s)
        return done_s

    def worth(self, room: Callable[[Counts], bool]) -> Counts:
        """Return how many more (or, below 0, fewer) copies than now are worth it, per kind.

        Best are the odds less `POINTS_PER_HOUR` for what spares take to print. From no
        spares, and from those there are, one copy more or fewer is tried as long as it
        helps. `room` tells whether there is filament for so many more. Where nothing helps
        much, all stays as it is.
        """
        bare = np.minimum(0, self._needed - self._held)
        ends = [self._climbed(begin, bare, room) for begin in (bare, self.none)]
        best = max(ends, key=lambda more: self._value(more, bare))
        return best if self.odds(best) >= HOPELESS else self.none

    def _climbed(self, more: Counts, bare: Counts, room: Callable[[Counts], bool]) -> Counts:
        value = self._value(more, bare)
        for _ in range(max(1, WORK_MOST // (2 * TRIED_MOST * self._known_s.size))):
            steps = [one for one in self._steps(more, bare) if room(one)]
            values = [self._value(one, bare) for one in steps]
            if not values or max(values) <= value + 1e-9:
                break
            value = max(values)
            more = steps[values.index(value)]
        return more

    def _steps(self, more: Counts, bare: Counts) -> list[Counts]:
        """Return counts with one more of what is short most often, or one spare less."""
        short = np.array([self._short(k, int(n)).mean() for k, n in enumerate(more)])
        scarce = [k for k in np.argsort(-short, kind="stable")[:TRIED_MOST] if short[k] > 0]
        long = [k for k in np.argsort(-self._copy_s, kind="stable") if more[k] > bare[k]]
        return [
            *(changed_by(more, int(k), 1) for k in scarce if more[k] < MORE_MOST),
            *(changed_by(more, int(k), -1) for k in long[:TRIED_MOST]),
        ]

    def _value(self, more: Counts, bare: Counts) -> float:
        hours = float((more - bare) @ self._copy_s) / 3600.0
        return self.odds(more) - POINTS_PER_HOUR / 100 * hours

    def _enough(self, more: Counts) -> bool:
        """Whether as many copies have a place as are needed, were all of them good.

        More copies than now do not count here: what lies on no plate has a reason for it.
        """
        return bool((self._held + np.minimum(0, more) >= self._needed).all())

    def _short(self, k: int, more: int) -> Counts:
        """Return how many good copies of a kind are missing, trial by trial."""
        if (k, more) not in self._shorts:
            good: Counts = self._good[k][min(self._held[k] + more, len(self._good[k]) - 1)]
            self._shorts[k, more] = np.maximum(0, self._needed[k] - good)
        return self._shorts[k, more]

    def _drawn(self, k: int, held: int) -> Counts:
        """Return [copies printed, trial] -> good ones; the luck of a copy is its own."""
        most, trials = held + MORE_MOST, len(self._end_s)
        random = np.random.default_rng([k, self.lived.seed])
        luck = random.random((most, trials)) >= self._job.failure_rate
        return np.vstack([np.zeros((1, trials), dtype=int), luck.cumsum(axis=0)])

    def _plates(self, short: Counts) -> Counts:
        """Return on how many plates what is short goes: one per material and colour."""
        plates: Counts = sum(
            (short[:, self._kind == kind].any(axis=1).astype(int) for kind in set(self._kind)),
            start=np.zeros(len(short), dtype=int),
        )
        return plates

    def _ends_again_s(self, begin_s: Seconds, lasts_s: Seconds) -> Seconds:
        """Return when what was short is printed, on whichever printer is done with it first.

        It begins as soon as somebody is there, and ends before the printer must not run.
        """
        done_s = np.full_like(begin_s, inf)
        for begin, leaves, rests, alone in self._openings:
            starts = np.maximum(begin_s, begin)
            there_s = self._job.hands_on_s if alone else lasts_s
            fits = (starts + there_s <= leaves) & (starts + lasts_s <= rests)
            done_s = np.where(fits, np.minimum(done_s, starts + lasts_s), done_s)
        return done_s


def changed_by(counts: Counts, k: int, by: int) -> Counts:
    """Return counts with some more (or fewer) of the k-th kind."""
    other = counts.copy()
    other[k] += by
    return other


def _openings(job: Job) -> Iterator[tuple[float, float, float, bool]]:
    """Yield (from, until somebody is there, until it may run, whether it may run alone).

    In seconds after the start; once for printers that are alike in that.
    """
    stays = joined(inner_stretch(job.start, each.start, each.end) for each in job.attendance)
    for alone, blocked in dict.fromkeys((m.unattended, m.blocked) for m in job.machines):
        rests = joined(outer_stretch(job.start, each.start, each.end) for each in blocked)
        begins, ends = (-inf, *(end for _, end in rests)), (*(begin for begin, _ in rests), inf)
        for begin, end in zip(begins, ends, strict=True):
            for here, leaves in stays:
                if max(here, begin) < min(leaves, end):
                    yield max(here, begin), leaves, end, alone
