"""Walls of a job counted, and what they need handed to the job's demand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.errors import input_error
from planner.job.demand import needs
from planner.job.form import COPIES_MAX
from planner.job.model import Wanted
from planner.wall.count import count_walls, with_fixings
from planner.wall.mounting.mount import mount

if TYPE_CHECKING:
    from planner.job.layout.model import Walls
    from planner.job.model import Job
    from planner.wall.model import Counted, Mounting


def counted_and_mounted(walls: Walls) -> tuple[Counted, Mounting]:
    """Fill and count the walls, choose their screws, and count what goes at those.

    Raises InputError for a wall that cannot be built as it was told.
    """
    counted = count_walls(walls)
    mounting = mount(counted)
    return with_fixings(counted, mounting.fixings), mounting


def with_walls(job: Job, counted: Counted | None = None) -> Job:
    """Return the job with what its walls need; the same job if it has none, or they are in it.

    `counted` spares the counting where it has been done. Raises InputError for a wall that
    cannot be built, and for more copies than a workshop prints.
    """
    if job.walls is None or job.by_walls:
        return job
    if counted is None:
        counted, _ = counted_and_mounted(job.walls)
    wanted = {
        each.part: Wanted(count=each.count, because=each.because)
        for each in counted.counts
        if not each.bought
    }
    _refuse_too_many(job, sum(each.count for each in wanted.values()))
    walled = replace(job, by_walls=wanted)
    _refuse_too_many(job, sum(need.to_print for need in needs(walled)))
    return walled


def _refuse_too_many(job: Job, copies: int) -> None:
    if copies > COPIES_MAX:
        raise input_error(
            job.path,
            place="wall",
            found=f"{copies:,} copies to print".replace(",", " "),
            expected=f"at most {COPIES_MAX:,} in all".replace(",", " "),
            remedy="check the sizes of the walls; or split the job",
        )
