"""From plates to the weekend's problem, and the choice of plate length that suits the hours."""

from __future__ import annotations

from functools import partial
from math import inf
from typing import TYPE_CHECKING

from planner.handover.plates import PlateSet, Recipe, make_plates
from planner.handover.sets import sets_of
from planner.handover.workers import in_turn
from planner.progress import silent
from planner.schedule.model import MachineSlot, PlateTask, SpoolLevel, Weekend, WeekendPlan
from planner.schedule.solve import effort_for, plan_weekend

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.handover.sets import Sets
    from planner.handover.workers import Workers
    from planner.job.model import Job
    from planner.progress import Progress

_Try = tuple[PlateSet, WeekendPlan]

HOUR_S = 3600.0
RECIPES = tuple(
    Recipe(cap_s=cap_h * HOUR_S, plate_cost_s=cost_h * HOUR_S)
    for cap_h, cost_h in ((inf, 0.25), (inf, 4.0), (12.0, 1.0), (8.0, 1.0), (5.0, 0.5))
)
"""What is tried, our own choice: as full as can be, a night, half a day, a sitting."""


def weekend_of(
    job: Job, plates: Sequence[PlannedPlate], left_out: Sequence[tuple[str, int, str]] = ()
) -> Weekend:
    """State the scheduling problem of these plates; `left_out` is what is on none of them."""
    sets = sets_of(job, plates, left_out)
    return Weekend(
        start=job.start,
        deadline=job.deadline,
        tasks=tuple(_task(job, plate, sets) for plate in plates),
        machines=tuple(
            MachineSlot(
                id=m.name,
                unattended=m.unattended,
                blocked=m.blocked,
                cool_down_s=m.cool_down_s,
                changes_over=m.changes_over,
            )
            for m in job.machines
        ),
        spools=tuple(
            SpoolLevel(
                id=spool.name,
                material=spool.filament.material,
                colour=spool.colour,
                grams=spool.left_g,
                drying_s=spool.drying_s,
            )
            for spool in job.spools
        ),
        attendance=job.attendance,
        hands_on_s=job.hands_on_s,
        sets=sets.values,
        sets_lost=sets.lost,
    )


def plates_for_the_hours(
    job: Job,
    parts: Sequence[ReadyPart],
    *,
    seconds: float,
    seed: int,
    workers: Workers = in_turn,
    progress: Progress = silent,
) -> tuple[PlateSet, WeekendPlan]:
    """Make plates of several longest durations, schedule each set, keep the best weekend.

    Fuller plates are fewer visits, shorter ones fit the hours in which somebody is there;
    which is better depends on the weekend, so it is tried. `seconds` stand for an amount of
    work: half is spent on the sets, evenly, on packing and scheduling alike; the other half
    on scheduling the best of them once more.
    """
    tried: list[_Try] = []
    attempt = partial(_attempt, job, parts, seconds / len(RECIPES) / 2, seed)
    progress("plates for the hours", 0, len(RECIPES))
    for done, made in enumerate(workers(attempt, RECIPES), 1):
        tried.append(made)
        progress("plates for the hours", done, len(RECIPES), note=_words(RECIPES[done - 1]))
    badness = [_badness(job, plates, weekend) for plates, weekend in tried]
    least = min(badness)
    plates, weekend = tried[badness.index(least)]
    again = plan_weekend(
        weekend_of(job, plates.plates, plates.left_out), effort=effort_for(seconds / 2), seed=seed
    )
    return plates, again if _badness(job, plates, again) <= least else weekend


def _attempt(
    job: Job, parts: Sequence[ReadyPart], seconds: float, seed: int, recipe: Recipe
) -> _Try:
    plates = make_plates(job, parts, recipe=recipe, seconds=seconds, seed=seed)
    problem = weekend_of(job, plates.plates, plates.left_out)
    return plates, plan_weekend(problem, effort=effort_for(seconds), seed=seed)


def _task(job: Job, plate: PlannedPlate, sets: Sets) -> PlateTask:
    return PlateTask(
        id=plate.id,
        seconds=tuple(sorted(plate.seconds.items())),
        material=plate.material,
        colour=plate.colour,
        grams=plate.grams,
        gate=plate.gate,
        check_s=job.fit_check_s,
        priority=plate.stage,
        sets=sets.of_plate.get(plate.id, ()),
    )


def _badness(job: Job, plates: PlateSet, weekend: WeekendPlan) -> tuple[float, ...]:
    """Order weekends: copies not printed, time late, finish to the hour, plates, finish."""
    by_id = {plate.id: plate for plate in plates.plates}
    missing = sum(count for _, count, _ in plates.left_out)
    missing += sum(len(by_id[plate].placements) for plate, _ in weekend.unscheduled)
    finish_s = (weekend.finish - job.start).total_seconds() if weekend.finish else inf
    due_s = (job.deadline - job.start).total_seconds() if job.deadline else inf
    late_s = max(0.0, finish_s - due_s)
    # An hour earlier is worth a visit more; minutes are not.
    return (missing, late_s, finish_s // HOUR_S, len(plates.plates), finish_s)


def _words(recipe: Recipe) -> str:
    if recipe.cap_s == inf:
        return "as full as they go"
    return f"at most {recipe.cap_s / HOUR_S:g} h each"
