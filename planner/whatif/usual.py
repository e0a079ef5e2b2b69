"""The changes that are compared where the job names none: those that could matter for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta, timezone
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from planner.handover.coarser import COARSE_MM, may_be_coarser
from planner.job.change import Change
from planner.job.model import Spool, Window
from planner.whatif.hours import begins_in_the_morning, is_evening

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.handover.model import Plan
    from planner.job.model import Job

LATER_H = 2.0
WANTED = 0.9
EVENING = (time(18), time(22))
PRINTERS_MOST = 4
"""All these are our own choice."""
LOW_G = 50.0
"""A spool with less left after the plan counts as short; as the plan's page marks it."""


def usual_changes(plan: Plan) -> tuple[Change, ...]:
    """Return changes that suit the job, from its plan: where it is short, and what it leaves."""
    job = plan.job
    return (
        *_printer_more(job),
        *_coarser(job),
        *_other_hours(job),
        *_another_spool(plan),
        *_spares(plan),
        *_alone(job),
        *_surer(job),
    )


def _printer_more(job: Job) -> Iterator[Change]:
    seen: set[str] = set()
    taken = {machine.name for machine in job.machines}
    for machine in job.machines:
        name = f"another {machine.name}"
        if machine.printer.name not in seen and name not in taken and len(seen) < PRINTERS_MOST:
            seen.add(machine.printer.name)
            yield Change(name=name, printers=(replace(machine, name=name),))


def _coarser(job: Job) -> Iterator[Change]:
    if any(may_be_coarser(job, part, COARSE_MM) for part in job.parts.values()):
        yield Change(name=f"layers of {COARSE_MM:g} mm", layer_mm=COARSE_MM)


def _other_hours(job: Job) -> Iterator[Change]:
    ahead = [window for window in job.attendance if window.end > job.start]
    if any(begins_in_the_morning(job, w) and w.start > job.start for w in ahead):
        yield Change(name=f"mornings {LATER_H:g} h later", mornings_later_h=LATER_H)
    if any(is_evening(job, window) for window in ahead):
        yield Change(name=f"evenings {LATER_H:g} h longer", evenings_longer_h=LATER_H)
    evening = _free_evening(job)
    if evening is not None:
        day = evening.start.astimezone(ZoneInfo(job.time_zone))
        yield Change(name=f"an evening more, {day:%Y-%m-%d}", attendance=(evening,))


def _free_evening(job: Job) -> Window | None:
    """Return the first evening, before the end of all, on which nobody is there."""
    zone = ZoneInfo(job.time_zone)
    last = max((window.end for window in job.attendance), default=job.start)
    end = last if job.deadline is None else min(last, job.deadline)
    day = job.start.astimezone(zone).date()
    while day <= end.astimezone(zone).date():
        # A fixed offset, as all times of a job have one: see `planner.job.moment`.
        begin, until = (_fixed(datetime.combine(day, clock), zone) for clock in EVENING)
        busy = any(w.start < until and begin < w.end for w in job.attendance)
        if not busy and job.start <= begin and until <= end:
            return Window(who="somebody", start=begin, end=until)
        day += timedelta(days=1)
    return None


def _fixed(local: datetime, zone: ZoneInfo) -> datetime:
    aware = local.replace(tzinfo=zone)
    return aware.replace(tzinfo=timezone(aware.utcoffset() or timedelta()))


def _another_spool(plan: Plan) -> Iterator[Change]:
    """Yield a full spool more of what is scarcest, if anything is short."""
    left_g = dict(plan.weekend.spool_left_g)
    by_kind: dict[tuple[str, str], list[Spool]] = {}
    for spool in plan.job.spools:
        by_kind.setdefault((spool.filament.material, spool.colour), []).append(spool)
    scarce = sorted(
        (max(left_g.get(spool.name, spool.left_g) for spool in spools), kind)
        for kind, spools in by_kind.items()
        if any(left_g.get(spool.name, spool.left_g) < spool.left_g for spool in spools)
        or plan.weekend.unscheduled
    )
    odds = plan.weekend_odds
    short = odds is not None and odds.short_of_filament >= 0.005
    if scarce and (scarce[0][0] < LOW_G or short or plan.weekend.unscheduled):
        like = by_kind[scarce[0][1]][0]
        new = replace(like, name=f"another {like.name}", left_g=plan.job.new_spool_g)
        yield Change(name=f"a new spool of {like.colour} {like.filament.material}", spools=(new,))


def _spares(plan: Plan) -> Iterator[Change]:
    if any(ready.need.spares for ready in plan.parts):
        yield Change(name="no spares", spares=0)
    advice = plan.spares
    if advice is not None and any(row.worth != row.spares for row in advice.rows):
        worth = tuple((row.part, row.worth) for row in advice.rows)
        yield Change(name="spares as advised", spares_of=worth)


def _alone(job: Job) -> Iterator[Change]:
    if not all(machine.unattended for machine in job.machines):
        yield Change(name="all printers may run alone", unattended=True)


def _surer(job: Job) -> Iterator[Change]:
    if job.finish_confidence is None:
        yield Change(name=f"planned for {100 * WANTED:g} %", finish_confidence=WANTED)
