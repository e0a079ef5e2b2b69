"""The plan on a terminal: a few tables to act on, readable in 80 columns.

Hours are written h:mm.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.audit.cautions import FIRE
from planner.report import money, sizes, surely, words
from planner.report.bars import print_timeline
from planner.report.errands import alone_words
from planner.report.estimates import print_estimate
from planner.report.findings import counts, print_findings
from planner.report.kits import print_kits
from planner.report.roster import roster_of_plan
from planner.report.screen import GLUE, flow, heading, left, print_table, right, say
from planner.report.strength_page import print_strengths
from planner.report.words import zone_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import tzinfo

    from rich.console import Console

    from planner.handover.model import Plan, PlannedPlate, PlateBound, ReadyPart
    from planner.nest.strip.model import StripPacking
    from planner.report.roster import Roster
    from planner.schedule.model import Run, Visit, WeekendPlan

__all__ = [
    "print_estimate",
    "print_findings",
    "print_plan",
    "print_strip",
    "print_visits",
    "print_weekend",
]


def print_plan(console: Console, plan: Plan) -> None:
    """Print the whole plan: findings first, then what to do, what it takes, where to begin."""
    print_findings(console, plan.findings, brief_notes=True)
    _print_parts(console, plan.parts)
    print_strengths(console, plan)
    _print_plates(console, plan)
    print_visits(console, plan.weekend.visits, zone_of(plan))
    print_timeline(console, roster_of_plan(plan))
    print_kits(console, plan, zone_of(plan))
    _print_spools(console, plan)
    _print_shopping(console, plan)
    _print_totals(console, plan)
    _print_cautions(console, plan.cautions)
    _print_summary(console, plan)


def print_visits(console: Console, visits: Iterable[Visit], zone: tzinfo) -> None:
    """Print who does what when, in the time of `zone`, one block per day."""
    title, columns = f"Visits (times in {zone})", (*left("When"), *flow("What to do"), *left("Who"))
    print_table(console, title, columns, _visit_rows(visits, zone), if_empty="Visits: none.")


def _visit_rows(visits: Iterable[Visit], zone: tzinfo) -> Iterator[list[str]]:
    before = ""
    for visit in visits:
        day = words.day(visit.at, zone)
        if day != before and before:
            yield []
        moment = f"{day if day != before else '':<10} {words.clock(visit.at, zone)}"
        errand = words.errand(
            replace(visit, spool=_glued(visit.spool), second_spool=_glued(visit.second_spool))
        )
        yield [moment.replace(" ", GLUE), errand, visit.who]
        before = day


def _glued(name: str | None) -> str | None:
    return None if name is None else name.replace(" ", GLUE)


def print_weekend(console: Console, roster: Roster) -> None:
    """Print a schedule by itself: runs, visits, bars, what is left over and how good it is."""
    made, zone = roster.made, roster.zone
    _print_runs(console, made.runs, zone)
    print_visits(console, made.visits, zone)
    print_timeline(console, roster)
    for plate, why in made.unscheduled:
        say(console, f"{plate} is not scheduled: {why}", "bold red")
    for line in words.sets_told(made):
        say(console, line, "bold")
    for remark in made.remarks:
        say(console, f"- {remark}")
    if alone := [alone_words(run) for run in made.runs if run.alone_s > 0]:
        say(console, f"- {FIRE} Here {'; '.join(alone)}.")
    deadline = roster.weekend.deadline
    if made.finish is not None and deadline is not None and made.finish > deadline:
        say(console, f"It ends after the deadline, {words.day_and_clock(deadline, zone)}.", "bold")
    heading(console, f"Finish: {_finish_words(made, zone)}")


def print_strip(console: Console, strip: StripPacking) -> None:
    """Print a strip packing: what lies where, along the strip, then its length and the bound."""
    columns = (*left("Part"), *right("x mm", "y mm", "turn °"))
    rows = [
        [place.id, f"{place.x_mm:.2f}", f"{place.y_mm:.2f}", f"{place.rotation_deg:g}"]
        for place in strip.placements
    ]
    print_table(console, "Strip", columns, rows, if_empty="Strip: nothing to lay.")
    say(
        console,
        f"{strip.length_mm:.2f} mm long, {words.share(strip.density)} covered; "
        f"no packing is shorter than {strip.lower_bound_mm:.2f} mm.",
    )


def _print_parts(console: Console, parts: Iterable[ReadyPart]) -> None:
    columns = (*flow("Part"), *right("Print", "= need", "+ spare", "Odds", "Each", "Hours each"))
    rows = [
        [
            ready.part.name,
            str(ready.need.to_print),
            str(ready.need.needed),
            str(ready.need.spares),
            words.share(ready.need.odds),
            words.mass(ready.grams),
            _hours_each(ready),
        ]
        for ready in parts
    ]
    print_table(console, "Parts", columns, rows, if_empty="Parts: none.")
    if rows:
        say(console, "Hours each: on the quickest printer, start-up aside.", "dim")


def _hours_each(ready: ReadyPart) -> str:
    for _, time in words.quickest_first(ready):
        return f"{words.clock_hours(time.middle_s)} ({words.clock_range(time.range_s)})"
    return "no printer"


def _print_plates(console: Console, plan: Plan) -> None:
    columns = (*left("Plate", "Printer"), *flow("On it"), *right("Mass", "Hours", "Full", "Cost"))
    rows = [_plate_cells(plan, plate) for plate in plan.plates]
    print_table(console, "Plates", columns, rows, if_empty="Plates: none.")
    if rows:
        say(console, "Hours: on that printer, with start-up and cooling.", "dim")
        currency = plan.job.currency
        say(console, f"Cost: filament, electricity and wear, in {currency}.", "dim")
        _print_sizes(console, plan)
    _print_bounds(console, plan.plate_bounds)


def _print_sizes(console: Console, plan: Plan) -> None:
    if small := sizes.small_plates(plan):
        say(console, f"Small on purpose, for the hours: {', '.join(small)}.", "dim")
    if said := sizes.hours_won(plan):
        say(console, f"{said}.")


def _plate_cells(plan: Plan, plate: PlannedPlate) -> list[str]:
    first = "first article, " if plate.kind == "first article" else ""
    colour = plate.colour or "any colour"
    on_it = f"{first}{plate.material} {colour}: {_counted(plate.counts)}"
    machine, seconds, _ = words.plate_time(plan, plate)
    spent = words.clock_hours(seconds)
    cost, printer = money.cost_of(plan, plate), machine or plate.printer.name
    told = (words.mass(plate.grams), spent, words.share(plate.fill))
    return [plate.id, printer, on_it, *told, "" if cost is None else f"{cost:.2f}"]


def _print_bounds(console: Console, bounds: Iterable[PlateBound]) -> None:
    columns = (*flow("Plates of"), *right("Now", "Least"), *flow("By"))
    rows = [[b.group, str(b.plates), str(b.lower_bound), b.bound_by] for b in bounds]
    print_table(console, "How few plates any packing could do with", columns, rows)


def _print_runs(console: Console, runs: Iterable[Run], zone: tzinfo) -> None:
    columns = (*flow("Plate", "Printer"), *left("From", "To"), *flow("Spool"), *right("Alone"))
    rows = [
        [
            run.plate,
            run.machine,
            words.when(run.start, zone),
            words.when(run.end, zone),
            words.both_spools(run),
            words.clock_hours(run.alone_s) if run.alone_s > 0 else "",
        ]
        for run in runs
    ]
    print_table(console, "Runs", columns, rows, if_empty="Runs: none.")


def _print_spools(console: Console, plan: Plan) -> None:
    left_g = dict(plan.weekend.spool_left_g)
    columns = (*flow("Spool", "Filament"), *right("Before", "Used", "Left after"))
    rows = [
        [
            spool.name,
            f"{spool.filament.material}, {spool.colour}",
            words.mass(spool.left_g),
            words.mass(spool.left_g - after_g),
            words.mass(after_g),
        ]
        for spool in plan.job.spools
        for after_g in [left_g.get(spool.name, spool.left_g)]
    ]
    print_table(console, "Spools", columns, rows, if_empty="Spools: none.")


def _print_shopping(console: Console, plan: Plan) -> None:
    columns = (*flow("Filament"), *right("Needed"), *flow("Range"))
    columns += (*right("On the shelf", "Short by"), *flow("To buy"), *right("Cost"))
    rows = [
        [
            money.kind_of(line),
            words.mass(line.need_g),
            words.mass_range(line.need_range_g).replace(" g", f"{GLUE}g"),
            words.mass(line.shelf_g),
            words.mass(line.short_g) if line.short_g else "",
            money.to_buy(line),
            money.money(line.cost, plan.job.currency) if line.spools else "",
        ]
        for line in plan.shopping
    ]
    print_table(console, "Shopping", columns, rows)
    for line in plan.shopping:
        for remark in money.shopping_remarks(line):
            say(console, f"- {remark}")
    if rows:
        say(console, money.shopping_note(plan), "dim")


def _print_totals(console: Console, plan: Plan) -> None:
    totals = plan.totals
    hours = f"{words.hours(totals.print_s)} ({words.hours_range(totals.print_range_s)})"
    rows = [
        ("Copies", f"{totals.copies} on {words.thing(totals.plates, 'plate')}"),
        ("Filament", words.by_material(totals.filament_g_by_material)),
        ("", f"all together {words.mass_range(totals.filament_range_g)}"),
        ("Printing", hours),
        ("Hands-on", words.hands_on(plan)),
        ("Electricity", f"{totals.energy_kwh:.1f} kWh"),
        ("Cost", money.cost_words(totals, plan.job.currency)),
        *([("", money.wear_words(totals))] if totals.wear_unknown else []),
        *([("To buy", money.shopping_sum(plan))] if money.shopping_sum(plan) else []),
        ("Odds", f"{words.share(plan.odds)} that every part comes out in number at the first go"),
        ("", "; ".join(words.weekend_odds(plan))),
        *[("", line) for line in surely.told(plan)],
        ("Finish", _finish_words(plan.weekend, zone_of(plan))),
    ]
    print_table(console, "Totals", (*left(""), *flow("")), rows)


def _finish_words(weekend: WeekendPlan, zone: tzinfo) -> str:
    said = words.finish(weekend, zone)
    if weekend.finish is None or weekend.lower_bound is None:
        return said
    bound = words.day_and_clock(weekend.lower_bound, zone)
    return f"{said}; no plan for these plates ends before {bound} ({weekend.bound_by})"


def _print_cautions(console: Console, cautions: Iterable[str]) -> None:
    cautions = list(cautions)
    if cautions:
        heading(console, "Cautions")
    for caution in cautions:
        say(console, f"- {caution}")


def _print_summary(console: Console, plan: Plan) -> None:
    """End with what a reader of the last lines must know."""
    heading(console, "In short")
    say(console, f"Findings: {counts(plan.findings)}, told at the top")
    say(console, f"Finish:   {words.against_deadline(plan)}")
    if taken := words.in_hand(plan.weekend):
        moment = words.day_and_clock(taken, zone_of(plan))
        say(console, f"In hand:  {moment}, when the last plate is taken off")
    for line in words.sets_told(plan.weekend):
        say(console, line)
    say(console, f"First:    {_first_step(plan)}", "bold")


def _first_step(plan: Plan) -> str:
    if plan.must_stop:
        return "mend what is marked stop at the top, then plan again"
    for visit in plan.weekend.visits:
        return f"{words.day_and_clock(visit.at, zone_of(plan))}, {words.errand(visit)}"
    return "nothing to start"


def _counted(counts_by_name: Mapping[str, int]) -> str:
    return ", ".join(f"{count}{GLUE}{name}" for name, count in sorted(counts_by_name.items()))
