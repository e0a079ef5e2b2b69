"""How many spare copies are worth their hours, from what became of the lived weekends.

A part's `confidence` looks at each kind by itself. What is wanted is that all kinds are there
in number by the deadline, so here a spare is held against the whole: what it adds to those
odds, once the hours that it takes are counted against them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, log, prod
from typing import TYPE_CHECKING

import numpy as np

from planner.job.demand import odds_of_copies, with_spares

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.job.model import Job, Need
    from planner.schedule.odds.model import Lived

WORTH = 0.005
"""A spare is worth printing if it raises the odds by such a share of themselves: our choice."""
SPARES_MOST = 500
"""No more are thought about in all; beyond that the rates are to be looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareRow:
    """One kind of part: spares now, spares that are worth it, what one more or fewer changes.

    `one_more` and `one_fewer` are differences of the odds that all is there by the deadline;
    `copy_s` and `copy_g` are what one copy takes on the quickest printer.
    """

    part: str
    needed: int
    spares: int
    worth: int
    one_more: float
    one_fewer: float
    copy_s: float
    copy_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareAdvice:
    """Odds that every part is there in number by the deadline: now, and as advised.

    `more_s` and `more_g` are the printing time and filament that the advice adds (or, below
    0, saves).
    """

    odds: float
    odds_if_worth: float
    rows: tuple[SpareRow, ...]
    more_s: float
    more_g: float


def spare_advice(
    job: Job, parts: Sequence[ReadyPart], plates: Sequence[PlannedPlate], lived: Lived | None
) -> SpareAdvice | None:
    """Say what spares do for the odds; None where nothing was planned.

    A copy is bad with the job's `failure_rate`, each by itself; which plates are good in time
    is what the lived weekends say. A spare more makes all plates later by its printing time,
    shared among the printers.
    """
    if lived is None or not parts:
        return None
    stock = _Stock(job, parts, plates, lived)
    none = np.zeros(len(parts), dtype=int)
    now = stock.odds(none)
    worth = stock.worth()
    seconds = [_copy_s(ready) for ready in parts]
    rows = tuple(
        SpareRow(
            part=ready.part.name,
            needed=ready.need.needed,
            spares=ready.need.spares,
            worth=int(worth[k]) + ready.need.spares,
            one_more=stock.odds(_one(none, k, 1)) - now,
            one_fewer=stock.odds(_one(none, k, -1)) - now if ready.need.spares else 0.0,
            copy_s=seconds[k],
            copy_g=ready.grams,
        )
        for k, ready in enumerate(parts)
    )
    return SpareAdvice(
        odds=now,
        odds_if_worth=stock.odds(worth),
        rows=rows,
        more_s=float(worth @ np.array(seconds)),
        more_g=float(worth @ np.array([ready.grams for ready in parts])),
    )


def spared_for(parts: Sequence[ReadyPart], needs: Sequence[Need]) -> tuple[ReadyPart, ...]:
    """Return the parts with other needs, by name."""
    by_name = {need.part: need for need in needs}
    return tuple(replace(ready, need=by_name[ready.part.name]) for ready in parts)


def needs_for(job: Job, parts: Sequence[ReadyPart], wanted: float) -> tuple[Need, ...]:
    """Return needs whose copies are enough, of all kinds together, with the odds `wanted`.

    From no spares on, the copy is added that raises the odds most for its printing time,
    until they are reached. Parts of which the user says how many spares they get keep those.
    """
    rate = job.failure_rate
    needs = [_without_spares(job, ready) for ready in parts]
    free = [k for k, ready in enumerate(parts) if job.parts[ready.part.name].spares is None]
    for _ in range(SPARES_MOST):
        if not free or prod(need.odds for need in needs) >= wanted:
            break
        more = {k: with_spares(needs[k], needs[k].spares + 1, failure_rate=rate) for k in free}
        gains = {k: log(more[k].odds / needs[k].odds) / _copy_s(parts[k]) for k in free}
        best = max(free, key=lambda k: (gains[k], -k))
        if gains[best] <= 0:
            break
        needs[best] = more[best]
    why = f"for {100 * wanted:.3g} % of all kinds together"
    return tuple(
        with_spares(need, need.spares, failure_rate=rate, why=why) if k in free else need
        for k, need in enumerate(needs)
    )


