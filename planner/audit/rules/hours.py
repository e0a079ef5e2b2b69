"""Deadline and attendance, before any plan is made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.model import Finding
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from planner.job.model import Job


def attendance(job: Job) -> Iterator[Finding]:
    """Stop a job in which nobody is there to start a plate; note a window gone by."""
    ahead = [window for window in job.attendance if window.end > job.start]
    if not ahead:
        yield _hours(
            job,
            "attendance",
            Level.STOP,
            found="nobody in attendance after the start"
            if job.attendance
            else "nobody in attendance",
            expected=f"a window that ends after {_when(job.start)}",
            why="a person starts every plate",
            remedy="add who is there, from and to, under attendance",
        )
        return
    for window in sorted(set(job.attendance) - set(ahead), key=lambda w: (w.start, w.who)):
        yield _hours(
            job,
            "attendance",
            Level.NOTE,
            where=window.where,
            found=f"{window.who} until {_when(window.end)}, before the start",
            expected=f"a window that ends after {_when(job.start)}",
            why="nothing can be done in it",
            remedy="remove the window, or move start: earlier",
        )


def deadline(job: Job, print_s: float = 0.0) -> Iterator[Finding]:
    """Hold the deadline against attendance and the sum of all printing times.

    `print_s` over the number of machines is a bound that no plan can beat.
    """
    if job.deadline is None:
        return
    if not any(window.start < job.deadline for window in job.attendance):
        yield _late(job, "nobody is there before it", "attendance before the deadline")
        return
    span_s = (job.deadline - job.start).total_seconds()
    count = len(job.machines)
    if count and print_s / count > span_s:
        yield _late(
            job,
            f"{print_s / 3600:.1f} h of printing on {count} printer{'' if count == 1 else 's'}",
            f"at most {span_s * count / 3600:.1f} h, "
            f"{span_s / 3600:.1f} h between start and deadline on each",
        )


def _late(job: Job, found: str, expected: str) -> Finding:
    when = "" if job.deadline is None else _when(job.deadline)
    return _hours(
        job,
        "deadline",
        Level.WARN,
        found=f"deadline {when}: {found}",
        expected=expected,
        why="whatever the plan, not everything is finished in time",
        remedy="move the deadline, add a printer, or lower the quantities",
    )


def _hours(
    job: Job,
    rule: str,
    level: Level,
    *,
    found: str,
    expected: str,
    why: str,
    remedy: str,
    where: str = "",
) -> Finding:
    return Finding(
        rule=rule,
        level=level,
        part="",
        where=where or str(job.path),
        found=found,
        expected=expected,
        why=why,
        remedy=remedy,
        source=sources.ARITHMETIC,
    )


def _when(time: datetime) -> str:
    return time.isoformat(timespec="minutes")
