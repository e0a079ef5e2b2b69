"""Other hours of attendance; every function takes a job and returns another."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from datetime import date, datetime

    from planner.job.model import Job, Window

MORNING = (4, 12)
EVENING_FROM = 17
"""What counts as morning and evening, in hours of the local clock: our own choice."""


def mornings_later(job: Job, hours: float) -> Job:
    """Return the job with attendance that begins in the morning beginning later.

    What would end before it begins is dropped.
    """
    moved = (_begun_later(job, window, hours) for window in job.attendance)
    return replace(job, attendance=tuple(w for w in moved if w.start < w.end))


def evenings_longer(job: Job, hours: float) -> Job:
    """Return the job with the last ones of each evening staying longer."""
    last: dict[date, datetime] = {}
    for window in job.attendance:
        if is_evening(job, window):
            day = _local(job, window.start).date()
            last[day] = max(window.end, last.get(day, window.end))
    ends = set(last.values())
    moved = (
        replace(w, end=w.end + timedelta(hours=hours))
        if is_evening(job, w) and w.end in ends
        else w
        for w in job.attendance
    )
    return replace(job, attendance=tuple(w for w in moved if w.start < w.end))


def begins_in_the_morning(job: Job, window: Window) -> bool:
    """Tell whether attendance begins in the morning."""
    return MORNING[0] <= _local(job, window.start).hour < MORNING[1]


def is_evening(job: Job, window: Window) -> bool:
    """Tell whether attendance ends in the evening, or goes on into the night."""
    begin, end = _local(job, window.start), _local(job, window.end)
    return end.hour >= EVENING_FROM or end.date() > begin.date()


def _begun_later(job: Job, window: Window, hours: float) -> Window:
    if not begins_in_the_morning(job, window):
        return window
    return replace(window, start=window.start + timedelta(hours=hours))


def _local(job: Job, moment: datetime) -> datetime:
    return moment.astimezone(ZoneInfo(job.time_zone))
