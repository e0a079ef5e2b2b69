"""Build directions told: as JSON, and as a table with the reason and the doubts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from rich.table import Table
from rich.text import Text

from planner.report.words import plain

if TYPE_CHECKING:
    from rich.console import Console

    from planner.handover.orientation import Oriented
    from planner.strength.model import Direction

SHOWN = 8
"""Rows of the table; the JSON has every direction."""


def orient_document(found: Oriented) -> dict[str, Any]:
    """Return the ranking as plain JSON types (schema "platewright/orient/1"), best first."""
    orientation = found.orientation
    field = orientation.fields[0]
    return {
        "schema": "platewright/orient/1",
        "mesh": found.name,
        "material": found.material.material,
        "walls": found.walls,
        "infill": found.material.infill,
        "directions": [_entry(one) for one in orientation.directions],
        "as_given": _entry(orientation.as_given),
        "lost": _number(orientation.lost),
        "reason": orientation.reason,
        "section": {
            "tension_mpa": _number(orientation.section.tension_mpa),
            "planes": orientation.section.planes,
        },
        "resolution": {
            "brick_mm": _number(field.brick_mm),
            "wall_mm": _number(field.wall_mm),
            "averaged_mm": _number(field.averaged_mm),
            "bricks": field.bricks,
        },
        "deflection_mm": [_number(each.moves_mm) for each in orientation.fields],
        "strength_mpa": {
            "in_plane": _strengths(found, across=False),
            "across_layers": _strengths(found, across=True),
        },
        "warnings": list(orientation.warnings),
        "assumptions": list(orientation.assumptions),
        "caution": orientation.caution,
    }


def print_orientation(console: Console, found: Oriented) -> None:
    """Print the best directions and the one as given, the reason, and what is assumed."""
    orientation = found.orientation
    table = Table(title=f"Build directions of {plain(found.name)}")
    table.add_column("Up", no_wrap=True)
    for heading in ("Factor", "from-to", "Tension MPa", "Shear MPa", "Support cm3", "mm high"):
        table.add_column(heading, justify="right")
    table.add_column("Stands")
    best = orientation.directions[:SHOWN]
    own = () if orientation.as_given in best else (orientation.as_given,)
    for one in (*best, *own):
        table.add_row(*_row(one, given=one == orientation.as_given))
    console.print(table)
    console.print(Text(f"Recommended: {orientation.reason}."))
    for warning in orientation.warnings:
        console.print(Text(f"Mind: {warning}."))
    console.print(Text("Taken for granted: " + "; ".join(orientation.assumptions) + "."))
    console.print(Text(f"{orientation.caution[0].upper()}{orientation.caution[1:]}."))


def _row(one: Direction, *, given: bool) -> tuple[str, ...]:
    low, high = one.safety_range
    return (
        one.name + (" (as given)" if given else ""),
        f"{one.safety_factor:.2f}",
        f"{low:.1f}-{high:.1f}",
        f"{one.layer_tension_mpa:.2f}",
        f"{one.layer_shear_mpa:.2f}",
        f"{one.support_mm3 / 1000:.1f}",
        f"{one.height_mm:.0f}",
        "yes" if one.stable else "no",
    )


def _entry(one: Direction) -> dict[str, Any]:
    return {
        "up": one.name if one.name[0] in "+-" else [_number(x) for x in one.up],
        "layer_tension_mpa": _number(one.layer_tension_mpa),
        "layer_shear_mpa": _number(one.layer_shear_mpa),
        "safety_factor": _number(one.safety_factor),
        "safety_range": [_number(x) for x in one.safety_range],
        "governed_by": one.governed_by,
        "weakest_mm": [_number(x) for x in one.weakest_mm],
        "support_mm3": _number(one.support_mm3),
        "height_mm": _number(one.height_mm),
        "contact_mm2": _number(one.contact_mm2),
        "stable": one.stable,
        "pareto": one.pareto,
    }


def _strengths(found: Oriented, *, across: bool) -> dict[str, list[float]]:
    of = found.material.across_mpa if across else found.material.in_plane_mpa
    return {
        "momentary": [_number(x) for x in of(sustained=False)],
        "sustained": [_number(x) for x in of(sustained=True)],
    }


def _number(value: float) -> float:
    return round(float(value), 6) + 0.0
