"""Checks a plan against the weekend's rules, with no code of the solver.

Written from the rules alone, on the plan as people get it (times, not indices), so that a
slip in the search cannot hide here. All times are compared in UTC.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from planner.schedule.check_more import dried, sets_told, spools_of, two_spools

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from planner.job.model import Window
    from planner.schedule.model import PlateTask, Run, Visit, Weekend, WeekendPlan

    Span = tuple[datetime, datetime]

GRAMS = 1e-6  # slack for sums of decimal grams in floating point


def check(weekend: Weekend, plan: WeekendPlan) -> tuple[str, ...]:
    """Return every rule that the plan breaks, in words; an empty tuple if it keeps them all."""
    strangers = tuple(_unknown_names(weekend, plan))
    if strangers:
        return strangers  # the other rules look names up
    return (
        *_once_each(weekend, plan),
        *_durations(weekend, plan),
        *_never_blocked(weekend, plan),
        *_visit_of_each_run(weekend, plan),
        *_visits_in_windows(weekend, plan),
        *_one_person_one_printer(plan),
        *_printers_free(plan),
        *_taken_off_after_end(plan),
        *_left_on(weekend, plan),
        *_never_alone(weekend, plan),
        *_gates(weekend, plan),
        *_spool_fits(weekend, plan),
        *_spool_amounts(weekend, plan),
        *_spool_in_one_place(plan),
        *_spool_changes(plan),
        *two_spools(weekend, plan),
        *dried(weekend, plan),
        *sets_told(weekend, plan),
        *_totals(weekend, plan),
    )


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)


def _unknown_names(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    plates = {task.id for task in weekend.tasks}
    machines = {machine.id for machine in weekend.machines}
    spools = {spool.id for spool in weekend.spools}
    for run in plan.runs:
        fed_from = {run.spool, run.second_spool} - {None}
        if run.plate not in plates or run.machine not in machines or fed_from - spools:
            yield f"run of {run.plate} on {run.machine} from {run.spool}: no such name"
    for visit in plan.visits:
        off, on = visit.take_off, visit.start
        names = {off, on, visit.feeds} - {None}
        if visit.machine not in machines or names - plates or off == on is not None:
            yield f"visit to {visit.machine}, taking off {off}, starting {on}: no such name"


def _once_each(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    times = Counter(run.plate for run in plan.runs)
    times.update(plate for plate, _ in plan.unscheduled)
    for task in weekend.tasks:
        if times[task.id] != 1:
            yield f"{task.id} is printed or left out {times[task.id]} times, not once"
    for plate in sorted(times.keys() - {task.id for task in weekend.tasks}):
        yield f"{plate} is left out, but was never asked for"
    for plate, reason in plan.unscheduled:
        if not reason:
            yield f"{plate} is left out without a reason"


def _durations(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name runs in which the hands-on time and then the whole print do not have their time."""
    seconds = {task.id: dict(task.seconds) for task in weekend.tasks}
    changes_over = {machine.id: machine.changes_over for machine in weekend.machines}
    for run in plan.runs:
        lasts_s = (_utc(run.end) - _utc(run.start)).total_seconds()
        if run.second_spool is not None and not changes_over[run.machine]:
            lasts_s -= run.hands_on_s  # the print stands still while the spools are changed
        needs_s = seconds[run.plate].get(run.machine)
        if needs_s is None:
            yield f"{run.plate} cannot be printed on {run.machine}"
        elif (prints_s := lasts_s - run.hands_on_s) < needs_s:
            yield f"{run.plate} prints {prints_s:.0f} s on {run.machine} and needs {needs_s:.0f} s"
        elif prints_s >= needs_s + 1:
            yield f"{run.plate} holds {run.machine} for longer than its run"
        if _utc(run.start) < _utc(weekend.start):
            yield f"{run.plate} starts before the weekend"


