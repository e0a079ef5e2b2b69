"""Estimates of meshes on a terminal."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from planner.audit.rules.room import fits
from planner.handover.estimates import totals_of_estimates
from planner.report import words
from planner.report.screen import flow, left, print_table, right, say

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rich.console import Console

    from planner.handover.estimates import Estimate, EstimateTotals


def print_estimate(console: Console, estimates: Iterable[Estimate]) -> None:
    """Print what each mesh takes and for which printer that holds, with all remarks."""
    estimates = list(estimates)
    several = any(each.quantity != 1 for each in estimates)
    _print_table(console, estimates, several=several)
    _print_sum(console, totals_of_estimates(estimates))
    for line in _holds_for(estimates):
        say(console, line)
    for each in estimates:
        for remark in _remarks(each):
            say(console, f"{each.name}: {remark}", "yellow")
    reasons = words.merged(reason for each in estimates for reason in each.time.reasons)
    if reasons:
        say(console, "What makes the ranges wide:", "dim")
    for reason in reasons:
        say(console, f"- {reason}", "dim")


def _print_table(console: Console, estimates: list[Estimate], *, several: bool) -> None:
    """Metres of strand give way to the number of copies: both have no room in 80 columns."""
    copies, metres = (right("Copies"), ()) if several else ((), right("Strand"))
    columns = (
        *(*copies, *flow("Mesh"), *left("Size mm"), *right("Layers", "Each"), *metres),
        *right("Hours each"),
    )
    rows = [_row(each, several=several) for each in estimates]
    print_table(console, "Estimates", columns, rows, if_empty="Nothing to estimate.")


def _row(each: Estimate, *, several: bool) -> list[str]:
    volume_mm3 = each.layering.filament_mm3
    metres = f"{each.filament.length_m(volume_mm3):.2f} m"
    cells = [
        each.name,
        words.size(each.posed.size_mm),
        str(each.layering.layers),
        words.mass(each.filament.mass_g(volume_mm3)),
    ]
    cells = [str(each.quantity), *cells] if several else [*cells, metres]
    spent = f"{words.clock_hours(each.time.middle_s)} ({words.clock_range(each.time.range_s)})"
    return [*cells, spent]


def _print_sum(console: Console, totals: EstimateTotals) -> None:
    if totals.copies < 2:
        return
    by_material = words.by_material(totals.filament_g_by_material)
    spent = f"{words.hours(totals.time_s)} ({words.hours_range(totals.time_range_s)})"
    copies = f"All {totals.copies} copies"
    say(console, f"{copies}: {spent} of printing, start-up of plates aside.")
    together = words.mass_range(totals.filament_range_g)
    say(console, f"Filament for all: {by_material}; all together {together}.")


def _holds_for(estimates: list[Estimate]) -> Iterator[str]:
    """Say once for what each combination of settings, printer and filament holds."""
    names = Counter((e.settings.name, e.printer.name, e.filament.name) for e in estimates)
    for (settings, printer, filament), count in names.items():
        whom = f"{words.thing(count, 'mesh', 'meshes')} with" if len(names) > 1 else "With"
        yield f"{whom} settings {settings} on {printer} in {filament}."
    if names:
        yield "A mesh whose unit is said nowhere was taken in mm: look at its size."


def _remarks(each: Estimate) -> Iterator[str]:
    printer, size_mm = each.printer, each.posed.size_mm
    if not fits(printer, size_mm):
        bed = words.size((printer.bed_width_mm, printer.bed_depth_mm, printer.height_mm))
        yield f"{words.size(size_mm)} mm does not fit {printer.name} ({bed} mm) in any quarter turn"
    for repair in each.posed.solid.repairs:
        yield repair.text
    if not each.posed.solid.closed:
        yield "the mesh is not closed; treat its numbers with care"
