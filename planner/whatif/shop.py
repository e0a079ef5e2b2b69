"""Other printers and spools; every function takes a job and returns another."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.job.model import Job, Machine, Spool


def with_printers(job: Job, more: Sequence[Machine]) -> Job:
    """Return the job with more printers."""
    return replace(job, machines=(*job.machines, *more))


def with_spools(job: Job, more: Sequence[Spool]) -> Job:
    """Return the job with more spools; they bring their filament if the job knows none of it."""
    filaments = {spool.filament.material: spool.filament for spool in more}
    return replace(job, spools=(*job.spools, *more), filaments={**filaments, **job.filaments})


def unattended(job: Job, *, allowed: bool) -> Job:
    """Return the job with every printer running with nobody there, or none."""
    return replace(job, machines=tuple(replace(m, unattended=allowed) for m in job.machines))
