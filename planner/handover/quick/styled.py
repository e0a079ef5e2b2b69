"""Walls in other settings than the job's, and what a guideline says of the settings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.audit.order import in_order
from planner.audit.settings import audit_wholly
from planner.errors import input_error
from planner.settings.library import Cited
from planner.settings.load import load_filament, load_guideline, load_settings

if TYPE_CHECKING:
    from planner.audit.model import Finding
    from planner.handover.walls import WallAnswer
    from planner.job.model import Job


def restyled(answer: WallAnswer, *, settings: str | None, guideline: str | None) -> WallAnswer:
    """Return the walls with every part in these settings, held against this guideline.

    Both are shipped names or paths; None keeps what the job says. Raises InputError for an
    unknown name, and for a wall file, which has no parts to print.
    """
    if settings is None and guideline is None:
        return answer
    if answer.job is None:
        option = "--settings" if settings is not None else "--guideline"
        raise input_error(
            answer.counted.walls.path,
            found=f"{option} with a wall file by itself",
            expected="a job file, which says what the parts are",
            remedy=f"name a job with the key wall, or leave out {option}",
        )
    job = answer.job
    if settings is not None:
        job = _in_settings(job, settings)
    if guideline is not None:
        job = replace(job, guideline=load_guideline(guideline, Cited.option("--guideline")))
    return replace(answer, job=job)


def settings_findings(answer: WallAnswer) -> tuple[Finding, ...]:
    """Return what the job's guideline and physics say of the settings of all parts to print."""
    job = answer.job
    if job is None:
        return ()
    wanted = [job.parts[need.part] for need in answer.needs if need.to_print]
    return in_order(
        finding
        for part in wanted
        for finding in audit_wholly(
            part.settings,
            job.guideline,
            job.filaments.get(part.settings.material),
            part=part.name,
            tags=part.tags,
            exceptions=part.exceptions,
            where=part.where,
        )
    )


def _in_settings(job: Job, name: str) -> Job:
    settings = load_settings(name, Cited.option("--settings"))
    filaments = dict(job.filaments)
    if settings.material not in filaments:
        filaments[settings.material] = load_filament(settings.material, Cited.option("--settings"))
    parts = {each.name: replace(each, settings=settings) for each in job.parts.values()}
    return replace(job, parts=parts, filaments=filaments)
