"""A packing by itself: a table for the terminal, drawings of plates or strip, their folder."""

from __future__ import annotations

from collections import Counter
from textwrap import wrap
from typing import TYPE_CHECKING

from planner.nest.answer import nest_document
from planner.nest.strip.load import strip_document
from planner.report import words
from planner.report.document import dump
from planner.report.drawing import Sheet, draw_sheet, letters_in, order_told
from planner.report.screen import GLUE, flow, left, print_table, right, say
from planner.report.write import write_folder

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from rich.console import Console

    from planner.nest.model import Item, NestProblem, PackedPlate, Packing
    from planner.nest.strip.model import StripPacking


def print_packing(console: Console, packing: Packing, problem: NestProblem | None = None) -> None:
    """Print a packing: plates, what found no place, and how far it can be from the best.

    With the `problem` hours and grams are told where its items have any.
    """
    plates = packing.plates
    seconds, grams = _sums(packing, problem, "seconds"), _sums(packing, problem, "grams")
    columns = (*left("Plate", "Bed"), *flow("On it"), *right("Parts"))
    columns += (*right("Hours"),) if any(seconds) else ()
    columns += (*right("Mass"),) if any(grams) else ()
    rows = [
        [
            str(number),
            plate.bed,
            _counted(plate),
            str(len(plate.placements)),
            *([words.clock_hours(seconds[number - 1])] if any(seconds) else []),
            *([words.mass(grams[number - 1])] if any(grams) else []),
            words.share(plate.fill),
        ]
        for number, plate in enumerate(plates, start=1)
    ]
    print_table(console, "Plates", (*columns, *right("Full")), rows, if_empty="Plates: none.")
    for name, copies, why in packing.unplaced:
        count = words.thing(copies, "copy", "copies")
        say(console, f"{count} of {name} on no plate: {why}", "bold red")
    say(console, _verdict(packing))


def write_packing(
    packing: Packing, problem: NestProblem, out: Path, *, force: bool
) -> tuple[Path, ...]:
    """Write nest.json and one drawing per plate into a folder; see `write_folder`."""
    return write_folder(render_packing(packing, problem), out, force=force)


def render_packing(packing: Packing, problem: NestProblem) -> dict[str, bytes]:
    """Return every file of a packing as bytes, by its name inside the folder."""
    digits = len(str(len(packing.plates)))
    drawings = {
        f"plates/plate-{number:0{digits}d}.svg": draw_packed(plate, number, problem).encode()
        for number, plate in enumerate(packing.plates, start=1)
    }
    return {"nest.json": dump(nest_document(packing)).encode(), **drawings}


def write_strip(strip: StripPacking, drawing: str, out: Path, *, force: bool) -> tuple[Path, ...]:
    """Write nest.json and the drawing of a strip into a folder; see `write_folder`."""
    files = {"nest.json": dump(strip_document(strip)).encode(), "strip.svg": drawing.encode()}
    return write_folder(files, out, force=force)


def draw_strip(
    strip: StripPacking, items: Sequence[Item], *, depth_mm: float, edge_mm: float
) -> str:
    """Draw a strip to scale as an SVG file that stands alone; it runs to the right."""
    numbers = {item.id: at for at, item in enumerate(items, start=1)}
    length, share = f"{strip.length_mm:.2f} mm", words.share(strip.density)
    counts = Counter(place.id for place in strip.placements)
    names = ", ".join(f"{at}: {counts[name]} {name}" for name, at in numbers.items())
    said = [f"strip, {length} long, {share} covered", names]
    return draw_sheet(
        Sheet(
            name=f"Strip of {length}: {len(strip.placements)} parts; {share} covered",
            prefix="strip",
            width_mm=strip.length_mm,
            depth_mm=depth_mm,
            edge_mm=edge_mm,
            keep_out=(),
            patches=(),
            placements=strip.placements,
            footprints={item.id: item.footprint for item in items},
            numbers=numbers,
            legend=_wrapped(said, strip.length_mm),
        ),
        own_style=True,
    )


def draw_packed(plate: PackedPlate, number: int, problem: NestProblem) -> str:
    """Draw one plate to scale as an SVG file that stands alone, with the names of its parts."""
    bed = next(bed for bed in problem.beds if bed.id == plate.bed)
    numbers = {item.id: at for at, item in enumerate(problem.items, start=1)}
    return draw_sheet(
        Sheet(
            name=f"Plate {number}, {plate.bed}: {_counted(plate).replace(GLUE, ' ')}; "
            f"{words.share(plate.fill)} full",
            prefix=f"plate{number}",
            width_mm=bed.width_mm,
            depth_mm=bed.depth_mm,
            edge_mm=problem.edge_mm,
            keep_out=bed.keep_out,
            patches=bed.keep_out_patches,
            placements=plate.placements,
            footprints={item.id: item.footprint for item in problem.items},
            numbers=numbers,
            legend=_legend(plate, number, numbers, bed.width_mm),
        ),
        own_style=True,
    )


def _legend(
    plate: PackedPlate, number: int, numbers: dict[str, int], width_mm: float
) -> tuple[str, ...]:
    """Return the lines under a drawing: which plate, and the name to every number."""
    counts = Counter(place.id for place in plate.placements)
    ordered = sorted(counts, key=lambda name: numbers[name])
    said = [
        f"plate {number}, {plate.bed}, {words.share(plate.fill)} full",
        ", ".join(f"{numbers[name]}: {counts[name]} {name}" for name in ordered),
    ]
    said[1:1] = order_told(plate.placements)
    return _wrapped(said, width_mm)


def _wrapped(texts: Sequence[str], width_mm: float) -> tuple[str, ...]:
    return tuple(line for text in texts for line in wrap(text, max(12, letters_in(width_mm))))


def _verdict(packing: Packing) -> str:
    count = words.thing(len(packing.plates), "plate")
    gap = len(packing.plates) - packing.lower_bound
    if gap <= 0:
        return f"{count}, proven fewest ({packing.bound_by})."
    return (
        f"{count}; no packing needs fewer than {packing.lower_bound} ({packing.bound_by}), "
        f"so at most {gap} too many."
    )


def _counted(plate: PackedPlate) -> str:
    counts = Counter(place.id for place in plate.placements)
    return ", ".join(f"{count}{GLUE}{name}" for name, count in sorted(counts.items()))


def _sums(packing: Packing, problem: NestProblem | None, name: str) -> list[float]:
    """Add up a measure of the items on every plate; zeros if there is no problem to look into."""
    each = {item.id: getattr(item, name) for item in problem.items} if problem else {}
    return [sum(each.get(p.id, 0.0) for p in plate.placements) for plate in packing.plates]