def _without_spares(job: Job, ready: ReadyPart) -> Need:
    if job.parts[ready.part.name].spares is not None:
        return ready.need
    return with_spares(ready.need, 0, failure_rate=job.failure_rate)


def _copy_s(ready: ReadyPart) -> float:
    """Return the time of one copy on the quickest printer; a second if no printer takes it."""
    return max(1.0, min((time.middle_s for time in ready.times.values()), default=1.0))


def _one(counts: NDArray[np.int_], k: int, step: int) -> NDArray[np.int_]:
    changed = counts.copy()
    changed[k] += step
    return changed


class _Stock:
    """Copies of each kind that are in hand in time, trial by trial."""

    def __init__(
        self,
        job: Job,
        parts: Sequence[ReadyPart],
        plates: Sequence[PlannedPlate],
        lived: Lived,
    ) -> None:
        counts = {plate.id: plate.counts for plate in plates}
        self._ends_s = np.array(
            [[inf if end is None else end for end in ends] for ends in lived.ends_s], dtype=float
        )
        self._copies = np.array(
            [[counts[plate].get(r.part.name, 0) for r in parts] for plate in lived.plates]
        )
        self._due_s = lived.due_s
        self._spares = np.array([ready.need.spares for ready in parts])
        self._later_s = np.array([_copy_s(r) for r in parts]) / max(1, len(job.machines))
        self._enough = [_Enough(ready.need.needed, job.failure_rate) for ready in parts]

    def odds(self, more: NDArray[np.int_]) -> float:
        """Return the odds of all kinds in number by the deadline, with so many more copies."""
        return float(self._each(more).prod(axis=1).mean())

    def worth(self) -> NDArray[np.int_]:
        """Return how many more (or, below 0, fewer) copies than now are worth it, per kind.

        Begins without spares and adds, one at a time, what raises the odds most; a kind whose
        next copy is not worth its hours is left as it is.
        """
        more = -self._spares
        now, open_ = self.odds(more), np.ones(len(more), dtype=bool)
        for _ in range(SPARES_MOST):
            gains = np.where(open_, self._gains(more), -1.0)
            best = int(gains.argmax())
            if gains[best] <= now * WORTH:
                break
            trial = _one(more, best, 1)
            then = self.odds(trial)
            if then > now * (1 + WORTH):
                more, now = trial, then
            else:
                open_[best] = False
        return more

    def _gains(self, more: NDArray[np.int_]) -> NDArray[np.float64]:
        """Return by how much one more copy of each kind, its hours aside, raises the odds."""
        each = self._each(more)
        ones = np.ones((len(each), 1))
        before = np.cumprod(np.hstack([ones, each[:, :-1]]), axis=1)
        after = np.cumprod(np.hstack([ones, each[:, :0:-1]]), axis=1)[:, ::-1]
        gains: NDArray[np.float64] = before * after * (self._each(more, extra=1) - each)
        return gains.mean(axis=0)

    def _each(self, more: NDArray[np.int_], extra: int = 0) -> NDArray[np.float64]:
        """Return trial by kind the odds of enough good copies; hours are those of `more`."""
        good = self._good(float(more @ self._later_s))
        held = np.where(good > 0, good + more + extra, 0)
        return np.column_stack(
            [enough.of(n) for enough, n in zip(self._enough, held.T, strict=True)]
        )

    def _good(self, later_s: float) -> NDArray[np.int_]:
        """Return trial by kind the copies on plates that are done in time, if all were later."""
        due_s = inf if self._due_s is None else self._due_s - later_s
        # Never is not in time either, even where there is no deadline.
        in_time = (self._ends_s <= due_s) & (self._ends_s < inf)
        good: NDArray[np.int_] = in_time.astype(int) @ self._copies
        return good


class _Enough:
    """Odds of enough good copies by how many there are, worked out as asked for."""

    def __init__(self, needed: int, failure_rate: float) -> None:
        self._needed, self._rate = needed, failure_rate
        self._known: list[float] = []

    def of(self, held: NDArray[np.int_]) -> NDArray[np.float64]:
        """Return the odds for each number of copies."""
        held = np.maximum(held, 0)
        for n in range(len(self._known), int(held.max()) + 1):
            self._known.append(odds_of_copies(self._needed, n, failure_rate=self._rate))
        return np.array(self._known)[held]