def _never_blocked(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name runs that overlap quiet hours or maintenance of their machine."""
    blocked = {machine.id: machine.blocked for machine in weekend.machines}
    for run in plan.runs:
        for each in blocked[run.machine]:
            if _utc(run.start) < _utc(each.end) and _utc(each.start) < _utc(run.end):
                yield f"{run.plate} runs on {run.machine} during its {each.why} from {each.start}"


def _visit_of_each_run(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name runs without one visit at their time, with their spool, for the hands-on time."""
    starting: dict[str, list[Visit]] = defaultdict(list)
    for visit in plan.visits:
        if visit.start is not None:
            starting[visit.start].append(visit)
    runs = {run.plate: run for run in plan.runs}
    for plate, visits in starting.items():
        if plate not in runs or len(visits) != 1:
            yield f"{plate} is started by {len(visits)} visits and has no run or needs one"
    for run in plan.runs:
        if not any(_starts(visit, run) for visit in starting[run.plate]):
            yield f"no visit starts {run.plate} on {run.machine} at {run.start} from {run.spool}"
    for visit in plan.visits:
        stays_s = (_utc(visit.until) - _utc(visit.at)).total_seconds()
        if not weekend.hands_on_s <= stays_s < weekend.hands_on_s + 1:
            yield f"the visit to {visit.machine} at {visit.at} lasts {stays_s:.0f} s"


def _starts(visit: Visit, run: Run) -> bool:
    return (visit.machine, visit.spool, _utc(visit.at)) == (
        run.machine,
        run.spool,
        _utc(run.start),
    )


def _merged(spans: Iterable[Span]) -> list[Span]:
    """Join spans that overlap or touch."""
    out: list[Span] = []
    for begin, end in sorted((_utc(a), _utc(b)) for a, b in spans):
        if out and begin <= out[-1][1]:
            out[-1] = (out[-1][0], max(end, out[-1][1]))
        elif begin < end:
            out.append((begin, end))
    return out


def _within(spans: list[Span], begin: datetime, end: datetime) -> bool:
    return any(a <= _utc(begin) and _utc(end) <= b for a, b in spans)


def _visits_in_windows(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    for visit in plan.visits:
        own = _merged((w.start, w.end) for w in weekend.attendance if w.who == visit.who)
        if not _within(own, visit.at, visit.until):
            yield f"{visit.who} is not there for the visit to {visit.machine} at {visit.at}"


def _one_person_one_printer(plan: WeekendPlan) -> Iterator[str]:
    for who, visits in _grouped(plan.visits, "who").items():
        for one, two in pairwise(visits):
            if _utc(two.at) < _utc(one.until):
                yield f"{who} is at {one.machine} and {two.machine} at once at {two.at}"
    for machine, visits in _grouped(plan.visits, "machine").items():
        for one, two in pairwise(visits):
            if _utc(two.at) < _utc(one.until) or _utc(two.at) == _utc(one.at):
                yield f"two visits to {machine} at once at {two.at}"


def _grouped(visits: Iterable[Visit], key: str) -> dict[str, list[Visit]]:
    out: dict[str, list[Visit]] = defaultdict(list)
    for visit in sorted(visits, key=lambda visit: (_utc(visit.at), _utc(visit.until))):
        out[getattr(visit, key)].append(visit)
    return out


def _runs_by(plan: WeekendPlan, key: str) -> dict[str, list[Run]]:
    out: dict[str, list[Run]] = defaultdict(list)
    for run in sorted(plan.runs, key=lambda run: _utc(run.start)):
        out[getattr(run, key)].append(run)
    return out


def _printers_free(plan: WeekendPlan) -> Iterator[str]:
    """Name printers that would print two plates at once, or start on top of one."""
    off = {visit.take_off: visit for visit in plan.visits if visit.take_off is not None}
    for machine, runs in _runs_by(plan, "machine").items():
        for one, two in pairwise(runs):
            if _utc(two.start) < _utc(one.end):
                yield f"{two.plate} starts on {machine} before {one.plate} has ended"
            if one.plate not in off or _utc(off[one.plate].at) > _utc(two.start):
                yield f"{one.plate} is not taken off {machine} before {two.plate} starts"


def _taken_off_after_end(plan: WeekendPlan) -> Iterator[str]:
    runs = {run.plate: run for run in plan.runs}
    times = Counter(visit.take_off for visit in plan.visits if visit.take_off is not None)
    yield from (f"{plate} is taken off {n} times" for plate, n in times.items() if n > 1)
    for visit in plan.visits:
        if visit.take_off is None:
            if visit.start is None and visit.feeds is None:
                yield f"the visit to {visit.machine} at {visit.at} does nothing"
            continue
        run = runs.get(visit.take_off)
        if run is None or run.machine != visit.machine:
            yield f"{visit.take_off} is taken off {visit.machine}, where it was never printed"
        elif _utc(visit.at) < _utc(run.end):
            yield f"{run.plate} is taken off {run.machine} before it has ended"


def _left_on(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name plates that stay on their printer unsaid, or though somebody would have time."""
    off = {visit.take_off for visit in plan.visits}
    for run in plan.runs:
        if run.plate in off:
            continue
        if not any(run.plate in remark for remark in plan.remarks):
            yield f"{run.plate} is never taken off {run.machine}, and no remark says so"
        if any(_has_time(weekend, plan, window, run.end) for window in weekend.attendance):
            yield f"{run.plate} is never taken off {run.machine}, and somebody has time for it"


def _has_time(weekend: Weekend, plan: WeekendPlan, window: Window, since: datetime) -> bool:
    """Return whether between two visits of a window there is the hands-on time and 2 s more.

    Two seconds, since the plan keeps to whole ones.
    """
    free, end = max(_utc(window.start), _utc(since)), _utc(window.end)
    longest = timedelta(0)
    for visit in _grouped(plan.visits, "who")[window.who]:
        if free < _utc(visit.until):
            longest = max(longest, min(_utc(visit.at), end) - free)
            free = _utc(visit.until)
    longest = max(longest, end - free)
    return longest.total_seconds() >= weekend.hands_on_s + 2


def _never_alone(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name runs alone where that is not allowed, or for another time than stated."""
    presence = _merged((window.start, window.end) for window in weekend.attendance)
    alone_allowed = {machine.id: machine.unattended for machine in weekend.machines}
    for run in plan.runs:
        begin, end = _utc(run.start), _utc(run.end)
        if not alone_allowed[run.machine] and not _within(presence, begin, end):
            yield f"{run.plate} runs alone on {run.machine}, which must not"
        attended = sum(
            (min(end, b) - max(begin, a) for a, b in presence if a < end and begin < b), timedelta()
        )
        if abs((end - begin - attended).total_seconds() - run.alone_s) >= 1 + len(presence):
            yield f"{run.plate} runs alone for another time than the {run.alone_s:.0f} s stated"


def _gates(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    """Name plates that start before their gates are off and the check has passed in presence."""
    presence = _merged((window.start, window.end) for window in weekend.attendance)
    runs = {run.plate: run for run in plan.runs}
    off = {visit.take_off: visit for visit in plan.visits if visit.take_off is not None}
    for task in weekend.tasks:
        if task.id not in runs:
            continue
        for gate in task.gate:
            if gate not in off:
                yield f"{task.id} starts, but its gate {gate} is never taken off"
            elif _checked_s(presence, off[gate], runs[task.id]) < task.check_s:
                yield f"{task.id} starts before its gate {gate} has been checked"


def _checked_s(presence: list[Span], visit: Visit, run: Run) -> float:
    """Return the seconds of presence from the end of the visit to the start of the run."""
    begin, end = _utc(visit.until), _utc(run.start)
    if end < begin:
        return -1.0
    return sum(
        (min(end, b) - max(begin, a)).total_seconds() for a, b in presence if a < end and begin < b
    )


def _spool_fits(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    tasks = {task.id: task for task in weekend.tasks}
    spools = {spool.id: spool for spool in weekend.spools}
    for run in plan.runs:
        task = tasks[run.plate]
        for spool in (spools[name] for name in spools_of(run)):
            if task.material != spool.material or task.colour not in (None, spool.colour):
                yield f"{run.plate} is fed from {spool.id}, the wrong material or colour"


def _fed_g(tasks: dict[str, PlateTask], runs: Iterable[Run]) -> dict[str, float]:
    out: dict[str, float] = defaultdict(float)
    for run in runs:
        out[run.spool] += tasks[run.plate].grams - run.second_g
        if run.second_spool is not None:
            out[run.second_spool] += run.second_g
    return out


def _spool_amounts(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    fed = _fed_g({task.id: task for task in weekend.tasks}, plan.runs)
    left = dict(plan.spool_left_g)
    for spool in weekend.spools:
        if fed[spool.id] > spool.grams + GRAMS:
            yield f"{spool.id} feeds {fed[spool.id]:.1f} g and holds {spool.grams:.1f} g"
        elif abs(spool.grams - fed[spool.id] - left.get(spool.id, -1.0)) > GRAMS:
            yield f"what is left on {spool.id} is not what was there less what it feeds"


def _spool_in_one_place(plan: WeekendPlan) -> Iterator[str]:
    fed: dict[str, list[Run]] = defaultdict(list)
    for run in sorted(plan.runs, key=lambda run: _utc(run.start)):
        for spool in spools_of(run):
            fed[spool].append(run)
    for spool, runs in fed.items():
        for one, two in pairwise(runs):
            if _utc(two.start) < _utc(one.end):
                yield f"{spool} feeds {one.plate} and {two.plate} at once"


def _spool_changes(plan: WeekendPlan) -> Iterator[str]:
    """Name visits that are wrong about whether the spool was on that printer already."""
    place_of: dict[str | None, str] = {}
    on: dict[str, str | None] = {}
    for visit in sorted(plan.visits, key=lambda visit: _utc(visit.at)):
        if visit.start is None and visit.feeds is None:
            if visit.spool is not None or visit.second_spool or visit.change_spool:
                yield f"the visit to {visit.machine} at {visit.at} names a spool and starts nothing"
            continue
        stays = on.get(visit.machine) == visit.spool and place_of.get(visit.spool) == visit.machine
        if visit.change_spool == (stays and visit.second_spool is None):
            yield f"the visit to {visit.machine} at {visit.at} is wrong about changing the spool"
        place_of[visit.spool] = visit.machine
        on[visit.machine] = visit.second_spool or visit.spool
        place_of[on[visit.machine]] = visit.machine


def _totals(weekend: Weekend, plan: WeekendPlan) -> Iterator[str]:
    last = max((_utc(run.end) for run in plan.runs), default=None)
    stated = None if plan.finish is None else _utc(plan.finish)
    if stated != last:
        yield f"the finish is stated as {plan.finish}, and the last run ends at {last}"
    if (plan.lower_bound is None) != (last is None):
        yield "there is a lower bound without runs, or runs without one"
    elif plan.lower_bound is not None and last is not None and _utc(plan.lower_bound) > last:
        yield f"the lower bound {plan.lower_bound} is after the finish"
    for run in plan.runs:
        if not weekend.hands_on_s <= run.hands_on_s < weekend.hands_on_s + 1:
            yield f"{run.plate} is given {run.hands_on_s:.0f} s of hands-on time"
