"""How many spare copies are worth their hours, from what became of the lived weekends.

A part's `confidence` looks at each kind by itself. What is wanted is that all kinds are there
in number by the deadline, so here a spare is held against the whole: what it adds to those
odds, once the hours that it takes are counted against them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, prod
from typing import TYPE_CHECKING

import numpy as np

from planner.handover.stock import Stock, copy_s, one_more
from planner.job.demand import with_spares

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.job.model import Job, Need
    from planner.schedule.odds.model import Lived

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
    stock = Stock(job, parts, plates, lived)
    none = np.zeros(len(parts), dtype=int)
    now = stock.odds(none)
    worth = stock.worth()
    seconds = [copy_s(ready) for ready in parts]
    rows = tuple(
        SpareRow(
            part=ready.part.name,
            needed=ready.need.needed,
            spares=ready.need.spares,
            worth=int(worth[k]) + ready.need.spares,
            one_more=stock.odds(one_more(none, k, 1)) - now,
            one_fewer=stock.odds(one_more(none, k, -1)) - now if ready.need.spares else 0.0,
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
        gains = {k: log(more[k].odds / needs[k].odds) / copy_s(parts[k]) for k in free}
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
