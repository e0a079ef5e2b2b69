"""Audits of files: a job with all its parts, or settings by themselves; no plan is made."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.audit.document import audit_settings_file, audited_job
from planner.audit.job import audit_job
from planner.document import read_yaml
from planner.handover.findings import audit_parts
from planner.handover.parts import prepare_parts
from planner.job.demand import needs
from planner.job.load import load_job
from planner.progress import silent
from planner.settings.library import Cited
from planner.settings.load import load_filament, load_guideline, load_settings

if TYPE_CHECKING:
    from pathlib import Path

    from planner.audit.model import AuditedFile
    from planner.progress import Progress


def audit_file(
    path: Path, *, guideline: str | None = None, progress: Progress = silent
) -> AuditedFile:
    """Audit a job file or a settings file, told apart by what it holds.

    `guideline` is a shipped name or a path, in place of the job's own (or of `everyday`).
    """
    if "parts" in read_yaml(path).data:
        return audit_job_file(path, guideline=guideline, progress=progress)
    settings = load_settings(str(path.resolve()))
    rules = load_guideline(guideline or "everyday", Cited.option("--guideline"))
    filament = load_filament(settings.material)
    return audit_settings_file(path, settings, rules, filament)


def audit_job_file(
    path: Path, *, guideline: str | None = None, progress: Progress = silent
) -> AuditedFile:
    """Audit every part that a job has to print, and the job as a whole."""
    job = load_job(path)
    if guideline is not None:
        job = replace(job, guideline=load_guideline(guideline, Cited.option("--guideline")))
    parts = prepare_parts(job, needs(job), progress=progress)
    findings = audit_parts(job, parts, progress=progress)
    return audited_job(job, (*findings, *audit_job(job, parts.ready)))
