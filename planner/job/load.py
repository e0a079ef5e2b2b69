"""The job file read, cross-checked and resolved: names looked up, times given their zone."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from planner.document import read_yaml
from planner.document.check import validate_partly
from planner.job.crosscheck import check_demand
from planner.job.faults import Faults
from planner.job.form import JobForm, PartialJobForm
from planner.job.layout.inside import walls_in_job
from planner.job.model import Assembly, Job, PlateFailures
from planner.job.moment import has_offset
from planner.job.plating import check_groups, plating_of
from planner.job.resolve_blocked import blocked_of, days_of
from planner.job.resolve_parts import part_of, settings_of
from planner.job.resolve_shop import filaments_of, machines_of, spools_of
from planner.job.resolve_times import deadline_of, moment_of, windows_of, zone_of
from planner.job.resolve_what_if import Shop, changes_of
from planner.settings.load import load_guideline

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from planner.document import Document
    from planner.job.form import AssemblyForm
    from planner.job.model import Window
    from planner.settings.model import Guideline


def load_job(path: Path) -> Job:
    """Read a job file; relative paths in it start from its own folder.

    Raises InputError with everything that is wrong with it, in the order of the file.
    """
    document = read_yaml(path)
    form, problems = validate_partly(JobForm, document, lenient=PartialJobForm)
    faults = Faults(document, list(problems))
    job = _resolved(form, document, path, faults) if form is not None else None
    faults.raise_if_any()
    if job is None:  # a form without problems always resolves, or notes why not
        raise AssertionError(path)
    return job


def _resolved(form: JobForm, document: Document, path: Path, faults: Faults) -> Job | None:
    folder = path.parent
    zone = _zone(form, faults)
    start = moment_of(form.start or None, zone, "start", faults)
    deadline = deadline_of(form.deadline, start, zone, faults)
    attendance = windows_of(form.attendance, start, zone, faults)
    settings = settings_of(form.settings, None, "settings", folder, faults)
    ready = (part_of(name, each, settings, folder, faults) for name, each in form.parts.items())
    parts = {part.name: part for part in ready if part is not None}
    days = days_of(start, (*attendance, *_more_attendance(form, start, zone, document)))
    blocked = blocked_of(form.printers, form.quiet_hours, days, zone, faults)
    cools_s = form.cool_down_min * 60
    machines = machines_of(form.printers, blocked, cools_s, folder, faults)
    spools = spools_of(form.spools, folder, faults)
    shop = Shop(machines, spools, start, zone, days, folder)
    what_if = changes_of(form, shop, faults)
    filaments = filaments_of(parts.values(), spools, faults)
    guideline = _guideline(form.guideline, folder, faults)
    check_demand(form, faults)
    check_groups(form, faults)
    walls = walls_in_job(form.wall, path, faults)
    if faults.found or start is None or guideline is None:
        return None
    return Job(
        name=form.name,
        path=path,
        time_zone=form.time_zone,
        start=start,
        deadline=deadline,
        parts=parts,
        assemblies={
            name: _assembly(name, each, document) for name, each in form.assemblies.items()
        },
        machines=machines,
        spools=spools,
        attendance=attendance,
        guideline=guideline,
        filaments=filaments,
        confidence=form.confidence,
        failure_rate=form.failure_rate,
        finish_confidence=form.finish_confidence,
        what_if=what_if,
        plate_failures=PlateFailures(
            first_layer=form.plate_failures.first_layer, per_hour=form.plate_failures.per_hour
        ),
        hands_on_s=form.hands_on_min * 60,
        fit_check_s=form.fit_check_min * 60,
        clearance_mm=form.clearance_mm,
        edge_mm=form.edge_mm,
        plating=plating_of(form, document),
        electricity_per_kwh=form.electricity_per_kwh,
        currency=form.currency,
        new_spool_g=form.new_spool_g,
        safety_factor=form.safety_factor,
        walls=walls,
    )


def _zone(form: JobForm, faults: Faults) -> ZoneInfo | None:
    """Return the time zone; UTC in place of an unknown one, if times can be compared in it."""
    known = zone_of(form.time_zone, faults) if form.time_zone else None
    times = [
        form.start,
        form.deadline,
        *(t for each in form.attendance for t in (each.begin, each.end)),
    ]
    local = not any(has_offset(time) for time in times if time)
    return known or (ZoneInfo("UTC") if local else None)


def _more_attendance(
    form: JobForm, start: datetime | None, zone: ZoneInfo | None, document: Document
) -> Iterator[Window]:
    """Yield the hours that changes add; what is wrong with them is told where those are read."""
    unsaid = Faults(document, [])
    for change in form.what_if:
        yield from windows_of(change.attendance, start, zone, unsaid)


def _guideline(ref: str, folder: Path, faults: Faults) -> Guideline | None:
    with faults.noting():
        return load_guideline(ref, faults.cited("guideline", folder))
    return None


def _assembly(name: str, form: AssemblyForm, document: Document) -> Assembly:
    return Assembly(
        name=name,
        quantity=form.quantity,
        stock=form.stock,
        contains=dict(form.contains),
        value=form.value,
        where=document.where(f"assemblies.{name}"),
    )
