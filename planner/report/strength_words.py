"""Build directions told: as JSON, and as a table with the reason and the doubts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner.report.screen import Column, heading, left, print_table, right, say
from planner.report.words import clock_hours, plain, up_name
from planner.strength.hours import OFF

if TYPE_CHECKING:
    from rich.console import Console

    from planner.handover.orientation import Oriented
    from planner.strength.hanging import Hanging
    from planner.strength.model import Direction

SHOWN = 10
"""Rows of the table; the JSON has every direction."""


def orient_document(found: Oriented) -> dict[str, Any]:
    """Return the ranking as plain JSON types (schema "platewright/orient/1"), best first."""
    orientation = found.orientation
    resolution = orientation.resolution
    return {
        "schema": "platewright/orient/1",
        "mesh": found.name,
        "material": found.material.material,
        "walls": found.walls,
        "infill": found.material.infill,
        "directions": [direction_entry(one) for one in orientation.directions],
        "as_given": direction_entry(orientation.as_given),
        "lost": _number(orientation.lost),
        "practical": direction_entry(orientation.practical),
        "cost": _number(orientation.cost),
        "reason": orientation.reason,
        "section": {
            "tension_mpa": _number(orientation.section.tension_mpa),
            "planes": orientation.section.planes,
        },
        "resolution": {
            "brick_mm": _number(resolution.brick_mm),
            "wall_mm": _number(resolution.wall_mm),
            "averaged_mm": _number(resolution.averaged_mm),
            "bricks": resolution.bricks,
        },
        "deflection_mm": [_number(moves) for moves in orientation.moves_mm],
        "strength_mpa": {
            "in_plane": _strengths(found, across=False),
            "across_layers": _strengths(found, across=True),
        },
        "fixings": None if found.hanging is None else fixings_entry(found.hanging),
        "warnings": list(orientation.warnings),
        "assumptions": list(orientation.assumptions),
        "caution": orientation.caution,
    }


def strength_entry(found: Oriented) -> dict[str, Any]:
    """Return what a plan says of one part: as given, and the practical direction beside it."""
    orientation = found.orientation
    return {
        "turned": found.turned,
        "as_given": direction_entry(orientation.as_given),
        "practical": direction_entry(orientation.practical),
        "cost": _number(orientation.cost),
        "reason": orientation.reason,
        "fixings": None if found.hanging is None else fixings_entry(found.hanging),
        "warnings": list(orientation.warnings),
        "assumptions": list(orientation.assumptions),
        "caution": orientation.caution,
    }


def print_orientation(console: Console, found: Oriented) -> None:
    """Print the best directions and the one as given, the reason, and what is assumed."""
    orientation = found.orientation
    columns = (*left("Up", ""), *right("Factor", "from-to"), *_NARROW)
    rows = [_row(found, one) for one in _shown(found)]
    print_table(console, f"Build directions of {plain(found.name)}", columns, rows)
    say(console, _KEY, "dim")
    console.print()
    stands = orientation.practical == orientation.directions[0]
    say(console, f"{'Recommended' if stands else 'Strongest'}: {orientation.reason}.")
    if not stands:
        say(console, f"Recommended in practice: {orientation.practical.name} up.")
    for warning in orientation.warnings:
        say(console, f"Mind: {warning}.")
    if found.hanging is not None:
        print_fixings(console, found.hanging)
    console.print()
    say(console, "Taken for granted: " + "; ".join(orientation.assumptions) + ".", "dim")
    say(console, f"{orientation.caution[0].upper()}{orientation.caution[1:]}.", "bold")


def _shown(found: Oriented) -> list[Direction]:
    """Return the named ones, the axes, and the unbeaten ones while there is room; best first."""
    orientation = found.orientation
    every = orientation.directions
    named = {orientation.practical.up, orientation.as_given.up, every[0].up}
    named |= {one.up for one in every if one.name[0] in "+-"}
    room = max(0, SHOWN - len(named))
    extra = [one.up for one in every if one.pareto and one.up not in named][:room]
    return [one for one in every if one.up in named or one.up in extra]


_NARROW: tuple[Column, ...] = right("Pull", "Shear", "Prop", "Seen", "High", "Hours")
_KEY = (
    "Factor: predicted strength per load, and its range. Pull and shear: the worst on any layer, "
    "MPa. Prop: support, cm3. Seen: overhang on faces in sight, cm2. High: mm. Hours: a rule of "
    f"thumb with support, {100 * OFF:.0f} % off in most cases. b best, p practical, g as given, "
    "u unbeaten in every respect at once, "
    "t does not stand by itself, n fits no bed."
)


def _row(found: Oriented, one: Direction) -> list[str]:
    orientation = found.orientation
    low, high = one.safety_range
    marks = {
        "b": one == orientation.directions[0],
        "p": one == orientation.practical,
        "g": one == orientation.as_given,
        "u": one.pareto,
        "t": not one.stable,
        "n": not one.fits,
    }
    return [
        one.name.replace(", ", ","),
        "".join(mark for mark, holds in marks.items() if holds),
        f"{one.safety_factor:.2f}",
        f"{low:.1f}-{high:.1f}",
        f"{one.layer_tension_mpa:.2f}",
        f"{one.layer_shear_mpa:.2f}",
        f"{one.support_mm3 / 1000:.1f}",
        f"{one.visible_overhang_mm2 / 100:.1f}",
        f"{one.height_mm:.0f}",
        "" if one.time_s is None else clock_hours(one.time_s),
    ]


def print_fixings(console: Console, found: Hanging) -> None:
    """Print what each screw bears, how many are needed, and to whom that defers."""
    screwed = found.screwed
    rows = [
        [
            "[" + ", ".join(f"{x:g}" for x in at) + "]",
            f"{one.shear_n:.0f} N",
            f"{one.pull_n:.0f} N",
            f"{100 * one.used:.0f} %",
        ]
        for at, one in zip(found.at_mm, found.load.loads, strict=True)
    ]
    columns = (*left("At"), *right("Shear", "Pull", "Used"))
    print_table(console, f"Screws into the wall ({up_name(screwed.wall)})", columns, rows)
    say(console, fixings_words(found))
    heading(console, "Before you hang it up")
    for caution in found.load.cautions:
        say(console, f"- {caution}")


def fixings_words(found: Hanging) -> str:
    """Say how many screws are needed and by which rated load and factor."""
    screwed = found.screwed
    return (
        f"{found.needed} such screws are needed, spread alike; there are {len(found.at_mm)}. Each "
        f"may bear {screwed.rated_n:g} N / {screwed.factor:g}, shear and pull together. Taken for "
        f"granted: {'; '.join(found.assumptions)}."
    )


def direction_entry(one: Direction) -> dict[str, Any]:
    """Return one direction as plain types."""
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
        "visible_overhang_mm2": _number(one.visible_overhang_mm2),
        "time_s": None if one.time_s is None else round(one.time_s),
        "stable": one.stable,
        "fits": one.fits,
        "pareto": one.pareto,
    }


def fixings_entry(found: Hanging) -> dict[str, Any]:
    """Return the screws of a part as plain types, the one that bears most first."""
    return {
        "rated_n": _number(found.screwed.rated_n),
        "factor": _number(found.screwed.factor),
        "needed": found.needed,
        "loads": [
            {
                "at_mm": [_number(x) for x in at],
                "shear_n": _number(one.shear_n),
                "pull_n": _number(one.pull_n),
                "used": _number(one.used),
            }
            for at, one in zip(found.at_mm, found.load.loads, strict=True)
        ],
        "assumptions": list(found.assumptions),
        "cautions": list(found.load.cautions),
    }


def _strengths(found: Oriented, *, across: bool) -> dict[str, list[float]]:
    of = found.material.across_mpa if across else found.material.in_plane_mpa
    return {
        "momentary": [_number(x) for x in of(sustained=False)],
        "sustained": [_number(x) for x in of(sustained=True)],
    }


def _number(value: float) -> float:
    return round(float(value), 6) + 0.0
