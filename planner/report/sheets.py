"""Run sheets to pin to the wall: a page per printer with its plates in order.

A sheet tells what to fit and feed, which plate when, how it lies, and has boxes to tick.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.report import words
from planner.report.drawing import draw_plan_plate, part_numbers
from planner.report.errands import alone_words, check_words, gate_words
from planner.report.page import drawn, style, template
from planner.report.palette import kind_class
from planner.report.roster import roster_of_plan

if TYPE_CHECKING:
    from planner.handover.model import Plan, PlannedPlate
    from planner.job.model import Machine
    from planner.report.roster import Roster
    from planner.schedule.model import Run

View = dict[str, Any]
AT_THE_PRINTER = ("Fire:", "Fumes:")
"""Cautions that belong beside a printer; those for the wall stay in the plan."""


def sheets_html(plan: Plan) -> str:
    """Return the page as text; the same plan gives the same bytes."""
    roster = roster_of_plan(plan)
    return template("sheets.html.j2").render(
        style=style(),
        name=plan.job.name,
        zone=plan.job.time_zone,
        sheets=[_sheet(plan, roster, machine) for machine in plan.job.machines],
        cautions=[text for text in plan.cautions if text.startswith(AT_THE_PRINTER)],
    )


def _sheet(plan: Plan, roster: Roster, machine: Machine) -> View:
    runs = [run for run in plan.weekend.runs if run.machine == machine.name]
    plates = [roster.plates[run.plate] for run in runs]
    nozzles = sorted({plate.nozzle_mm for plate in plates}) or [machine.printer.nozzle_mm]
    return {
        "machine": machine.name,
        "profile": machine.printer.name.removesuffix(f" ({machine.name})"),
        "nozzle": " and ".join(f"{nozzle:g} mm" for nozzle in nozzles),
        "unattended": machine.unattended,
        "rows": [_row(plan, roster, run, plate) for run, plate in zip(runs, plates, strict=True)],
        "alone": [alone_words(run) for run in runs if run.alone_s > 0],
        "total": _total(plates),
    }


def _total(plates: list[PlannedPlate]) -> str:
    copies = sum(len(plate.placements) for plate in plates)
    grams = words.mass(sum(plate.grams for plate in plates))
    return f"{words.thing(len(plates), 'plate')}, {words.thing(copies, 'copy', 'copies')}, {grams}"


def _row(plan: Plan, roster: Roster, run: Run, plate: PlannedPlate) -> View:
    zone, numbers = roster.zone, part_numbers(plan)
    took_s = (run.end - run.start).total_seconds()
    return {
        "id": plate.id,
        "kind": plate.kind,
        "day": words.day(run.start, zone),
        "start": words.clock(run.start, zone),
        "end": words.when(run.end, zone),
        "took": words.hours(took_s),
        "range": words.hours_range(plate.ranges_s[run.machine])
        if run.machine in plate.ranges_s
        else "",
        "drawing": drawn(draw_plan_plate(plan, plate)),
        "spool": f"{words.both_spools(run)} ({roster.filament(run.spool)})",
        "settings": _settings(plan, plate),
        "contents": [
            {"number": numbers[name], "css": kind_class(numbers[name]), "name": name, "count": n}
            for name, n in plate.counts.items()
        ],
        "copies": words.thing(len(plate.placements), "copy", "copies"),
        "grams": plate.grams,
        "gate": gate_words(roster.tasks[plate.id]),
        "check": check_words(roster, plate.id),
        "change": _change(roster, run),
    }


def _change(roster: Roster, run: Run) -> str:
    """Say when the second spool takes over, where there is one."""
    if run.second_spool is None:
        return ""
    moment = "" if run.change_at is None else f" about {words.when(run.change_at, roster.zone)}"
    return f"{run.second_spool} takes over{moment}, for the last {words.mass(run.second_g)}"


def _settings(plan: Plan, plate: PlannedPlate) -> str:
    """Say what to set: layers, nozzle, material and the temperatures of what lies on it."""
    parts = [ready.part.settings for ready in plan.parts if ready.part.name in plate.counts]
    nozzle = _degrees({settings.nozzle_c for settings in parts})
    bed = _degrees({settings.bed_c for settings in parts})
    return (
        f"{plate.material}, layers {plate.layer_mm:g} mm, nozzle {plate.nozzle_mm:g} mm at "
        f"{nozzle}, bed {bed}"
    )


def _degrees(values: set[float]) -> str:
    """Say one temperature, or the lowest and highest.

    >>> _degrees({210.0}), _degrees({205.0, 210.0})
    ('210 \u00b0C', '205 to 210 \u00b0C')
    """
    ends = sorted({min(values), max(values)}) if values else []
    return " to ".join(f"{value:g}" for value in ends) + " \u00b0C"
