"""Audits of files: a job with all its parts, or settings by themselves; no plan is made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.audit.document import audited_job, audited_settings, named_as
from planner.audit.job import audit_job
from planner.audit.settings import audit_wholly
from planner.document.wording import suggestion
from planner.errors import input_error
from planner.handover.findings import audit_parts
from planner.handover.orientation import oriented_job
from planner.handover.parts import prepare_parts
from planner.handover.walls import with_walls
from planner.job.demand import needs
from planner.job.load import load_job
from planner.job.model import Need
from planner.progress import silent
from planner.settings.library import Cited, shipped_names
from planner.settings.load import load_filament, load_guideline, load_printer, load_settings

if TYPE_CHECKING:
    from pathlib import Path

    from planner.audit.compare import Said
    from planner.audit.model import AuditedFile, Finding
    from planner.job.model import Job, Part
    from planner.progress import Progress
    from planner.settings.model import Filament, Guideline, Printer, Settings

STOCK = "everyday"
"""Name of the guideline that holds where nobody names another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What files are to be held against.

    `guideline` is a shipped name or a path, in place of the job's own (or of `everyday`).
    With `job` and `part` settings are judged for that part of that job: its mesh, printers,
    filament, tags and exceptions. `lexicon` and
    `words` ("herzkammer=infill") are the user's words beside the shipped ones. With `strength`
    the stresses of a job's parts that carry a load are worked out.
    `printer` and `filament` (names or paths) are what a toolpath was made for; `profile` is
    what settings say that were named along with it.
    """

    guideline: str | None = None
    job: Path | None = None
    part: str | None = None
    lexicon: Path | None = None
    words: tuple[str, ...] = ()
    strength: bool = False
    printer: str | None = None
    filament: str | None = None
    profile: Said | None = None

    def rules(self) -> Guideline:
        """Return the guideline asked for, or the job's, or the stock one; raises InputError."""
        if self.guideline is None and self.job is not None:
            return load_job(self.job).guideline
        name = STOCK if self.guideline is None else self.guideline
        return load_guideline(name, Cited.option("--guideline"))

    def toolpath_printer(self) -> Printer | None:
        """Return the printer that is named, if any; raises InputError for an unknown one."""
        if self.printer is None:
            return None
        return load_printer(self.printer, Cited.option("--printer"))

    def toolpath_filament(self) -> Filament | None:
        """Return the filament that is named, if any; raises InputError for an unknown one."""
        if self.filament is None:
            return None
        return load_filament(self.filament, Cited.option("--filament"))


PLAIN = Asked()


def audit_job_file(path: Path, asked: Asked = PLAIN, progress: Progress = silent) -> AuditedFile:
    """Audit every part that a job has to print, and the job as a whole."""
    if asked.job is not None:
        raise input_error(
            path,
            found="a job file beside --job",
            expected="settings to judge for a part of that job",
            remedy="leave out --job and --part, or name a settings file",
        )
    job = with_walls(load_job(path))
    if asked.guideline is not None:
        job = replace(job, guideline=asked.rules())
    demand = needs(job)
    mode = "audit" if asked.strength else "declared"
    job, strengths = oriented_job(job, demand, mode, progress=progress)
    parts = prepare_parts(job, demand, progress=progress)
    findings = audit_parts(job, parts, strengths, progress=progress)
    return audited_job(job, (*findings, *audit_job(job, parts.ready)))


def profile_findings(path: Path, settings: Settings, asked: Asked) -> tuple[Finding, ...]:
    """Return what is to be said of whole settings of a file, by themselves or for a part."""
    if asked.job is not None:
        return findings_for_part(path, settings, asked)
    rules, filament = asked.rules(), filament_of(settings.material)
    return audit_wholly(settings, rules, filament, where=str(path))


def audit_profile(path: Path, asked: Asked = PLAIN, _progress: Progress = silent) -> AuditedFile:
    """Audit a settings profile of ours: by itself, or for the part that is asked for."""
    settings = named_as(path, load_settings(str(path.resolve())))
    return audited_settings(path, settings, profile_findings(path, settings, asked))


def findings_for_part(
    path: Path, settings: Settings, asked: Asked, *, progress: Progress = silent
) -> tuple[Finding, ...]:
    """Return what is to be said of a part of a job, if it were printed with these settings.

    Raises InputError for a part that the job does not have, or a material without a filament.
    """
    job, part = job_and_part(asked)
    given = replace(part, settings=settings, where=str(path))
    filaments = dict(job.filaments)
    if settings.material not in filaments:
        cited = Cited(file=str(path), place="material")
        filaments[settings.material] = load_filament(settings.material, cited)
    changed = replace(job, parts={part.name: given}, filaments=filaments)
    if asked.guideline is not None:
        changed = replace(changed, guideline=asked.rules())
    parts = prepare_parts(changed, [_one_copy(part.name)], progress=progress)
    return audit_parts(changed, parts, progress=progress)


def job_and_part(asked: Asked) -> tuple[Job, Part]:
    """Return the job and the part of it that settings are to be judged for."""
    if asked.job is None or asked.part is None:
        raise input_error(
            "command line",
            found="--part without --job" if asked.job is None else "--job without --part",
            expected="both of them, or neither",
            remedy="add the other one",
        )
    job = load_job(asked.job)
    if asked.part not in job.parts:
        raise input_error(
            "command line",
            place="--part",
            found=f"'{asked.part}'",
            expected=f"a part of {asked.job}",
            remedy=suggestion(asked.part, sorted(job.parts), noun="parts"),
        )
    return job, job.parts[asked.part]


def filament_of(material: str) -> Filament | None:
    """Return the shipped profile of a material, or None where there is none."""
    if material not in shipped_names("filaments"):
        return None
    return load_filament(material)


def _one_copy(part: str) -> Need:
    return Need(
        part=part, needed=1, from_stock=0, spares=0, to_print=1, odds=1.0, because="the audit"
    )
