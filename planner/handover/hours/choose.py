"""The choice of plates for the hours: by recipe first, then the best of them bettered together.

Fuller plates are fewer visits, shorter ones fit the hours in which somebody is there; which
is better depends on the weekend. So plates are made by several recipes and each set is placed
in time; from the best the search over both together goes on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from math import inf
from typing import TYPE_CHECKING

from planner.handover.hours.climb import Climb
from planner.handover.hours.made import plates_of
from planner.handover.hours.shop import shop_of
from planner.handover.model import HoursWon
from planner.handover.plates import PlateSet, Recipe, make_plates
from planner.handover.sets import value_done
from planner.handover.totals import copies_missing
from planner.handover.weekend import weekend_of
from planner.handover.workers import in_turn
from planner.progress import silent
from planner.schedule.model import WeekendPlan
from planner.schedule.solve import effort_for, plan_weekend

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from planner.handover.hours.made import Runs
    from planner.handover.model import ReadyPart
    from planner.handover.workers import Workers
    from planner.job.model import Job
    from planner.progress import Progress

Try = tuple[PlateSet, WeekendPlan]
"""Plates, and a weekend in which they are printed."""

HOUR_S = 3600.0
RECIPES = tuple(
    Recipe(cap_s=cap_h * HOUR_S, plate_cost_s=cost_h * HOUR_S)
    for cap_h, cost_h in ((inf, 0.25), (inf, 4.0), (12.0, 1.0), (8.0, 1.0), (5.0, 0.5))
)
"""What is tried, our own choice: as full as can be, a night, half a day, a sitting."""
FULL = sum(recipe.cap_s == inf for recipe in RECIPES)
"""So many recipes, the first ones, fill every plate; the weekend is compared with these."""
BETTERED = 2
"""So many of the sets by recipe are searched from; our own choice."""
SHARE = 1 / 3
"""Of the seconds, for the recipes, and for scheduling once more; our own choice."""
WORK_PER_SECOND = 100_000
"""Work of one search over plates and hours per second of `seconds`: about as long, too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The plates and their weekend, beside full plates, and all that was tried, recipes first."""

    plates: PlateSet
    weekend: WeekendPlan
    hours: HoursWon
    tried: tuple[Try, ...]


def plates_for_the_hours(
    job: Job,
    parts: Sequence[ReadyPart],
    *,
    seconds: float,
    seed: int,
    workers: Workers = in_turn,
    judge: Callable[[PlateSet, WeekendPlan], tuple[float, ...]] | None = None,
    progress: Progress = silent,
) -> Chosen:
    """Choose what lies on each plate and when it runs, together.

    `seconds` stand for an amount of work: a third of it goes into the recipes, evenly, on
    packing and scheduling alike; all of it into each of the searches; a third into scheduling
    once more what is chosen, and as much into full plates; half into proving how good it is.
    `judge` rates plates and weekend, smaller is better; by default `badness` does. The same job,
    seconds and seed give the same plates, whatever `workers` there are.
    """
    rate = judge or partial(badness, job)
    steps = len(RECIPES) + BETTERED
    progress("plates for the hours", 0, steps)
    tried: list[Try] = []
    each_s = seconds * SHARE / len(RECIPES)
    for made in workers(partial(_by_recipe, job, parts, each_s, seed), RECIPES):
        tried.append(made)
        progress("plates for the hours", len(tried), steps, note=_words(RECIPES[len(tried) - 1]))
    rated = [rate(*each) for each in tried]
    ranked = sorted(range(len(tried)), key=lambda at: (rated[at], at))
    begun = [tried[at] for at in ranked[:BETTERED]]
    for bettered in workers(partial(_bettered, job, parts, seconds, seed), begun):
        tried.append(bettered)
        progress("plates for the hours", len(tried), steps, note="plates and hours together")
    rated += [rate(*each) for each in tried[len(rated) :]]
    best = min(range(len(tried)), key=lambda at: (rated[at], at))
    full = min(range(FULL), key=lambda at: (rated[at], at))
    longer = partial(_again, job, seconds * SHARE, seed, rate)
    both = sorted({best, full})
    finals = dict(zip(both, workers(longer, [tried[at] for at in both]), strict=True))
    # With more work full plates may come out best after all.
    best = min(both, key=lambda at: rate(*finals[at]))
    plates, weekend = _proved(job, seconds / 2, seed, rate, finals[best])
    return Chosen(
        plates=plates,
        weekend=weekend,
        hours=_won(finals[full], (plates, weekend)),
        tried=tuple(tried),
    )


def badness(job: Job, plates: PlateSet, weekend: WeekendPlan) -> tuple[float, ...]:
    """Order weekends; the first that differs decides, smaller is better.

    Less value that is not complete in time, fewer copies left out, less lateness, an earlier
    hour of the finish, fewer plates, an earlier finish.
    """
    finish_s = (weekend.finish - job.start).total_seconds() if weekend.finish else inf
    due_s = (job.deadline - job.start).total_seconds() if job.deadline else inf
    late_s = max(0.0, finish_s - due_s)
    # An hour earlier is worth a visit more; minutes are not.
    return (
        -value_done(job, weekend),
        _missing(plates, weekend),
        late_s,
        finish_s // HOUR_S,
        len(plates.plates),
        finish_s,
    )


def _missing(plates: PlateSet, weekend: WeekendPlan) -> int:
    return copies_missing(plates.plates, plates.left_out, weekend)


def _won(full: Try, chosen: Try) -> HoursWon:
    return HoursWon(
        full_plates=len(full[0].plates),
        full_finish=full[1].finish,
        full_missing=_missing(*full),
        plates=len(chosen[0].plates),
        finish=chosen[1].finish,
        missing=_missing(*chosen),
    )


def _by_recipe(
    job: Job, parts: Sequence[ReadyPart], seconds: float, seed: int, recipe: Recipe
) -> Try:
    plates = make_plates(job, parts, recipe=recipe, seconds=seconds, seed=seed)
    return plates, _weekend(job, plates, seconds, seed)


def _bettered(job: Job, parts: Sequence[ReadyPart], seconds: float, seed: int, begun: Try) -> Try:
    """Search from plates and their weekend for better ones."""
    plates, weekend = begun
    shop = shop_of(job, parts, plates.plates, weekend)
    climb = Climb(shop, seed=seed)
    best = climb.run(int(seconds * WORK_PER_SECOND))
    made, runs = plates_of(shop, climb.fitting, best, plates)
    return made, _weekend(job, made, seconds * SHARE / len(RECIPES), seed, runs)


def _again(
    job: Job,
    seconds: float,
    seed: int,
    rate: Callable[[PlateSet, WeekendPlan], tuple[float, ...]],
    begun: Try,
) -> Try:
    """Schedule the same plates once more, with more work; keep the better weekend."""
    plates, weekend = begun
    again = _weekend(job, plates, seconds, seed, _runs(weekend))
    return plates, min((again, weekend), key=lambda each: rate(plates, each))


def _proved(
    job: Job,
    seconds: float,
    seed: int,
    rate: Callable[[PlateSet, WeekendPlan], tuple[float, ...]],
    found: Try,
) -> Try:
    """Raise the bound of a weekend as far as the work goes, and better it if that shows how."""
    plates, weekend = found
    proved = _weekend(job, plates, 0.0, seed, _runs(weekend), proof=effort_for(seconds))
    if rate(plates, proved) <= rate(plates, weekend):
        return plates, proved
    return found


def _runs(weekend: WeekendPlan) -> Runs:
    return tuple((run.plate, run.machine) for run in weekend.runs)


def _weekend(
    job: Job, plates: PlateSet, seconds: float, seed: int, first: Runs = (), *, proof: int = 0
) -> WeekendPlan:
    problem = weekend_of(job, plates.plates, plates.left_out)
    effort = effort_for(seconds)
    return plan_weekend(problem, effort=effort, proof=proof, seed=seed, first=first)


def _words(recipe: Recipe) -> str:
    if recipe.cap_s == inf:
        return "as full as they go"
    return f"at most {recipe.cap_s / HOUR_S:g} h each"
