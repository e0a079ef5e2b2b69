"""The odds of the planned weekend: what each plate's hours may be, and how often one fails."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.handover.weekend import weekend_of
from planner.schedule.odds.count import odds_of
from planner.schedule.odds.model import Rates
from planner.schedule.odds.simulate import live

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.model import PlannedPlate
    from planner.job.model import Job
    from planner.schedule.model import WeekendPlan
    from planner.schedule.odds.model import Lived, Odds


def weekend_lived(
    job: Job,
    plates: Sequence[PlannedPlate],
    weekend: WeekendPlan,
    *,
    seed: int,
    trials: int | None = None,
    ask_why: bool = True,
) -> Lived | None:
    """Live the weekend many times over; None if no plate has a place in it."""
    failures = job.plate_failures
    return live(
        weekend_of(job, plates),
        weekend,
        ranges_s={plate.id: plate.ranges_s for plate in plates},
        rates=Rates(first_layer=failures.first_layer, per_hour=failures.per_hour),
        seed=seed,
        trials=trials,
        ask_why=ask_why,
    )


def weekend_odds(
    job: Job, plates: Sequence[PlannedPlate], weekend: WeekendPlan, *, seed: int
) -> Odds | None:
    """Return the odds of the weekend; None if no plate has a place in it."""
    lived = weekend_lived(job, plates, weekend, seed=seed)
    return None if lived is None else odds_of(lived)
