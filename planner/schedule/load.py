"""A file of plates made elsewhere, read and cross-checked."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from planner.document import read_json, validate
from planner.job.blocked_form import is_daily
from planner.job.faults import Faults
from planner.job.resolve_blocked import DAYS_MAX, blocked_of, days_of, note_daily_without_zone
from planner.job.resolve_times import deadline_of, moment_of, windows_of, zone_of
from planner.schedule.faults import plate_faults
from planner.schedule.form import WeekendForm
from planner.schedule.model import MachineSlot, PlateTask, SpoolLevel, Weekend
from planner.schedule.told import schedule_document

if TYPE_CHECKING:
    from pathlib import Path

    from planner.document import Document
    from planner.schedule.form import PlateForm, SpoolForm

__all__ = ["load_weekend", "schedule_document"]

QUIET_MAX = 200_000
"""Quiet hours of all printers and days together: a year of nights on 500 printers; our own."""


def load_weekend(path: Path) -> Weekend:
    """Read plates, printers, spools and attendance from a JSON file.

    Plates that cannot be placed are no fault of the file: the plan names them with a reason.
    Raises InputError with everything that is wrong with the file, in its order.
    """
    document = read_json(path)
    form = validate(WeekendForm, document)
    faults = Faults(document)
    weekend = _resolved(form, document, faults)
    faults.raise_if_any()
    if weekend is None:  # without faults every time has been resolved
        raise AssertionError(path)
    return weekend


def _resolved(form: WeekendForm, document: Document, faults: Faults) -> Weekend | None:
    zone = ZoneInfo("UTC") if form.time_zone is None else zone_of(form.time_zone, faults)
    if form.time_zone is None:
        _note_times_without_offset(form, faults)
    start = moment_of(form.start, zone, "start", faults)
    deadline = deadline_of(form.deadline, start, zone, faults)
    attendance = windows_of(form.attendance, start, zone, faults)
    days = days_of(start, attendance)
    if _too_much_quiet(form, days, faults):
        return None
    machines = _machines(form, days, zone, faults)
    tasks = tuple(_task(plate, machines) for plate in form.plates)
    spools = tuple(_spool(each) for each in form.spools)
    sets = tuple(form.sets.items())
    for problem in plate_faults(tasks, machines, spools, sets, document.file):
        faults.found.append(replace(problem, line=document.line(problem.place)))
    if start is None or zone is None:
        return None
    told_in = datetime.fromisoformat(form.start).tzinfo if form.time_zone is None else zone
    return Weekend(
        start=start.astimezone(told_in or UTC),
        deadline=deadline,
        tasks=tasks,
        machines=machines,
        spools=spools,
        attendance=attendance,
        hands_on_s=form.hands_on_min * 60,
        sets=sets,
    )


def _too_much_quiet(
    form: WeekendForm, days: tuple[datetime, datetime] | None, faults: Faults
) -> bool:
    """Note hours of every day that would be written out more often than is any use."""
    if days is None or days[1] - days[0] > timedelta(days=DAYS_MAX):
        return False  # not known, or a fault of its own
    common = sum(is_daily(each.begin) for each in form.quiet_hours)
    own = (sum(is_daily(each.begin) for each in printer.quiet_hours) for printer in form.printers)
    most_days = (days[1] - days[0]).days + 2
    number = most_days * sum(common + each for each in own)
    if number > QUIET_MAX:
        faults.add(
            "quiet_hours",
            found=f"hours of every day that come {_thousands(number)} times, on all printers and "
            f"{most_days} days",
            expected=f"at most {_thousands(QUIET_MAX)} of them",
            remedy="join hours that follow each other, or plan fewer days",
        )
    return number > QUIET_MAX


def _thousands(number: int) -> str:
    return f"{number:,}".replace(",", " ")


def _machines(
    form: WeekendForm,
    days: tuple[datetime, datetime] | None,
    zone: ZoneInfo | None,
    faults: Faults,
) -> tuple[MachineSlot, ...]:
    blocked = blocked_of(form.printers, form.quiet_hours, days, zone, faults)
    return tuple(
        MachineSlot(
            id=each.id,
            unattended=each.unattended,
            blocked=rests,
            cool_down_s=60
            * (form.cool_down_min if each.cool_down_min is None else each.cool_down_min),
            changes_over=each.changes_over,
        )
        for each, rests in zip(form.printers, blocked, strict=True)
    )


def _spool(form: SpoolForm) -> SpoolLevel:
    return SpoolLevel(
        id=form.id,
        material=form.material,
        colour=form.colour,
        grams=form.grams,
        drying_s=form.drying_h * 3600,
    )


def _task(plate: PlateForm, machines: tuple[MachineSlot, ...]) -> PlateTask:
    seconds = plate.seconds
    if not isinstance(seconds, dict):
        seconds = {machine.id: float(seconds) for machine in machines}
    cools_s = {machine.id: machine.cool_down_s for machine in machines}
    return PlateTask(
        id=plate.id,
        seconds=tuple((name, s + cools_s.get(name, 0.0)) for name, s in sorted(seconds.items())),
        material=plate.material,
        colour=plate.colour,
        grams=plate.grams,
        gate=plate.gate,
        check_s=plate.check_min * 60,
        priority=plate.priority,
        sets=plate.sets,
    )


def _note_times_without_offset(form: WeekendForm, faults: Faults) -> None:
    note_daily_without_zone(form.quiet_hours, "quiet_hours", faults)
    for i, printer in enumerate(form.printers):
        for key, stretches in (
            ("quiet_hours", printer.quiet_hours),
            ("maintenance", printer.maintenance),
        ):
            note_daily_without_zone(stretches, f"printers[{i}].{key}", faults)
    times = [("start", form.start), ("deadline", form.deadline)]
    for i, window in enumerate(form.attendance):
        times += [(f"attendance[{i}].from", window.begin), (f"attendance[{i}].to", window.end)]
    for place, text in times:
        if text is not None and datetime.fromisoformat(text).tzinfo is None:
            faults.add(
                place,
                found=text,
                expected="a time with an offset, since there is no time_zone",
                remedy="add time_zone: a name such as Europe/Lisbon, or write the offset",
            )
