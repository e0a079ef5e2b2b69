"""Run sheets to pin to the wall: a page per printer with its plates in order.

A sheet tells what to fit and feed, which plate when, how it lies, and has boxes to tick.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from planner.audit.cautions import FIRE
from planner.audit.words import listed
from planner.report import words
from planner.report.drawing import draw_plan_plate, part_numbers
from planner.report.errands import alone_words, check_words, gate_words
from planner.report.page import drawn, style, template
from planner.report.palette import kind_class

if TYPE_CHECKING:
    from planner.handover.model import Plan, PlannedPlate
    from planner.report.roster import Roster
    from planner.schedule.model import Run

View = dict[str, Any]
BLOCKS_MOST = 8
"""So many stretches in which a printer must not run are told: invented."""
AT_THE_PRINTER = ("Fire:", "Fumes:")
"""Cautions that belong beside a printer; those for the wall stay in the plan."""


def sheets_html(roster: Roster, plan: Plan | None = None) -> str:
    """Return the page as text; the same roster gives the same bytes.

    Pictures, settings and counts come from the `plan`; plates made elsewhere have none.
    """
    cautions = (FIRE,) if plan is None else plan.cautions
    return template("sheets.html.j2").render(
        style=style(),
        name=roster.name,
        zone=str(roster.zone),
        sheets=[_sheet(roster, plan, machine.id) for machine in roster.weekend.machines],
        cautions=[text for text in cautions if text.startswith(AT_THE_PRINTER)],
    )


def _sheet(roster: Roster, plan: Plan | None, machine: str) -> View:
    runs = [run for run in roster.made.runs if run.machine == machine]
    plates = [roster.plates[run.plate] for run in runs if run.plate in roster.plates]
    grams = sum(roster.tasks[run.plate].grams for run in runs)
    copies = sum(len(plate.placements) for plate in plates)
    told = (
        _profile(plan, machine),
        words.thing(len(runs), "plate"),
        words.thing(copies, "copy", "copies") if plates else "",
        words.mass(grams),
    )
    return {
        "machine": machine,
        "nozzle": _nozzle(plan, machine, plates),
        "about": ", ".join(text for text in told if text),
        "rows": [_row(roster, plan, run) for run in runs],
        "alone": [alone_words(run) for run in runs if run.alone_s > 0],
        "blocked": _blocked(roster, machine),
    }


def _blocked(roster: Roster, machine: str) -> str:
    """Say when it must not run, up to a day after its last run: one that is late may reach it."""
    runs = [run.end for run in roster.made.runs if run.machine == machine]
    own = next(each for each in roster.weekend.machines if each.id == machine)
    first = roster.weekend.start
    told = [
        f"{words.when(max(block.start, first), roster.zone)} to "
        f"{words.when(block.end, roster.zone)}"
        for block in own.blocked
        if runs and block.end > first and block.start < max(runs) + timedelta(days=1)
    ]
    more = [f"{len(told) - BLOCKS_MOST} times more"] if len(told) > BLOCKS_MOST else []
    return listed((*told[:BLOCKS_MOST], *more))


def _profile(plan: Plan | None, machine: str) -> str:
    profiles = {m.name: m.printer.name for m in plan.job.machines} if plan else {}
    return profiles.get(machine, "").removesuffix(f" ({machine})")


def _nozzle(plan: Plan | None, machine: str, plates: list[PlannedPlate]) -> str:
    """Say which nozzle the plates ask for, else which is fitted; nothing if nobody knows."""
    fitted = [m.printer.nozzle_mm for m in plan.job.machines if m.name == machine] if plan else []
    nozzles = sorted({plate.nozzle_mm for plate in plates}) or fitted
    return " and ".join(f"{nozzle:g} mm" for nozzle in nozzles)


def _row(roster: Roster, plan: Plan | None, run: Run) -> View:
    zone, task = roster.zone, roster.tasks[run.plate]
    known = {} if plan is None else _known(plan, roster.plates[run.plate], run.machine)
    return {
        "id": run.plate,
        "day": words.day(run.start, zone),
        "start": words.clock(run.start, zone),
        "end": words.when(run.end, zone),
        "took": words.hours((run.end - run.start).total_seconds()),
        "spool": f"{words.both_spools(run)} ({roster.filament(run.spool)})",
        "grams": task.grams,
        "gate": gate_words(task),
        "check": check_words(roster, run.plate),
        "change": _change(roster, run),
        "drawing": "",
        "settings": "",
        "contents": [],
        "copies": "",
        "range": "",
        **known,
    }


def _known(plan: Plan, plate: PlannedPlate, machine: str) -> View:
    """Return what only a plan knows of a plate."""
    numbers, ranges = part_numbers(plan), plate.ranges_s
    return {
        "drawing": drawn(draw_plan_plate(plan, plate)),
        "settings": _settings(plan, plate),
        "contents": [
            {"number": numbers[name], "css": kind_class(numbers[name]), "name": name, "count": n}
            for name, n in plate.counts.items()
        ],
        "copies": words.thing(len(plate.placements), "copy", "copies"),
        "range": words.hours_range(ranges[machine]) if machine in ranges else "",
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
