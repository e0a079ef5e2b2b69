"""One tile of the template on its sheet of paper, in mm at true size."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from planner.report.svg import fmt
from planner.report.wall.sheet.marks import (
    Box,
    Disc,
    Sheet,
    Text,
    cross,
    fitted,
    hatched,
    segments,
    width_of,
)
from planner.report.wall.template.clip import View, outline
from planner.report.wall.template.holes import NEAR_MM, hole_marks, unscrewed_marks
from planner.report.wall.template.tiles import FOOT_MM, MARGIN_MM, OVERLAP_MM, SIDE_MM, Tile, seen
from planner.report.words import plain, thing

if TYPE_CHECKING:
    from planner.report.wall.sheet.marks import Mark, Segment
    from planner.report.wall.subject import Numbered, Subject
    from planner.report.wall.template.tiles import Tiling
    from planner.wall.model import Skipped

CHECK_MM = 100.0
"""Length of the bars by which to check a printer's scale."""
_CORNER = Tile(0, 0)
_LETTER = 2.8
_LEVELS_MAX = 8
"""Lines of one direction beyond which they would hide the holes (invented)."""

_HINT = (
    "Cut along the dashed line on the left and below, glue cross on cross. "
    "Drill as the anchor's maker says."
)


def tile_sheet(subject: Subject, tiling: Tiling, tile: Tile) -> Sheet:
    """Draw one tile: what of the wall it shows, crosses, both bars, and where it belongs."""
    view, wide_high = view_of(tiling, tile), tiling.page_mm
    holes = seen(tiling, tile, subject.fixings)
    marks = [
        *_watermark(tile, view),
        *_wall(subject, view),
        *_lines_of_holes(subject, holes, view),
        *_lattice(tiling, tile, view),
        *(mark for left in _unscrewed(subject, view) for mark in unscrewed_marks(left, view)),
        *(mark for hole in holes for mark in hole_marks(hole, view, crowded=_crowded(holes))),
        *scale_bars(view),
        *_words(subject, tiling, tile),
    ]
    name = f"{plain(subject.name)} {tile.name}"
    return Sheet(
        name=name, width=wide_high[0], height=wide_high[1], letter=_LETTER, marks=tuple(marks)
    )


def _unscrewed(subject: Subject, view: View) -> list[Skipped]:
    return [left for left in subject.skipped if view.shows(left.x_mm, left.y_mm)]


def view_of(tiling: Tiling, tile: Tile) -> View:
    """Return what of the wall a tile shows, and where on its sheet."""
    (x, y), half = tiling.corner_mm(tile), OVERLAP_MM / 2
    return View(
        x_mm=x - half,
        y_mm=y - half,
        width_mm=tiling.step_mm[0] + OVERLAP_MM,
        height_mm=tiling.step_mm[1] + OVERLAP_MM,
        sheet_x=MARGIN_MM + SIDE_MM,
        sheet_y=MARGIN_MM + FOOT_MM,
    )


def scale_bars(view: View) -> list[Mark]:
    """Return a bar of 100 mm in each direction, with a stroke at every 10 mm."""
    x, y = view.sheet_x, view.sheet_y - 6.0
    level: list[Segment] = [((x, y), (x + CHECK_MM, y))]
    up_x, up_y = view.sheet_x - 4.0, view.sheet_y + 2.0
    level.append(((up_x, up_y), (up_x, up_y + CHECK_MM)))
    ticks: list[Segment] = []
    for step in range(11):
        along, arm = step * CHECK_MM / 10, 2.0 if step in {0, 10} else 1.0
        ticks.append(((x + along, y - arm), (x + along, y + arm)))
        ticks.append(((up_x - arm, up_y + along), (up_x + arm, up_y + along)))
    turned = Text(up_x - 2.4, up_y + CHECK_MM / 2, "100 mm", _LETTER, "ink", "middle", turned=True)
    words = Text(x + CHECK_MM + 3, y - 0.9, "100 mm: measure both bars;", _LETTER)
    more = Text(x + CHECK_MM + 3, y - 4.2, "if one is off, print at actual size", _LETTER)
    return [*segments(level, "thick"), *segments(ticks, "thin"), turned, words, more]


def _watermark(tile: Tile, view: View) -> list[Mark]:
    middle = (view.sheet_x + view.width_mm / 2, view.sheet_y + view.height_mm / 2)
    return [Text(middle[0], middle[1] - 12, tile.name, 34.0, "mist", "middle")]


def _wall(subject: Subject, view: View) -> list[Mark]:
    """Draw cells, strips to keep free, cut-outs, studs and the wall's rim."""
    marks: list[Mark] = list(segments(view.lines(subject.shared + subject.free), "faint"))
    for band in subject.bands:
        box = view.box(band.x_mm, band.y_mm, band.width_mm, band.height_mm, "band")
        marks += hatched(box, 6.0, "hatch", rising=False) if box else ()
    for cut in subject.panelling.wall.cut_outs:
        box = view.box(cut.x_mm, cut.y_mm, cut.width_mm, cut.height_mm, "cut-out")
        if box:
            sides = outline(cut.x_mm, cut.y_mm, cut.width_mm, cut.height_mm)
            marks += [*hatched(box, 3.0, "hatch"), *segments(view.lines(sides), "thick")]
            name = fitted(cut.name, _LETTER, box.width - 2)
            marks += _backed(box.x + 1, box.y + 1, name)
    height = subject.size_mm[1]
    for stud in subject.panelling.wall.studs_mm:
        lines = view.lines([((stud, 0.0), (stud, height))])
        marks += segments(lines, "stud")
        marks += [mark for ((x, _), (_, top)) in lines for mark in _stud_named(x, top)]
    return [*marks, *segments(view.lines(outline(0, 0, *subject.size_mm)), "wall")]


