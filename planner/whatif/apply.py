"""A change applied to a job: its parts one after the other, each from job to job."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from planner.handover.coarser import coarser
from planner.whatif.hours import evenings_longer, mornings_later
from planner.whatif.parts import spared, without
from planner.whatif.shop import unattended, with_printers, with_spools

if TYPE_CHECKING:
    from planner.job.change import Change
    from planner.job.model import Job

DIRECT = ("deadline", "hands_on_s", "confidence", "finish_confidence")
"""What stands in a change as it stands in a job."""


def changed(job: Job, change: Change) -> Job:
    """Return the job as the change has it; an empty change gives the job back."""
    direct: dict[str, Any] = {
        key: value for key in DIRECT if (value := getattr(change, key)) is not None
    }
    job = replace(job, **direct) if direct else job
    job = _hours(job, change)
    job = with_printers(job, change.printers) if change.printers else job
    job = with_spools(job, change.spools) if change.spools else job
    if change.unattended is not None:
        job = unattended(job, allowed=change.unattended)
    job = without(job, change.without) if change.without else job
    job = coarser(job, change.layer_mm) if change.layer_mm is not None else job
    if change.spares is not None:
        job = spared(job, change.spares)
    return spared(job, dict(change.spares_of)) if change.spares_of else job


def _hours(job: Job, change: Change) -> Job:
    if change.mornings_later_h is not None:
        job = mornings_later(job, change.mornings_later_h)
    if change.evenings_longer_h is not None:
        job = evenings_longer(job, change.evenings_longer_h)
    if change.attendance:
        windows = sorted((*job.attendance, *change.attendance), key=lambda w: (w.start, w.end))
        job = replace(job, attendance=tuple(windows))
    return job
