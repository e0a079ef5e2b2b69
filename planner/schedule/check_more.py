"""More rules of the checker: a second spool, drying, sets. No code of the solver here either."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.schedule.model import PlateTask, Run, SpoolLevel, Visit, Weekend, WeekendPlan

GRAMS = 2e-3  # the plan counts in milligrams, each rounded to the safe side
SECONDS = 3.0  # likewise in seconds; three numbers are rounded on the way to a change


def spools_of(run: Run) -> tuple[str, ...]:
    """Return the one or two spools that feed a run."""
    return (run.spool,) if run.second_spool is None else (run.spool, run.second_spool)


def two_spools(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name plates whose second spool, its share, its time or its visit cannot be so."""
    tasks = {task.id: task for task in weekend.tasks}
    spools = {spool.id: spool for spool in weekend.spools}
    for run in plan.runs:
        if run.second_spool is None:
            if run.second_g or run.change_at is not None:
                yield f"{run.plate} changes spools without a second one"
        else:
            first, second = spools[run.spool], spools[run.second_spool]
            yield from _alike(run, first, second)
            fed = sum(run.spool in spools_of(other) for other in plan.runs)
            yield from _to_its_end(run, tasks[run.plate], dict(plan.spool_left_g), fed)
            yield from _in_time(weekend, run, tasks[run.plate])
    yield from _changed_by_somebody(weekend, plan)


def _alike(run: Run, first: SpoolLevel, second: SpoolLevel) -> Iterator[str]:
    if first.id == second.id:
        yield f"{run.plate} is fed twice from {first.id}"
    if (first.material, first.colour) != (second.material, second.colour):
        yield f"{run.plate} is fed from {first.id} and {second.id}, which are not alike"


def _to_its_end(run: Run, task: PlateTask, left_g: dict[str, float], fed: int) -> Iterator[str]:
    """Name a first spool that is left early; what it holds and its `fed` plates are rounded."""
    if not 0 < run.second_g < task.grams:
        yield f"{run.plate} takes {run.second_g:.3f} g of {task.grams:.3f} g from its second spool"
    if left_g.get(run.spool, 0.0) > GRAMS + 1e-3 * (fed - 1):
        yield f"{run.plate} goes on to a second spool before {run.spool} is at its end"


def _in_time(weekend: Weekend, run: Run, task: PlateTask) -> Iterator[str]:
    """Name a change at another time than the share of the grams says."""
    if run.change_at is None:
        yield f"{run.plate} has a second spool and no time of its change"
        return
    cool_down_s = next(m.cool_down_s for m in weekend.machines if m.id == run.machine)
    prints_s = dict(task.seconds).get(run.machine, 0.0) - cool_down_s
    first_s = run.hands_on_s + prints_s * (1 - run.second_g / max(task.grams, 1e-9))
    states_s = (_utc(run.change_at) - _utc(run.start)).total_seconds()
    slack_s = SECONDS + prints_s * GRAMS / max(task.grams, 1e-9)
    if abs(states_s - first_s) > slack_s:
        yield f"{run.plate} changes spools after {states_s:.0f} s and needs to after {first_s:.0f}"


def _changed_by_somebody(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name changes without one visit at their time, and visits that change nothing."""
    changes_over = {machine.id: machine.changes_over for machine in weekend.machines}
    by_hand = {run.plate: run for run in plan.runs if run.second_spool is not None}
    for plate, run in by_hand.items():
        itself = changes_over[run.machine]
        at_change = [visit for visit in plan.visits if visit.feeds == plate]
        if len(at_change) != (0 if itself else 1):
            yield f"the change of spools of {plate} has {len(at_change)} visits"
        starts = [visit for visit in plan.visits if visit.start == plate]
        if any(visit.second_spool != (run.second_spool if itself else None) for visit in starts):
            yield f"the visit that starts {plate} is wrong about its second spool"
    for visit in plan.visits:
        if visit.feeds is not None and not _changes(visit, by_hand.get(visit.feeds)):
            yield f"the visit to {visit.machine} at {visit.at} changes no spool of {visit.feeds}"
        if visit.second_spool is not None and visit.start not in by_hand:
            yield f"the visit that starts {visit.start} puts on a second spool for nothing"


def _changes(visit: Visit, run: Run | None) -> bool:
    return (
        run is not None
        and run.change_at is not None
        and visit.take_off is None
        and visit.start is None
        and (visit.machine, visit.spool) == (run.machine, run.second_spool)
        and _utc(visit.at) == _utc(run.change_at)
    )


def dried(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name spools that feed before they can be dry, or that nobody is told to put to dry."""
    begin = max(
        _utc(weekend.start),
        min((_utc(window.start) for window in weekend.attendance), default=_utc(weekend.start)),
    )
    drying_s = {spool.id: spool.drying_s for spool in weekend.spools if spool.drying_s > 0}
    for run in plan.runs:
        for spool in spools_of(run):
            if spool not in drying_s:
                continue
            if _utc(run.start) < begin + timedelta(seconds=drying_s[spool]):
                yield f"{spool} feeds {run.plate} before it has dried"
            if not any(spool in remark and "dry" in remark for remark in plan.remarks):
                yield f"no remark says to put {spool} to dry"


def sets_told(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name sets that are told as complete and are not, the other way round, or not at all."""
    due = _due(weekend)
    ends = {run.plate: _utc(run.end) for run in plan.runs}
    done, missed = set(plan.sets_done), dict(plan.sets_missed)
    for name, _ in weekend.sets:
        members = [task.id for task in weekend.tasks if name in task.sets]
        complete = all(plate in ends and ends[plate] <= due for plate in members)
        if (name in done) == (name in missed):
            yield f"the set {name} is not told once"
        elif complete != (name in done):
            yield f"the set {name} is {'' if complete else 'not '}complete, against what is told"
        elif not complete and not missed[name]:
            yield f"the set {name} is missed without a reason"
    lost = {name for name, _ in weekend.sets_lost}
    for name in sorted(lost - missed.keys()):
        yield f"the set {name} is lost and not told as missed"
    for name in sorted((done | missed.keys() - lost) - {name for name, _ in weekend.sets}):
        yield f"the set {name} is told of and was never asked for"


def _due(weekend: Weekend) -> datetime:
    """Return the deadline, or the last moment at which a plate could be taken off."""
    joined: dict[str, list[tuple[datetime, datetime]]] = {}
    for window in sorted(weekend.attendance, key=lambda window: _utc(window.start)):
        own = joined.setdefault(window.who, [])
        begin, end = max(_utc(window.start), _utc(weekend.start)), _utc(window.end)
        if own and begin <= own[-1][1]:
            begin, end = own[-1][0], max(end, own.pop()[1])
        own.append((begin, end))
    hands_on = timedelta(seconds=weekend.hands_on_s)
    lasts = (b - hands_on for own in joined.values() for a, b in own if b - a >= hands_on)
    last = max(lasts, default=datetime.max.replace(tzinfo=UTC))
    return last if weekend.deadline is None else min(last, _utc(weekend.deadline))


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)
