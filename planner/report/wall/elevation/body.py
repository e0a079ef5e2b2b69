"""The wall itself in an elevation: panels, what joins and holds them, what hangs on them."""

from __future__ import annotations

from string import ascii_lowercase
from typing import TYPE_CHECKING

from planner.report.wall.elevation.symbols import (
    bar,
    hung_tone,
    knob,
    left_out,
    panel_tone,
    plaque,
    screw,
    tone,
)
from planner.report.wall.runs import cells_joined
from planner.report.wall.sheet.marks import Disc, Path, Text, centred, hatched, segments
from planner.report.wall.subject import hung_by_cell

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.report.wall.elevation.place import Place
    from planner.report.wall.sheet.marks import Box, Mark
    from planner.report.wall.subject import Subject
    from planner.wall.model import Placed

SINGLY = 6000
"""Parts of one wall beyond which they are not drawn one by one: nobody could tell them apart,
and the file would take seconds to open (invented)."""
_ROOMY = 3.2
"""Letters to a cell from which screws and kits are numbered in it."""


def cell_letters(subject: Subject, place: Place) -> float:
    """Return the smaller side of a cell on the sheet, in letters."""
    return min(subject.pitch_mm) * place.scale / place.letter


def parts_singly(subject: Subject, place: Place) -> bool:
    """Tell whether the parts at edges and junctions are drawn one by one."""
    return cell_letters(subject, place) >= 1.4 and len(subject.panelling.placed) <= SINGLY


def screws_singly(subject: Subject, place: Place) -> bool:
    """Tell whether fixings are drawn one by one."""
    many = len(subject.fixings) + len(subject.skipped)
    return cell_letters(subject, place) >= 0.25 and many <= SINGLY


def body(subject: Subject, place: Place) -> list[Mark]:
    """Return the marks of the wall, from the ground up."""
    wall = place.box(0, 0, *subject.size_mm, "ground")
    marks: list[Mark] = [wall, *_panels(subject, place), *_bands(subject, place)]
    marks += segments((place.line(run) for run in subject.shared), "shared")
    marks += segments((place.line(run) for run in subject.free), "free")
    marks += _studs(subject, place)
    if parts_singly(subject, place):
        marks += _parts(subject, place)
    marks += _kits(subject, place) + _cut_outs(subject, place) + _accessories(subject, place)
    if screws_singly(subject, place):
        marks += _screws(subject, place)
    marks.append(place.box(0, 0, *subject.size_mm, "wall"))
    return marks + _datum(place) + _cell_numbers(subject, place)


def marked_cut_outs(subject: Subject) -> dict[str, int]:
    """Return the sign of each cut-out, a, b, c and so on, -> its index."""
    signs = [*ascii_lowercase, *(a + b for a in ascii_lowercase for b in ascii_lowercase)]
    count = len(subject.panelling.wall.cut_outs)
    signs += [str(number) for number in range(len(signs), count)]
    return {sign: index for index, sign in enumerate(signs[:count])}


def shared_of(subject: Subject, spot: str) -> list[str]:
    """Return the parts of the system that sit on a spot, by their numbers."""
    placed = subject.panelling.placed
    found = {each.part for each in placed if each.spot == spot and not each.hung}
    return sorted(found, key=lambda part: subject.numbers[part])


def _panels(subject: Subject, place: Place) -> list[Mark]:
    kinds = len(shared_of(subject, "cell"))
    runs = cells_joined(subject.panelling, subject.pitch_mm)
    boxes = [place.box(*run[:4], panel_tone(subject, run[4], kinds)) for run in runs]
    return sorted(boxes, key=lambda box: box.style)


def _bands(subject: Subject, place: Place) -> list[Mark]:
    boxes = [
        place.box(band.x_mm, band.y_mm, band.width_mm, band.height_mm, "band")
        for band in subject.bands
    ]
    spacing = 1.1 * place.letter
    return [
        *(line for box in boxes for line in hatched(box, spacing, "hatch", rising=False)),
        *boxes,
    ]


def _studs(subject: Subject, place: Place) -> list[Mark]:
    height = subject.size_mm[1]
    studs = subject.panelling.wall.studs_mm
    return list(segments((place.line(((x, 0), (x, height))) for x in studs), "stud"))


def _parts(subject: Subject, place: Place) -> list[Mark]:
    order = ("free edge", "shared edge", "junction", "fixing")
    ranks = {(spot, part): n for spot in order for n, part in enumerate(shared_of(subject, spot))}
    copies = {(p.spot, p.part, p.x_mm, p.y_mm): p for p in subject.panelling.placed}
    placed = [each for each in copies.values() if each.spot in order]
    placed.sort(key=lambda each: (order.index(each.spot), ranks[each.spot, each.part]))
    return [
        mark for each in placed for mark in _part(subject, place, each, ranks[each.spot, each.part])
    ]


def _part(subject: Subject, place: Place, placed: Placed, rank: int) -> list[Mark]:
    unit, cell = place.letter, cell_letters(subject, place) * place.letter
    size, signs = signs_of(subject, placed.spot, rank)
    x, y = place.at(placed.x_mm, placed.y_mm)
    style = tone(subject, placed.part)
    if placed.spot in {"shared edge", "free edge"}:
        long, thick = (0.45, 0.16) if placed.spot == "shared edge" else (0.86, 0.08)
        long *= size * subject.pitch_mm[1 if placed.upright else 0] * place.scale
        thick = min(thick * cell, 0.5 * unit)
        return bar(x, y, long, thick, style, upright=placed.upright, ticks=signs)
    radius = min(0.15 * cell, 0.75 * unit) * (1 if placed.spot == "junction" else 0.5)
    return knob(x, y, size * radius, style, signs)


