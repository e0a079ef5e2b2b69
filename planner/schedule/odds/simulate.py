"""From a plan to what becomes of it: the weekend lived many times."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.schedule.clock import seconds_after
from planner.schedule.instance import instance_of
from planner.schedule.odds.attempts import weekends_drawn
from planner.schedule.odds.count import odds_of
from planner.schedule.odds.model import Lived
from planner.schedule.odds.trial import Intent, Trial
from planner.schedule.odds.why import blame, on_time

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.schedule.instance import Instance
    from planner.schedule.model import Run, Weekend, WeekendPlan
    from planner.schedule.odds.attempts import Brackets
    from planner.schedule.odds.model import Odds, Rates

    Ranges = Mapping[str, Mapping[str, tuple[float, float]]]

PLACEMENTS = 40_000
TRIALS = (200, 2_000)
"""About so many plates are placed in all, in no fewer and no more trials: a second or two."""


def odds_of_plan(
    weekend: Weekend,
    plan: WeekendPlan,
    *,
    ranges_s: Ranges,
    rates: Rates,
    seed: int = 0,
    trials: int | None = None,
) -> Odds | None:
    """Return the odds of the planned weekend; None if nothing of it is planned."""
    lived = live(weekend, plan, ranges_s=ranges_s, rates=rates, seed=seed, trials=trials)
    return None if lived is None else odds_of(lived)


def live(
    weekend: Weekend,
    plan: WeekendPlan,
    *,
    ranges_s: Ranges,
    rates: Rates,
    seed: int = 0,
    trials: int | None = None,
    ask_why: bool = True,
) -> Lived | None:
    """Live the planned weekend many times over; None if nothing of it is planned.

    `ranges_s` maps plate -> machine -> (least, most) seconds around the planned ones; what
    is left out is taken as certain. Plates without a run in the plan are not looked at.
    The random numbers are seeded: the same plan and seed give the same lives. `ask_why`
    lives late trials once more for every plate that failed in them, without its failure.
    """
    placed = {run.plate for run in plan.runs}
    if not placed:
        return None
    instance = instance_of(weekend)
    intent = intent_of(weekend, plan.runs, instance)
    count = trials or min(TRIALS[1], max(TRIALS[0], PLACEMENTS // len(placed)))
    brackets = brackets_of(weekend, instance, ranges_s)
    all_drawn = list(
        weekends_drawn(instance, brackets, rates, intent.kinds, seed=seed, trials=count)
    )
    outcomes = [Trial(instance, drawn, intent).run() for drawn in all_drawn]
    due_s = None if weekend.deadline is None else seconds_after(weekend.start, weekend.deadline)
    late = [
        drawn
        for drawn, outcome in zip(all_drawn, outcomes, strict=True)
        if ask_why and not on_time(outcome, intent, due_s)
    ]
    why = blame(instance, late, intent, due_s, trials=count)
    own = sorted(intent.order)
    names = {plate: weekend.tasks[plate].id for plate in own}
    return Lived(
        start=weekend.start,
        due_s=due_s,
        plates=tuple(names.values()),
        ends_s=tuple(tuple(outcome.ends_s[plate] for plate in own) for outcome in outcomes),
        failures=tuple(
            {name: len(drawn[j].fails_at) for j, name in names.items() if drawn[j].fails_at}
            for drawn in all_drawn
        ),
        no_filament=sum(outcome.no_filament for outcome in outcomes),
        saved={name: why.by_plate.get(plate, 0.0) for plate, name in names.items()},
        saved_all=why.all,
        seed=seed,
    )


def intent_of(weekend: Weekend, runs: Sequence[Run], instance: Instance) -> Intent:
    """Return the plates by planned start, and per plate its kind of printer and its spool.

    Plates without a run are not in the order.
    """
    number = {task.id: place for place, task in enumerate(weekend.tasks)}
    machine = {slot.id: place for place, slot in enumerate(weekend.machines)}
    spool = {level.id: place for place, level in enumerate(weekend.spools)}
    kind_of = {i: k for k, kind in enumerate(instance.kinds) for i in kind.machines}
    runs = sorted(runs, key=lambda run: (seconds_after(weekend.start, run.start), run.plate))
    by_plate = {number[run.plate]: run for run in runs}
    return Intent(
        order=tuple(number[run.plate] for run in runs),
        kinds=tuple(
            kind_of[machine[by_plate[j].machine]] if j in by_plate else 0 for j in instance.plates
        ),
        spools=tuple(spool[by_plate[j].spool] if j in by_plate else 0 for j in instance.plates),
    )


def brackets_of(weekend: Weekend, instance: Instance, ranges_s: Ranges) -> list[Brackets]:
    """Return per plate and kind of printer the least and most of its time, as factors."""
    found: list[Brackets] = []
    for task in weekend.tasks:
        own: dict[int, tuple[float, float]] = {}
        middle = dict(task.seconds)
        for kind, members in enumerate(instance.kinds):
            name = weekend.machines[members.machines[0]].id
            low, high = ranges_s.get(task.id, {}).get(name, (0.0, 0.0))
            if middle.get(name) and 0 < low <= middle[name] <= high:
                own[kind] = (low / middle[name], high / middle[name])
        found.append(own)
    return found
