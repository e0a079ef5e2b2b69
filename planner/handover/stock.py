"""Good copies in hand in time, over the lived weekends: the odds that all is there in number."""

from __future__ import annotations

from bisect import bisect_left
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.job.demand import odds_of_copies

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.job.model import Job
    from planner.schedule.odds.model import Lived

WORTH = 0.005
"""A spare is worth printing if it raises the odds by such a share of themselves: our choice."""
SPARES_MOST = 500
"""No more are thought about in all; beyond that the rates are to be looked at."""


def copy_s(ready: ReadyPart) -> float:
    """Return the time of one copy on the quickest printer; a second if no printer takes it."""
    return max(1.0, min((time.middle_s for time in ready.times.values()), default=1.0))


def one_more(counts: NDArray[np.int_], k: int, step: int = 1) -> NDArray[np.int_]:
    """Return counts with one more (or fewer) of the k-th kind."""
    changed = counts.copy()
    changed[k] += step
    return changed


class Stock:
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
        self.lived = lived
        self.due_s = inf if lived.due_s is None else lived.due_s
        self._spares = np.array([ready.need.spares for ready in parts])
        self._later_s = np.array([copy_s(r) for r in parts]) / max(1, len(job.machines))
        self._enough = [_Enough(ready.need.needed, job.failure_rate) for ready in parts]

    def odds(self, more: NDArray[np.int_]) -> float:
        """Return the odds of all kinds in number by the deadline, with so many more copies."""
        return float(self._each(more).prod(axis=1).mean())

    def odds_by(self, second: float) -> float:
        """Return the odds that all kinds are there in number by a moment."""
        in_time = (self._ends_s <= second) & (self._ends_s < inf)
        held = in_time.astype(int) @ self._copies
        each = [enough.of(n) for enough, n in zip(self._enough, held.T, strict=True)]
        return float(np.prod(each, axis=0).mean())

    def sure_s(self, wanted: float) -> float | None:
        """Return the first second by which all is there with the odds `wanted`; None if never."""
        ends = np.unique(self._ends_s[self._ends_s < inf])
        at = bisect_left(ends, wanted, key=self.odds_by)
        return float(ends[at]) if at < len(ends) else None

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
            trial = one_more(more, best, 1)
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
        mean: NDArray[np.float64] = gains.mean(axis=0)
        return mean

    def _each(self, more: NDArray[np.int_], extra: int = 0) -> NDArray[np.float64]:
        """Return trial by kind the odds of enough good copies; hours are those of `more`."""
        good = self._good(float(more @ self._later_s))
        held = np.where(good > 0, good + more + extra, 0)
        return np.column_stack(
            [enough.of(n) for enough, n in zip(self._enough, held.T, strict=True)]
        )

    def _good(self, later_s: float) -> NDArray[np.int_]:
        """Return trial by kind the copies on plates that are done in time, if all were later."""
        # Never is not in time either, even where there is no deadline.
        in_time = (self._ends_s <= self.due_s - later_s) & (self._ends_s < inf)
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
