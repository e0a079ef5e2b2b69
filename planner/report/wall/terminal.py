"""Walls on a terminal: drawn with letters, counted with reasons, and what to heed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from planner.report.screen import flow, heading, left, print_table, right, say
from planner.report.wall import figures
from planner.report.wall.sketch import sketch
from planner.report.wall.taken import print_taken
from planner.report.words import thing

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console

    from planner.handover.quick.taken import Taken
    from planner.handover.walls import WallAnswer
    from planner.wall.model import Counted, Drift, Mounting, Panelling


_IN_COLUMNS = re.compile(r"(; less \d+ in stock)?(; plus \d+ spares? \(.*\))?$")
"""What the columns of the table say already."""


def print_wall(console: Console, answer: WallAnswer, taken: Taken) -> None:
    """Print what the walls are filled with, what they need and what to heed."""
    counted = answer.counted
    for panelling in counted.panellings:
        _print_panelling(console, panelling, counted.walls.system.pitch_mm)
    for remark in counted.remarks:
        say(console, f"- {remark}", "yellow")
    _print_counts(console, counted)
    _print_needs(console, answer)
    print_taken(console, taken)
    _print_screws(console, counted, answer.mounting)
    _print_levelling(console, answer.drifts)
    _print_cautions(console, answer.mounting)


def _print_panelling(console: Console, panelling: Panelling, pitch_mm: tuple[float, float]) -> None:
    wall = panelling.wall
    heading(console, f"{wall.name}: {wall.width_mm:g} x {wall.height_mm:g} mm")
    for line in sketch(panelling, pitch_mm) or ("too wide to draw here; see --out",):
        console.print(line, markup=False, no_wrap=True, crop=False)
    x_mm, y_mm = panelling.offset_mm
    junctions = ", ".join(
        f"{count} {shape}{'s' * (count > 1 and shape.endswith('corner'))}"
        for shape, count in figures.by_shape([panelling]).items()
        if count
    )
    say(
        console,
        f"{thing(len(panelling.cells), 'cell')} from x {x_mm:g} mm, y {y_mm:g} mm; "
        f"{thing(figures.edges([panelling], shared=True), 'shared edge')}, "
        f"{thing(figures.edges([panelling], shared=False), 'free edge')}; "
        f"junctions: {junctions}.",
    )
    say(console, _left_over(panelling))


def _left_over(panelling: Panelling) -> str:
    strips = [f"{side} {wide:g} x {high:g} mm" for side, wide, high in figures.strips(panelling)]
    return f"Strips left over: {', '.join(strips)}." if strips else "No strips are left over."


def _print_counts(console: Console, counted: Counted) -> None:
    rows = [
        [each.part, str(each.count), each.because + (" (bought)" if each.bought else "")]
        for each in counted.counts
    ]
    columns = (*left("Part"), *right("Count"), *flow("Why"))
    print_table(console, f"Counts, {counted.walls.system.name}", columns, rows)


def _print_needs(console: Console, answer: WallAnswer) -> None:
    rows = [
        [
            need.part,
            str(need.to_print),
            str(need.needed),
            str(need.spares),
            str(need.from_stock),
            _IN_COLUMNS.sub("", need.because),
        ]
        for need in answer.needs
        if need.to_print or need.from_stock
    ]
    columns = (*left("Part"), *right("Print", "= need", "+ spare", "Stock"), *flow("Why"))
    print_table(console, "To print, with what the job wants besides", columns, rows)


def _print_screws(console: Console, counted: Counted, mounting: Mounting) -> None:
    heading(console, f"Screws into the wall: {counted.walls.pattern}")
    for panelling in counted.panellings:
        name = panelling.wall.name
        screws = sum(fixing.wall == name for fixing in mounting.fixings)
        say(console, f"{name}: {thing(screws, 'screw')}; their places: --json or --out.")
    for note in mounting.notes:
        say(console, f"- {note}", "bold red" if note.startswith("stop") else "")


def _print_levelling(console: Console, drifts: Iterable[Drift]) -> None:
    heading(console, "Levelling")
    for drift in drifts:
        checks = ", ".join(str(column) for column in drift.check_at)
        say(
            console,
            f"{drift.wall}: out of level by {drift.worst_mm:.2f} mm at worst, "
            f"{drift.typical_mm:.2f} mm typically, over its width; {drift.worst_up_mm:.2f} mm "
            f"out of plumb at worst. "
            + (
                f"From column {drift.column} on that is more than the joints' play: check the "
                f"level at column {checks}."
                if drift.column is not None
                else "The joints' play takes that up."
            ),
        )


def _print_cautions(console: Console, mounting: Mounting) -> None:
    heading(console, "Cautions")
    for caution in mounting.cautions:
        say(console, f"- {caution}")
