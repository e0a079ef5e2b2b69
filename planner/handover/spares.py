"""How many spare copies are worth their hours, from what became of the lived weekends.

A job's `confidence` looks at each kind of part by itself, and at nothing but bad copies. What
is wanted is that all kinds are there in number by the deadline. So here a spare is held
against that: what it adds to those odds, once the hours that it takes are counted against
them, and once a copy that turns out bad may also be printed again at the end, if there is time.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from planner.handover.stock import Stock, changed_by, copy_s
from planner.job.demand import with_spares

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.handover.stock import Counts
    from planner.job.model import Job
    from planner.schedule.model import WeekendPlan
    from planner.schedule.odds.model import Lived


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
    job: Job,
    parts: Sequence[ReadyPart],
    plates: Sequence[PlannedPlate],
    weekend: WeekendPlan,
    lived: Lived | None,
) -> SpareAdvice | None:
    """Say what spares do for the odds; None where nothing was planned.

    A copy is bad with the job's `failure_rate`, each by itself; which plates are good in time
    is what the lived weekends say. A spare more makes all plates later by its printing time,
    shared among the printers.
    """
    if lived is None or not parts:
        return None
    stock = Stock(job, parts, plates, lived)
    none = stock.none
    now = stock.odds(none)
    worth = stock.worth(_room(parts, job, weekend))
    seconds = [copy_s(ready) for ready in parts]
    rows = tuple(
        SpareRow(
            part=ready.part.name,
            needed=ready.need.needed,
            spares=ready.need.spares,
            worth=int(worth[k]) + ready.need.spares,
            one_more=stock.odds(changed_by(none, k, 1)) - now,
            one_fewer=stock.odds(changed_by(none, k, -1)) - now if ready.need.spares else 0.0,
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


def _room(parts: Sequence[ReadyPart], job: Job, weekend: WeekendPlan) -> Callable[[Counts], bool]:
    """Return whether what the plan leaves on the spools is enough for so many more copies."""
    left_g = dict(weekend.spool_left_g)
    by_kind: dict[tuple[str, str | None], float] = defaultdict(float)
    for spool in job.spools:
        grams = left_g.get(spool.name, spool.left_g)
        by_kind[spool.filament.material, spool.colour] += grams
        by_kind[spool.filament.material, None] += grams
    kinds = sorted({(r.part.settings.material, r.part.colour) for r in parts}, key=str)
    grams_each = np.array([ready.grams for ready in parts])
    # What takes any colour is fed from the same spools as what asks for one.
    own = {
        (material, colour): np.array(
            [
                r.part.settings.material == material and colour in {None, r.part.colour}
                for r in parts
            ]
        )
        for material, colour in kinds
    }

    def holds(more: Counts) -> bool:
        return all(float((more * grams_each)[own[kind]].sum()) <= by_kind[kind] for kind in kinds)

    return holds


def spared_as(job: Job, parts: Sequence[ReadyPart], advice: SpareAdvice) -> tuple[ReadyPart, ...]:
    """Return the parts with the spares that are worth it; what the user has said stays."""
    worth = {row.part: row.worth for row in advice.rows}
    return tuple(
        ready
        if job.parts[ready.part.name].spares is not None
        else replace(
            ready,
            need=with_spares(
                ready.need,
                worth[ready.part.name],
                failure_rate=job.failure_rate,
                why="worth it for the odds of all",
            ),
        )
        for ready in parts
    )
