"""What would make a weekend surer: more days, or fewer plates."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import inf
from typing import TYPE_CHECKING, TypeVar
from zoneinfo import ZoneInfo

import numpy as np

from planner.job.resolve_blocked import QUIET

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from planner.job.model import Blocked, Job, Window
    from planner.schedule.odds.model import Lived

    Hours = TypeVar("Hours", Window, Blocked)

DAYS_MORE = 3
"""So many days more are thought of; our own choice."""


def extended(job: Job) -> Job:
    """Return the job without a deadline, the hours of its last day repeated on the days after.

    So are the quiet hours that begin on that day: those of every day are known for two days
    more only. Maintenance is over when it is over.
    """
    if not job.attendance:
        return replace(job, deadline=None)
    zone = ZoneInfo(job.time_zone)
    last = max(window.start for window in job.attendance).astimezone(zone).date()
    machines = (
        replace(
            machine,
            blocked=(
                *machine.blocked,
                *_again([b for b in machine.blocked if b.why == QUIET], last, zone),
            ),
        )
        for machine in job.machines
    )
    attendance = (*job.attendance, *_again(job.attendance, last, zone))
    return replace(job, deadline=None, attendance=attendance, machines=tuple(machines))


def _again(hours: Sequence[Hours], last: date, zone: ZoneInfo) -> Iterator[Hours]:
    """Yield what begins on the last day once more for each of the days after it."""
    for days in range(1, DAYS_MORE + 1):
        for each in hours:
            if each.start.astimezone(zone).date() == last:
                later = timedelta(days=days)
                yield replace(each, start=each.start + later, end=each.end + later)


def fewer_plates(lived: Lived, wanted: float) -> tuple[str, ...]:
    """Return plates without which the others are all in time with the odds wanted.

    One after the other the plate goes that was late most often where nothing else was; the
    printers' time that it leaves to the others is not counted. Empty if only nothing would do.
    """
    due_s = inf if lived.due_s is None else lived.due_s
    late = np.array([[end is None or end > due_s for end in ends] for ends in lived.ends_s])
    left = list(range(len(lived.plates)))
    gone: list[str] = []
    while left and (late[:, left].sum(axis=1) == 0).mean() < wanted:
        alone = late[:, left].sum(axis=1, keepdims=True) - late[:, left] == 0
        score = alone.mean(axis=0) + late[:, left].mean(axis=0) / 1000
        gone.append(lived.plates[left.pop(int(score.argmax()))])
    return tuple(gone) if left else ()
