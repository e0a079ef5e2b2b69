"""From a plan to its odds: many trials, counted."""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from random import Random
from typing import TYPE_CHECKING

from planner.schedule.clock import local_time, seconds_after
from planner.schedule.instance import instance_of
from planner.schedule.odds.attempts import draw
from planner.schedule.odds.model import Odds, PlateRisk, Rates
from planner.schedule.odds.trial import Trial

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from planner.schedule.instance import Instance
    from planner.schedule.model import Weekend, WeekendPlan
    from planner.schedule.odds.attempts import Brackets
    from planner.schedule.odds.trial import Outcome

SURE = (0.5, 0.8, 0.95)
PLACEMENTS = 40_000
TRIALS = (200, 2_000)
"""About so many plates are placed in all, in no fewer and no more trials: a second or two."""


def odds_of_plan(
    weekend: Weekend,
    plan: WeekendPlan,
    *,
    ranges_s: Mapping[str, Mapping[str, tuple[float, float]]],
    rates: Rates,
    seed: int = 0,
    trials: int | None = None,
) -> Odds | None:
    """Live the planned weekend many times over; None if nothing of it is planned.

    `ranges_s` maps plate -> machine -> (least, most) seconds around the planned ones; what
    is left out is taken as certain. Plates without a run in the plan are not looked at.
    The random numbers are seeded: the same plan and seed give the same odds.
    """
    placed = {run.plate for run in plan.runs}
    if not placed:
        return None
    weekend = replace(weekend, tasks=tuple(task for task in weekend.tasks if task.id in placed))
    instance = instance_of(weekend)
    order, kinds = _as_planned(weekend, plan, instance)
    brackets = _brackets(weekend, instance, ranges_s)
    random = Random(seed)  # noqa: S311  (repeatable, not secret)
    count = trials or min(TRIALS[1], max(TRIALS[0], PLACEMENTS // len(order)))
    outcomes = [
        Trial(instance, draw(instance, brackets, rates, kinds, random), order, kinds).run()
        for _ in range(count)
    ]
    return _counted(weekend, outcomes)


def _as_planned(
    weekend: Weekend, plan: WeekendPlan, instance: Instance
) -> tuple[list[int], list[int]]:
    """Return the plates by planned start, and per plate the kind of printer it has."""
    number = {task.id: place for place, task in enumerate(weekend.tasks)}
    machine = {slot.id: place for place, slot in enumerate(weekend.machines)}
    kind_of = {i: k for k, kind in enumerate(instance.kinds) for i in kind.machines}
    runs = sorted(plan.runs, key=lambda run: (seconds_after(weekend.start, run.start), run.plate))
    kinds = [0] * len(number)
    for run in runs:
        kinds[number[run.plate]] = kind_of[machine[run.machine]]
    return [number[run.plate] for run in runs], kinds


def _brackets(
    weekend: Weekend,
    instance: Instance,
    ranges_s: Mapping[str, Mapping[str, tuple[float, float]]],
) -> list[Brackets]:
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


def _counted(weekend: Weekend, outcomes: Sequence[Outcome]) -> Odds:
    due_s = None if weekend.deadline is None else seconds_after(weekend.start, weekend.deadline)
    late = [o.finish_s is None or (due_s is not None and o.finish_s > due_s) for o in outcomes]
    ends = sorted(outcome.finish_s for outcome in outcomes if outcome.finish_s is not None)
    count = len(outcomes)
    risks = [
        _risk(task.id, [place in outcome.failed for outcome in outcomes], late)
        for place, task in enumerate(weekend.tasks)
    ]
    return Odds(
        trials=count,
        by_deadline=late.count(False) / count,
        done_by=tuple((share, _quantile(weekend.start, ends, share, count)) for share in SURE),
        short_of_filament=sum(outcome.no_filament for outcome in outcomes) / count,
        reprints=sum(len(outcome.failed) for outcome in outcomes) / count,
        risks=tuple(sorted(risks, key=lambda risk: (-risk.late_by_it, risk.plate))),
    )


def _quantile(start: datetime, ends: Sequence[int], share: float, count: int) -> datetime | None:
    """Return the time by which the share of all trials was done; None if fewer ever were."""
    rank = ceil(share * count - 1e-9) - 1
    return local_time(start, ends[rank]) if rank < len(ends) else None


def _risk(plate: str, failed: Sequence[bool], late: Sequence[bool]) -> PlateRisk:
    hit = [is_late for is_late, is_hit in zip(late, failed, strict=True) if is_hit]
    spared = [is_late for is_late, is_hit in zip(late, failed, strict=True) if not is_hit]
    more = _mean(hit) - _mean(spared) if hit and spared else 0.0
    fails = len(hit) / len(failed)
    return PlateRisk(plate=plate, fails=fails, late_by_it=max(0.0, more) * fails)


def _mean(flags: Sequence[bool]) -> float:
    return sum(flags) / len(flags)
