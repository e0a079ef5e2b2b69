"""The plan on a terminal: a few tables to act on, readable in 80 columns.

Every text of the user's is passed as `Text`, never as markup, and without control characters.
Hours are written h:mm.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from planner.handover.estimates import totals_of_estimates
from planner.report import words
from planner.report.words import plain, zone_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import tzinfo

    from rich.console import Console, RenderableType

    from planner.audit.model import Finding
    from planner.handover.estimates import Estimate, EstimateTotals
    from planner.handover.model import Plan, PlannedPlate, PlateBound, ReadyPart
    from planner.nest.model import Packing
    from planner.schedule.model import Run, Visit, WeekendPlan

STYLES = {"stop": "bold red", "warn": "bold yellow", "note": "bold blue"}
Cell = str | Text


def print_plan(console: Console, plan: Plan) -> None:
    """Print the whole plan: findings first, then what to do, then what it takes."""
    print_findings(console, plan.findings, brief_notes=True)
    _print_parts(console, plan.parts)
    _print_plates(console, plan)
    print_visits(console, plan.weekend.visits, zone_of(plan))
    _print_spools(console, plan)
    _print_totals(console, plan)
    _print_cautions(console, plan.cautions)


def print_findings(
    console: Console, findings: Iterable[Finding], *, brief_notes: bool = False
) -> None:
    """Print findings, the gravest first, each with its reason and its remedy.

    With `brief_notes` the notes take one line per rule; their reasons are in the other reports.
    """
    findings = list(findings)
    if not findings:
        _say(console, "Findings: none.")
        return
    by_level = {
        level: [finding for finding in findings if str(finding.level) == level]
        for level in words.LEVELS
    }
    counts = ", ".join(f"{len(group)} {level}" for level, group in by_level.items())
    _heading(console, f"Findings: {counts}")
    notes = by_level.pop("note") if brief_notes else []
    for group in by_level.values():
        for finding in group:
            console.print(_finding(finding))
    for rule in dict.fromkeys(note.rule for note in notes):
        console.print(_brief([note for note in notes if note.rule == rule]))


def print_visits(console: Console, visits: Iterable[Visit], zone: tzinfo) -> None:
    """Print who does what when, in the time of `zone`, one block per day."""
    table = _table(f"Visits (times in {zone})", "When", "What to do", "Who")
    before = ""
    for visit in visits:
        day = words.day(visit.at, zone)
        if day != before and before:
            table.add_section()
        moment = f"{day if day != before else '':<10} {words.clock(visit.at, zone)}"
        table.add_row(*_cells(moment, words.errand(visit), visit.who))
        before = day
    _print_table(console, table, "Visits: none.")


def print_weekend(console: Console, weekend: WeekendPlan, zone: tzinfo) -> None:
    """Print a schedule by itself: runs, visits, what is left over and how good it is."""
    _print_runs(console, weekend.runs, zone)
    print_visits(console, weekend.visits, zone)
    for plate, why in weekend.unscheduled:
        _say(console, f"{plate} is not scheduled: {why}", "bold red")
    _say(console, _finish_words(weekend, zone))


def print_packing(console: Console, packing: Packing) -> None:
    """Print a packing by itself: plates, what found no place, and the bound."""
    table = _table("Plates", "Plate", "Bed", "On it", "Full")
    for number, plate in enumerate(packing.plates, start=1):
        on_it = _counted(Counter(placement.id for placement in plate.placements))
        table.add_row(*_cells(str(number), plate.bed, on_it, words.share(plate.fill)))
    _right(table, 3)
    _print_table(console, table, "Plates: none.")
    for name, copies, why in packing.unplaced:
        _say(
            console,
            f"{words.thing(copies, 'copy', 'copies')} of {name} on no plate: {why}",
            "bold red",
        )
    bound = f"no packing needs fewer than {packing.lower_bound} ({packing.bound_by})"
    _say(console, f"{words.thing(len(packing.plates), 'plate')}; {bound}.")


def print_estimate(console: Console, estimates: Iterable[Estimate]) -> None:
    """Print what each mesh takes, with the repairs that were made."""
    estimates = list(estimates)
    table = _table("Estimates", "Copies", "Mesh", "Size mm", "Layers", "Each", "Hours each")
    for each in estimates:
        size = " x ".join(f"{value:.1f}" for value in each.posed.size_mm)
        volume_mm3 = each.layering.filament_mm3
        mass = words.mass(each.filament.mass_g(volume_mm3))
        metres = f"{each.filament.length_m(volume_mm3):.2f} m"
        spent = f"{words.clock_hours(each.time.middle_s)} ({words.clock_range(each.time.range_s)})"
        layers = str(each.layering.layers)
        table.add_row(
            *_cells(str(each.quantity), each.name, size, layers, f"{mass}, {metres}", spent)
        )
    _right(table, 0, 3, 4, 5)
    _print_table(console, table, "Nothing to estimate.")
    _print_sum(console, totals_of_estimates(estimates))
    for each in estimates:
        for repair in each.posed.solid.repairs:
            _say(console, f"{each.name}: {repair.text}", "yellow")
        if not each.posed.solid.closed:
            warning = "the mesh is not closed; treat its numbers with care"
            _say(console, f"{each.name}: {warning}", "yellow")
    reasons = words.merged(reason for each in estimates for reason in each.time.reasons)
    if reasons:
        _say(console, f"What makes the ranges wide: {'; '.join(reasons)}.", "dim")


def _print_sum(console: Console, totals: EstimateTotals) -> None:
    if totals.copies < 2:
        return
    by_material = words.by_material(totals.filament_g_by_material)
    spent = f"{words.hours(totals.time_s)} ({words.hours_range(totals.time_range_s)})"
    copies = f"All {totals.copies} copies"
    _say(console, f"{copies}: {by_material}; {spent} of printing, start-up of plates aside.")


def _finding(finding: Finding) -> RenderableType:
    level = str(finding.level)
    concerns = f"{finding.part}: " if finding.part else ""
    text = Text()
    text.append(f"{level:<5}", STYLES[level])
    text.append(plain(f"{concerns}{finding.rule}"), "bold")
    text.append(plain(f": found {finding.found}; expected {finding.expected}"))
    more = Text()
    more.append(plain(f"Why: {finding.why}"))
    more.append("\nDo:  ", "bold")
    more.append(plain(finding.remedy))
    more.append("\n")
    more.append(plain(f"{finding.where}; source: {finding.source}"), "dim")
    return Group(text, Padding(more, (0, 0, 1, 5)))


def _brief(notes: list[Finding]) -> Text:
    """Say in one line whom a rule concerns, or what was found where that is the whole job."""
    whom = dict.fromkeys(note.part or note.found for note in notes)
    text = Text()
    text.append("note ", STYLES["note"])
    text.append(plain(notes[0].rule), "bold")
    text.append(plain(f": {', '.join(whom)}"))
    return text


def _print_parts(console: Console, parts: Iterable[ReadyPart]) -> None:
    table = _table("Parts", "Part", "Print", "= need", "+ spare", "Odds", "Each", "Hours each")
    for ready in parts:
        need = ready.need
        table.add_row(
            *_cells(
                ready.part.name,
                str(need.to_print),
                str(need.needed),
                str(need.spares),
                words.share(need.odds),
                words.mass(ready.grams),
                _hours_each(ready),
            )
        )
    _right(table, 1, 2, 3, 4, 5, 6)
    _print_table(console, table, "Parts: none.")


def _hours_each(ready: ReadyPart) -> str:
    """Say the time of one copy on the quickest printer, with its range."""
    times = list(ready.times.values())
    if not times:
        return "no printer"
    quickest = min(times, key=lambda time: time.middle_s)
    return f"{words.clock_hours(quickest.middle_s)} ({words.clock_range(quickest.range_s)})"


def _print_plates(console: Console, plan: Plan) -> None:
    table = _table("Plates", "Plate", "Printer", "On it", "Mass", "Hours", "Full")
    for plate in plan.plates:
        table.add_row(*_cells(*_plate_cells(plan, plate)))
    _right(table, 3, 4, 5)
    _print_table(console, table, "Plates: none.")
    _print_bounds(console, plan.plate_bounds)


def _plate_cells(plan: Plan, plate: PlannedPlate) -> list[str]:
    first = "first article, " if plate.kind == "first article" else ""
    colour = plate.colour or "any colour"
    on_it = f"{first}{plate.material} {colour}: {_counted(plate.counts)}"
    machine, seconds, _ = words.plate_time(plan, plate)
    spent = words.clock_hours(seconds)
    full = words.share(plate.fill)
    return [plate.id, machine or plate.printer.name, on_it, words.mass(plate.grams), spent, full]


def _print_bounds(console: Console, bounds: Iterable[PlateBound]) -> None:
    table = _table("How few plates any packing could do with", "Plates of", "Now", "Least", "By")
    for bound in bounds:
        now, least = str(bound.plates), str(bound.lower_bound)
        table.add_row(*_cells(bound.group, now, least, bound.bound_by))
    _right(table, 1, 2)
    _print_table(console, table, "")


def _print_runs(console: Console, runs: Iterable[Run], zone: tzinfo) -> None:
    table = _table("Runs", "Plate", "Printer", "From", "To", "Spool", "Alone")
    for run in runs:
        start, end = words.when(run.start, zone), words.when(run.end, zone)
        alone = words.clock_hours(run.alone_s) if run.alone_s > 0 else ""
        table.add_row(*_cells(run.plate, run.machine, start, end, run.spool, alone))
    _right(table, 5)
    _print_table(console, table, "Runs: none.")


def _print_spools(console: Console, plan: Plan) -> None:
    left_g = dict(plan.weekend.spool_left_g)
    table = _table("Spools", "Spool", "Filament", "Before", "Used", "Left after")
    for spool in plan.job.spools:
        left = left_g.get(spool.name, spool.left_g)
        kind = f"{spool.filament.material}, {spool.colour}"
        used = words.mass(spool.left_g - left)
        cells = (spool.name, kind, words.mass(spool.left_g), used, words.mass(left))
        table.add_row(*_cells(*cells))
    _right(table, 2, 3, 4)
    _print_table(console, table, "Spools: none.")


def _print_totals(console: Console, plan: Plan) -> None:
    totals, currency = plan.totals, plan.job.currency
    cost = totals.filament_cost + totals.energy_cost
    hours = f"{words.hours(totals.print_s)} ({words.hours_range(totals.print_range_s)})"
    finish = _finish_words(plan.weekend, zone_of(plan))
    rows = [
        ("Copies", f"{totals.copies} on {words.thing(totals.plates, 'plate')}"),
        ("Filament", words.by_material(totals.filament_g_by_material)),
        ("Printing", hours),
        ("Hands-on", words.hours(totals.hands_on_s)),
        ("Electricity", f"{totals.energy_kwh:.1f} kWh"),
        ("Cost", f"{cost:.2f} {currency} (electricity {totals.energy_cost:.2f} {currency})"),
        ("Odds", f"{words.share(plan.odds)} that every part comes out in number"),
        ("Finish", f"{finish}{_deadline_words(plan)}"),
    ]
    table = _table("Totals")
    for name, text in rows:
        table.add_row(*_cells(name, text))
    _print_table(console, table, "")


def _finish_words(weekend: WeekendPlan, zone: tzinfo) -> str:
    if weekend.finish is None:
        return "nothing is scheduled"
    said = f"{words.day(weekend.finish, zone)} {words.clock(weekend.finish, zone)}"
    if weekend.lower_bound is None:
        return said
    bound = f"{words.day(weekend.lower_bound, zone)} {words.clock(weekend.lower_bound, zone)}"
    return f"{said}; no plan for these plates ends before {bound} ({weekend.bound_by})"


def _deadline_words(plan: Plan) -> str:
    deadline, finish = plan.job.deadline, plan.weekend.finish
    if deadline is None or finish is None:
        return ""
    zone = zone_of(plan)
    verdict = "after" if finish > deadline else "before"
    said = f"{words.day(deadline, zone)} {words.clock(deadline, zone)}"
    return f"; {verdict} the deadline, {said}"


def _print_cautions(console: Console, cautions: Iterable[str]) -> None:
    cautions = list(cautions)
    if cautions:
        _heading(console, "Cautions")
    for caution in cautions:
        _say(console, f"- {caution}")


def _table(title: str, *columns: str) -> Table:
    table = Table(
        title=title,
        title_justify="left",
        title_style="bold",
        box=box.SIMPLE_HEAD if columns else None,
        show_header=bool(columns),
        show_edge=False,
        pad_edge=False,
    )
    for column in columns:
        table.add_column(column, overflow="fold")
    return table


def _right(table: Table, *columns: int) -> None:
    for column in columns:
        table.columns[column].justify = "right"


def _cells(*texts: str) -> list[Text]:
    return [Text(plain(text)) for text in texts]


def _counted(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{counts[name]} {name}" for name in sorted(counts))


def _print_table(console: Console, table: Table, if_empty: str) -> None:
    if table.row_count:
        console.print()
        console.print(table)
    elif if_empty:
        _say(console, if_empty)


def _heading(console: Console, text: str) -> None:
    console.print()
    console.print(Text(text, "bold"))


def _say(console: Console, text: str, style: str = "") -> None:
    console.print(Text(plain(text), style))
