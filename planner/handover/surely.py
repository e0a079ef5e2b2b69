"""What would make a weekend surer: more days, or fewer plates."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import inf
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

if TYPE_CHECKING:
    from planner.job.model import Job
    from planner.schedule.odds.model import Lived

DAYS_MORE = 3
"""So many days more are thought of."""


def extended(job: Job) -> Job:
    """Return the job without a deadline, the hours of its last day repeated on the days after."""
    if not job.attendance:
        return replace(job, deadline=None)
    zone = ZoneInfo(job.time_zone)
    last = max(window.start for window in job.attendance).astimezone(zone).date()
    day = [w for w in job.attendance if w.start.astimezone(zone).date() == last]
    more = [
        replace(w, start=w.start + timedelta(days=days), end=w.end + timedelta(days=days))
        for days in range(1, DAYS_MORE + 1)
        for w in day
    ]
    return replace(job, deadline=None, attendance=(*job.attendance, *more))


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