def _lines_of_holes(subject: Subject, holes: tuple[Numbered, ...], view: View) -> list[Mark]:
    """Draw a line through each row and column of holes, for the spirit level and for gluing."""
    width, height = subject.size_mm
    levels = sorted({fixing.y_mm for _, fixing in holes})
    uprights = sorted({fixing.x_mm for _, fixing in holes})
    found: list[Segment] = []
    if len(levels) <= _LEVELS_MAX:
        found += [((0.0, y), (width, y)) for y in levels]
    if len(uprights) <= _LEVELS_MAX:
        found += [((x, 0.0), (x, height)) for x in uprights]
    return list(segments(view.lines(found), "level"))


def _lattice(tiling: Tiling, tile: Tile, view: View) -> list[Mark]:
    """Draw the line to cut along and the four crosses, the bottom left one with its place."""
    (x, y), (wide, high) = tiling.corner_mm(tile), tiling.step_mm
    marks: list[Mark] = list(segments(view.lines(outline(x, y, wide, high)), "cut"))
    for corner in ((x, y), (x + wide, y), (x, y + high), (x + wide, y + high)):
        at = view.at(*corner)
        marks += [Disc(*at, 1.8, "thin"), cross(*at, 4.5, "thick")]
    at_x, at_y = view.at(x, y)
    place = f"x {fmt(x, 1)}  y {fmt(y, 1)}" + ": datum" * (tile == _CORNER)
    return [*marks, *_backed(at_x + 5.5, at_y + 1.5, place)]


def _backed(x: float, y: float, text: str) -> list[Mark]:
    """Write on a plate of its own, so that hatching does not hide the words."""
    plate = Box(x - 0.4, y - 0.8, width_of(text, _LETTER), 1.2 * _LETTER, "backing")
    return [plate, Text(x, y, text, _LETTER, "soft")] if text else []


def _stud_named(x: float, top: float) -> list[Mark]:
    plate = Box(x - 1.3, top - 20.6, 2.8, 9.4, "backing")
    return [plate, Text(x + 1.0, top - 16.0, "stud", _LETTER, "soft", "middle", turned=True)]


def _crowded(holes: tuple[Numbered, ...]) -> bool:
    """Tell whether two holes of a tile are too near each other for words beside each."""
    spots = [(fixing.x_mm, fixing.y_mm) for _, fixing in holes]
    return any(_near(a, b) for a, b in combinations(spots, 2))


def _near(a: tuple[float, float], b: tuple[float, float]) -> bool:
    """Tell whether the words beside one hole would meet the other: they are wide, not high."""
    return abs(a[0] - b[0]) < NEAR_MM and abs(a[1] - b[1]) < NEAR_MM / 4


def _words(subject: Subject, tiling: Tiling, tile: Tile) -> list[Mark]:
    x, top = MARGIN_MM + SIDE_MM, MARGIN_MM + FOOT_MM - 14.5
    room = tiling.page_mm[0] - MARGIN_MM - x
    corner_x, corner_y = tiling.corner_mm(tile)
    own = sum(tiling.tile_of(fixing.x_mm, fixing.y_mm) == tile for _, fixing in subject.fixings)
    page = tiling.printed.index(tile) + 2
    no_hole = "No hole: for the wall's corner" if tile == _CORNER else "No hole: to join others"
    holes = thing(own, "hole") if own else no_hole
    title = f"{tile.name}  {plain(subject.name)}  (page {page} of {tiling.pages})"
    lower_left = (
        f"Lower left cross: {fmt(corner_x, 1)} mm to the right of and {fmt(corner_y, 1)} mm "
        f"above the bottom left corner of the wall. {holes}."
    )
    keep_free = " Slanted strips: keep free." if subject.bands else ""
    lines = [lower_left, _beside(tiling, tile), _HINT + keep_free]
    marks: list[Mark] = [Text(x, top, fitted(title, 4.2, room), 4.2)]
    for number, line in enumerate(lines, start=1):
        marks.append(Text(x, top - 3.5 * number, fitted(line, 2.5, room), 2.5, "soft"))
    return marks


def _beside(tiling: Tiling, tile: Tile) -> str:
    """Say which printed tile comes next on each side, and how far its crosses are away."""
    told = []
    for side, row_step, column_step in (
        ("left", 0, -1),
        ("right", 0, 1),
        ("below", -1, 0),
        ("above", 1, 0),
    ):
        others = [
            (abs(other.row - tile.row) + abs(other.column - tile.column), other)
            for other in tiling.printed
            if _sign(other.row - tile.row) == row_step
            and _sign(other.column - tile.column) == column_step
        ]
        if others:
            steps, other = min(others)
            away = steps * tiling.step_mm[0 if column_step else 1]
            told.append(f"{side} {other.name} at {fmt(away, 1)} mm")
    if not told:
        return "No other tile lies in line with this one."
    return f"Next, from cross to cross: {', '.join(told)}."


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)
