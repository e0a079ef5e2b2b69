"""What walls take, and their kits: on the terminal and in JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.report.document import finding_entry
from planner.report.findings import print_findings
from planner.report.money import money
from planner.report.screen import flow, left, print_table, right, say
from planner.report.words import (
    by_material,
    hours,
    hours_range,
    mass,
    mass_range,
    number,
    thing,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from rich.console import Console

    from planner.handover.quick.model import PartEstimate, QuickEstimate
    from planner.handover.quick.taken import Taken
    from planner.handover.quick.variants import Variant
    from planner.wall.order.model import Kit

Document = dict[str, Any]

NO_JOB = "filament, hours, plates and cost need the meshes, printers and spools of a job file"
KITS_SHOWN = 20
"""Kits told on a terminal; JSON has all."""


def taken_entries(taken: Taken) -> Document:
    """Return what the walls take as plain JSON types; null where there is no job."""
    estimate = taken.estimate
    if estimate is None:
        keys = ("filament_g", "filament_by_material", "time_s", "plates", "cost")
        sums: Document = {**dict.fromkeys(keys), "not_worked_out": NO_JOB}
    else:
        sums = {
            **_sums(estimate),
            "estimates": [_part(row) for row in estimate.parts],
            "estimate_reasons": list(estimate.reasons),
            "not_counted": list(estimate.not_counted),
            "variants": [_variant(variant) for variant in taken.variants],
        }
    return {
        **sums,
        "findings": [finding_entry(finding) for finding in taken.findings],
        "kits": [_kit(kit) for kit in taken.order.kits],
    }


def print_taken(console: Console, taken: Taken) -> None:
    """Print the estimate, what a change would cost, and the kits."""
    if taken.estimate is None:
        say(console, f"Not worked out: {NO_JOB}.", "dim")
    else:
        print_findings(console, taken.findings, brief_notes=True)
        _print_estimate(console, taken.estimate)
        _print_variants(console, taken.estimate, taken.variants)
    _print_kits(console, taken.order.kits)


def _sums(estimate: QuickEstimate) -> Document:
    least, likely, enough = estimate.plates
    return {
        "filament_g": number(estimate.filament_g),
        "filament_range_g": [number(end) for end in estimate.filament_range_g],
        "filament_by_material": {
            material: number(grams) for material, grams in estimate.filament_g_by_material.items()
        },
        "time_s": number(estimate.print_s),
        "time_range_s": [number(end) for end in estimate.print_range_s],
        "plates": likely,
        "plates_range": [least, enough],
        "cost": number(estimate.cost),
        "cost_range": [number(end) for end in estimate.cost_range],
        "currency": estimate.currency,
    }


def _part(row: PartEstimate) -> Document:
    return {
        "part": row.part,
        "copies": row.copies,
        "material": row.material,
        "colour": row.colour,
        "filament_g": number(row.grams),
        "filament_range_g": [number(end) for end in row.grams_range],
        "time_s": number(row.print_s),
        "time_range_s": [number(end) for end in row.print_range_s],
        "per_plate": row.per_plate,
        "cost": number(row.cost),
        "cost_range": [number(end) for end in row.cost_range],
    }


def _variant(variant: Variant) -> Document:
    told = {} if variant.estimate is None else _sums(variant.estimate)
    told.pop("plates_range", None)  # the least is worked out for the walls as they are only
    return {"change": variant.name, **told, "why_not": variant.why_not or None}


def _kit(kit: Kit) -> Document:
    return {
        "number": kit.number,
        "name": kit.name,
        "wall": kit.wall or None,
        "cells": [list(cell) for cell in kit.cells],
        "parts": dict(kit.parts),
        "screws": kit.screws,
    }


def _print_estimate(console: Console, estimate: QuickEstimate) -> None:
    rows = [
        [
            row.part,
            str(row.copies),
            mass(row.grams),
            hours(row.print_s),
            str(row.per_plate),
            f"{row.cost:.2f}",
        ]
        for row in estimate.parts
    ]
    columns = (*left("Part"), *right("Print", "Mass", "Hours", "On a plate", "Cost"))
    print_table(console, "Filament, hours and cost, spares included", columns, rows)
    least, likely, enough = estimate.plates
    cost = " to ".join(f"{end:.2f}" for end in estimate.cost_range)
    filament = by_material(estimate.filament_g_by_material)
    totals = [
        ("Filament", f"{filament} (all together {mass_range(estimate.filament_range_g)})"),
        (
            "Printing",
            f"{hours(estimate.print_s)} on one printer ({hours_range(estimate.print_range_s)})",
        ),
        ("Plates", f"about {likely} ({least} at least, {enough} are enough)"),
        ("Cost", f"{money(estimate.cost, estimate.currency)} ({cost})"),
    ]
    for name, words in totals:
        say(console, f"{name:9} {words}")
    for part in estimate.not_counted:
        say(console, f"- {part} is not counted: no printer of the job takes it", "yellow")
    for reason in estimate.reasons:
        say(console, f"- {reason}", "dim")


def _print_variants(console: Console, base: QuickEstimate, variants: Iterable[Variant]) -> None:
    rows = []
    for variant in variants:
        changed = variant.estimate
        if changed is None:
            rows.append([variant.name, "", "", "", "", variant.why_not])
            continue
        rows.append(
            [
                variant.name,
                _more(changed.filament_g - base.filament_g, mass),
                _more(changed.print_s - base.print_s, hours),
                f"{changed.plates[1] - base.plates[1]:+d}",
                f"{changed.cost - base.cost:+.2f}",
                "",
            ]
        )
    columns = (*left("Change"), *right("Filament", "Hours", "Plates", "Cost"), *flow(""))
    print_table(console, "What a change would add", columns, rows)


def _more(value: float, say_it: Callable[[float], str]) -> str:
    """Say a difference with its sign."""
    return f"{'-' if value < 0 else '+'}{say_it(abs(value))}"


def _print_kits(console: Console, kits: Iterable[Kit]) -> None:
    kits = list(kits)
    rows = [
        [
            str(kit.number),
            f"{kit.wall}: {kit.name}" if kit.wall else kit.name,
            ", ".join(f"{count} {part}" for part, count in kit.parts)
            + (f", {thing(kit.screws, 'screw')}" if kit.screws else ""),
        ]
        for kit in kits[:KITS_SHOWN]
    ]
    columns = (*right("Kit"), *left("Mounts"), *flow("In the bag"))
    print_table(console, "Kits, in the order of mounting", columns, rows)
    if len(kits) > KITS_SHOWN:
        say(console, f"and {len(kits) - KITS_SHOWN} more: --json has them all", "dim")
