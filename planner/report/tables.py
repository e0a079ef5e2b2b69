"""Runs and parts as CSV (RFC 4180: CRLF, quotes doubled), safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from planner.report.words import iso, number, plain, up_name, zone_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.handover.model import Plan, PlannedPlate, PlateCost, ReadyPart
    from planner.report.roster import Roster

Cell = str | float

RUN_COLUMNS = (
    *("plate", "printer", "start", "end", "spool", "material", "colour", "copies"),
    *("filament_g", "hands_on_s", "alone_s", "contents"),
    *("filament_cost", "energy_cost", "wear_cost", "cost", "currency", "second_spool"),
)
PART_COLUMNS = (
    *("part", "mesh", "up", "material", "colour", "needed", "from_stock", "spares", "to_print"),
    *("odds", "because", "layers", "height_mm", "volume_mm3", "filament_g"),
    *("printer", "time_s", "time_low_s", "time_high_s"),
)
ROSTER_COLUMNS = (
    *("plate", "printer", "start", "end", "spool", "material", "colour", "filament_g"),
    *("hands_on_s", "alone_s", "second_spool"),
)
SHOPPING_COLUMNS = (
    *("material", "colour", "need_g", "need_low_g", "need_high_g", "shelf_g", "short_g"),
    *("spools", "spool_g", "price_per_kg", "cost", "currency", "without_spool"),
)
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def runs_csv(plan: Plan) -> str:
    """Return one line per run, in the order of the plan; times with their offset."""
    plates = {plate.id: plate for plate in plan.plates}
    costs = {cost.plate: cost for cost in plan.costs}
    zone = zone_of(plan)
    return _table(
        RUN_COLUMNS,
        (
            [
                run.plate,
                run.machine,
                iso(run.start, zone),
                iso(run.end, zone),
                run.spool,
                *_plate_cells(plates[run.plate]),
                number(run.hands_on_s),
                number(run.alone_s),
                ", ".join(f"{n} {name}" for name, n in plates[run.plate].counts.items()),
                *_cost_cells(costs.get(run.plate), plan.job.currency),
                run.second_spool or "",
            ]
            for run in plan.weekend.runs
        ),
    )


def roster_csv(roster: Roster) -> str:
    """Return one line per run of plates made elsewhere, in the order of the plan."""
    tasks, zone = roster.tasks, roster.zone
    return _table(
        ROSTER_COLUMNS,
        (
            [
                run.plate,
                run.machine,
                iso(run.start, zone),
                iso(run.end, zone),
                run.spool,
                tasks[run.plate].material,
                tasks[run.plate].colour or "any",
                number(tasks[run.plate].grams),
                number(run.hands_on_s),
                number(run.alone_s),
                run.second_spool or "",
            ]
            for run in roster.made.runs
        ),
    )


def parts_csv(plan: Plan) -> str:
    """Return one line per kind of part and printer profile; masses and times per copy."""
    return _table(PART_COLUMNS, (row for ready in plan.parts for row in _part_rows(ready)))


def shopping_csv(plan: Plan) -> str:
    """Return one line per material and colour: what is needed, there, and to be bought."""
    return _table(
        SHOPPING_COLUMNS,
        (
            [
                line.material,
                line.colour or "any",
                number(line.need_g),
                *(number(end) for end in line.need_range_g),
                number(line.shelf_g),
                number(line.short_g),
                line.spools,
                number(line.spool_g),
                number(line.price_per_kg, 4),
                number(line.cost, 2),
                plan.job.currency,
                " ".join(line.without_spool),
            ]
            for line in plan.shopping
        ),
    )


def text_cell(text: str) -> str:
    """Return text that a spreadsheet takes for text: a leading = + - @ gets a quote before it.

    >>> text_cell("=1+1"), text_cell("panel")
    ("'=1+1", 'panel')
    """
    shown = plain(text)
    return f"'{shown}" if shown.lstrip().startswith(_FORMULA_STARTS) else shown


def _plate_cells(plate: PlannedPlate) -> list[Cell]:
    return [plate.material, plate.colour or "any", len(plate.placements), number(plate.grams)]


def _cost_cells(cost: PlateCost | None, currency: str) -> list[Cell]:
    if cost is None:
        return ["", "", "", "", currency]
    money = (cost.filament, cost.electricity, cost.wear, cost.cost)
    return [*(number(value, 4) for value in money), currency]


def _part_rows(ready: ReadyPart) -> list[list[Cell]]:
    need = ready.need
    common: list[Cell] = [
        ready.part.name,
        ready.part.mesh.name,
        up_name(ready.posed.up),
        ready.filament.material,
        ready.part.colour or "any",
        need.needed,
        need.from_stock,
        need.spares,
        need.to_print,
        number(need.odds, 4),
        need.because,
        ready.layering.layers,
        number(float(ready.layering.height_mm.sum())),
        number(ready.posed.solid.volume_mm3),
        number(ready.grams),
    ]
    rows: list[list[Cell]] = [
        [*common, name, number(time.middle_s), *(number(end) for end in time.range_s)]
        for name, time in ready.times.items()
    ]
    return rows or [[*common, "", "", "", ""]]


def _table(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(columns)
    for row in rows:
        writer.writerow([text_cell(cell) if isinstance(cell, str) else cell for cell in row])
    return text.getvalue()