def signs_of(subject: Subject, spot: str, rank: int) -> tuple[float, int]:
    """Return how the kinds of parts on a spot differ: by size if stacked, else by strokes."""
    return (0.72**rank, 0) if spot in subject.stacked else (1.0, rank)


def _cut_outs(subject: Subject, place: Place) -> list[Mark]:
    marks: list[Mark] = []
    cuts = subject.panelling.wall.cut_outs
    for sign, index in marked_cut_outs(subject).items():
        cut = cuts[index]
        box = place.box(cut.x_mm, cut.y_mm, cut.width_mm, cut.height_mm, "cut-out")
        marks += [
            box,
            *hatched(box, 0.5 * place.letter, "hatch"),
            *_named(box, sign, cut.name, place),
        ]
    return marks


def _named(box: Box, sign: str, name: str, place: Place) -> list[Mark]:
    """Write the sign of a cut-out on a plate in its middle, and its name if that fits too."""
    size = (min(box.width, max(1.4 * place.letter, 0.8 * box.width)), 1.3 * place.letter)
    size = (size[0], min(size[1], box.height))
    middle = (box.x + box.width / 2, box.y + box.height / 2)
    return plaque(middle, size, [f"{sign}: {name}", sign], place.letter)


def _accessories(subject: Subject, place: Place) -> list[Mark]:
    marks: list[Mark] = []
    corners = {(cell.column, cell.row): cell for cell in subject.panelling.cells}
    wide, high = (place.scale * pitch for pitch in subject.pitch_mm)
    for at, things in sorted(hung_by_cell(subject.panelling).items()):
        if at not in corners or cell_letters(subject, place) < 0.8:
            continue
        x, y = place.at(corners[at].x_mm + subject.pitch_mm[0] / 2, corners[at].y_mm)
        unique = list(dict.fromkeys(things))
        numbers = "+".join(str(subject.numbers[thing]) for thing in unique)
        names = [", ".join(unique), numbers]
        plate = (0.72 * wide, min(0.62 * high, 1.5 * place.letter))
        marks += plaque(
            (x, y + high / 2), plate, names, place.letter, hung_tone(subject, unique[0])
        )
    return marks


def _kits(subject: Subject, place: Place) -> list[Mark]:
    """Write the number of a bag into the cell that is mounted first of it."""
    if not parts_singly(subject, place) or cell_letters(subject, place) < _ROOMY:
        return []
    corners = {(cell.column, cell.row): cell for cell in subject.panelling.cells}
    size = 0.6 * place.letter
    marks: list[Mark] = []
    for kit in subject.kits:
        first = corners.get(kit.cells[0])
        if first is not None:
            x, y = place.at(first.x_mm, first.y_mm)
            at = (x + 0.9 * place.letter, y + 0.45 * place.letter)
            marks.append(Text(*at, f"kit {kit.number}", size, "warned"))
    return marks


def _screws(subject: Subject, place: Place) -> list[Mark]:
    unit = place.letter
    cell = cell_letters(subject, place)
    size = min(0.55, 0.2 * cell) * unit
    marks: list[Mark] = []
    for _, fixing in subject.fixings:
        marks += screw(*place.at(fixing.x_mm, fixing.y_mm), size, stud=fixing.stud)
    for left in subject.skipped:
        marks += left_out(*place.at(left.x_mm, left.y_mm), 0.7 * size)
    beside = min(0.15 * cell, 0.75) * unit + 0.1 * unit
    if cell >= _ROOMY:
        marks += [
            Text(x + beside, y - 0.85 * unit, str(number), 0.6 * unit)
            for number, (x, y) in ((n, place.at(f.x_mm, f.y_mm)) for n, f in subject.fixings)
        ]
    return marks


def _datum(place: Place) -> list[Mark]:
    """Mark the bottom left corner, from which all places are measured."""
    (x, y), unit = place.at(0, 0), place.letter
    quarter = ((x, y), (x - 0.6 * unit, y), (x - 0.42 * unit, y - 0.42 * unit), (x, y - 0.6 * unit))
    return [Disc(x, y, 0.6 * unit, "thin"), Path((quarter,), "solid", closed=True)]


def _cell_numbers(subject: Subject, place: Place) -> list[Mark]:
    """Write numbers of columns along the top and of rows along the right, where there is room."""
    (width, height), unit = subject.size_mm, 0.75 * place.letter
    columns = {cell.column: cell.x_mm + subject.pitch_mm[0] / 2 for cell in subject.panelling.cells}
    rows = {cell.row: cell.y_mm + subject.pitch_mm[1] / 2 for cell in subject.panelling.cells}
    marks: list[Mark] = []
    for column in _told(columns, subject.pitch_mm[0] * place.scale / unit):
        x, y = place.at(columns[column], height)
        marks.append(Text(x, y + 0.4 * unit, str(column), unit, "soft", "middle"))
    for row in _told(rows, subject.pitch_mm[1] * place.scale / unit):
        x, y = place.at(width, rows[row])
        marks.append(centred(x + 1.1 * unit, y, str(row), unit, "soft"))
    return marks


def _told(numbers: Iterable[int], step_letters: float) -> list[int]:
    """Choose 1 and round numbers, wide enough apart to be read."""
    ordered = sorted(numbers)
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
    every = next((step for step in steps if step * step_letters >= 2.4), 10000)
    return [n for n in ordered if every == 1 or n % every == 0 or (n == 1 and every > 2)]
