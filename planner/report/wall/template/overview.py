"""The first page of a template: how its tiles lie on the wall, and how to use them."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING

from planner.report.svg import fmt
from planner.report.wall.elevation.place import Place
from planner.report.wall.sheet.marks import Disc, Sheet, Text, centred, fitted
from planner.report.wall.template.pages import scale_bars, view_of
from planner.report.wall.template.tiles import (
    FOOT_MM,
    MARGIN_MM,
    PAGES_MAX,
    SIDE_MM,
    Tile,
    told_shortly,
)
from planner.report.words import plain, thing

if TYPE_CHECKING:
    from planner.report.wall.sheet.marks import Mark
    from planner.report.wall.subject import Subject
    from planner.report.wall.template.tiles import Tiling

_LETTER = 2.8
_LINE_MM = 4.2
_DOTS_MAX = 4000
"""Holes beyond which the overview leaves them out (invented)."""

_USE = (
    (
        "1. Print at 100 % ('actual size', no fitting to the page). Measure both bars of 100 mm "
        "on the first sheet and on one later."
    ),
    (
        "2. Cut each tile along its dashed line on the left and below, lay it over its "
        "neighbours so that the crosses meet, and glue or tape it."
    ),
    (
        "3. The bottom left corner of the wall is the datum: x to the right, y upwards, in mm. "
        "Each tile names the place of its lower left cross; the chain lines through the holes "
        "are level and upright."
    ),
    (
        "5. Drill as the anchor's maker says; the circles are marks, not the size of a drill. "
        "Look for cables and pipes with a detector first; local codes and licensed practice come "
        "before this sheet."
    ),
)


def overview_sheet(subject: Subject, tiling: Tiling) -> Sheet:
    """Draw the wall with its tiles, and say how many are printed and how to use them."""
    wide, high = tiling.page_mm
    x, top, width = MARGIN_MM + SIDE_MM, high - MARGIN_MM, wide - 2 * MARGIN_MM - SIDE_MM
    title = f"Drilling template: {plain(subject.name)}"
    told = [line for text in instructions(subject, tiling) for line in _wrapped(text, width)]
    foot = MARGIN_MM + FOOT_MM
    room = top - 9.0 - foot - (len(told) + 1) * _LINE_MM
    scale = min(width / subject.size_mm[0], max(room, 40.0) / subject.size_mm[1])
    place = Place(x=x, y=top - 9.0 - scale * subject.size_mm[1], scale=scale, letter=_LETTER)
    marks: list[Mark] = [
        Text(x, top - 4.5, fitted(title, 4.5, width), 4.5),
        *_tiles(subject, tiling, place),
        *_holes(subject, place),
        place.box(0, 0, *subject.size_mm, "wall"),
        *scale_bars(view_of(tiling, Tile(0, 0))),
    ]
    for number, line in enumerate(told, start=1):
        at = place.y - (number + 0.4) * _LINE_MM
        marks.append(Text(x, at, line, _LETTER))
    return Sheet(name=title, width=wide, height=high, letter=_LETTER, marks=tuple(marks))


def instructions(subject: Subject, tiling: Tiling) -> tuple[str, ...]:
    """Say how many pages there are, which tiles are left out, and what to do with the rest."""
    if not subject.fixings:
        return ("No fixing is placed on this wall: there is nothing to drill.",)
    if tiling.too_many:
        return (too_many_words(tiling),)
    stops = (
        f"Stop, do not drill yet: {plain(stop.removeprefix('stop: '))}." for stop in subject.stops
    )
    use = (*_USE[:-1], _checks(subject), _USE[-1])
    return (*stops, counted_words(tiling), *_left_out(tiling), *use)


def counted_words(tiling: Tiling) -> str:
    """Say how many pages a template has."""
    count = len(tiling.bridges)
    joined = f", {count} of them without a hole to join the others" if count else ""
    blank = f"; {thing(len(tiling.blank), 'tile')} without a hole left out" if tiling.blank else ""
    return (
        f"{tiling.pages} pages of {tiling.paper}: this overview and "
        f"{thing(len(tiling.printed), 'tile')} of {fmt(tiling.step_mm[0], 1)} x "
        f"{fmt(tiling.step_mm[1], 1)} mm{joined}{blank}."
    )


def too_many_words(tiling: Tiling) -> str:
    """Say that a template has too many tiles to be printed, and what to do instead."""
    count = len(tiling.holes) + len(tiling.bridges)
    return (
        f"{count} tiles of {tiling.paper} would be needed, more than {PAGES_MAX}: none is drawn. "
        "Measure the holes by fixings.csv, or mark them from the DXF with a laser."
    )


def _left_out(tiling: Tiling) -> list[str]:
    return [f"Left out: {told_shortly(tiling.blank)}."] if tiling.blank else []


def _checks(subject: Subject) -> str:
    """Say how to check the glued sheets: by the tape, and by the longest way across the wall."""
    told = (
        "4. Small errors add up over many tiles: check with a tape from the datum, and set the "
        "lowest row by the spirit level."
    )
    (first, a), (last, b) = subject.fixings[0], subject.fixings[-1]
    if first == last:
        return told
    length = math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm))
    return f"{told} From hole {first} to hole {last} it must be {fmt(length, 1)} mm."


def _tiles(subject: Subject, tiling: Tiling, place: Place) -> list[Mark]:
    """Draw every tile as far as the wall goes, printed ones tinted, with their names."""
    marks: list[Mark] = []
    styles = [(tiling.blank, "blank"), (tiling.bridges, "bridge"), (tiling.holes, "printed")]
    if len(tiling.blank) + len(tiling.holes) > 4 * PAGES_MAX:
        return marks
    for tiles, style in styles:
        for tile in tiles:
            x, y = tiling.corner_mm(tile)
            wide = min(tiling.step_mm[0], subject.size_mm[0] - x)
            high = min(tiling.step_mm[1], subject.size_mm[1] - y)
            marks.append(place.box(x, y, wide, high, style))
    for tiles, style in styles:
        for tile in tiles:
            marks += _name(subject, tiling, tile, place, "soft" if style == "blank" else "ink")
    for cut in subject.panelling.wall.cut_outs:
        box = (cut.x_mm, cut.y_mm, cut.width_mm, cut.height_mm)
        marks.append(place.box(*box, "measure"))
    return marks


def _name(subject: Subject, tiling: Tiling, tile: Tile, place: Place, style: str) -> list[Mark]:
    x, y = tiling.corner_mm(tile)
    wide = min(tiling.step_mm[0], subject.size_mm[0] - x) * place.scale
    high = min(tiling.step_mm[1], subject.size_mm[1] - y) * place.scale
    at = place.at(x, y)
    size = min(3.5, 0.8 * high)
    text = fitted(tile.name, size, wide)
    whole = text == tile.name and size >= 1.2
    return [centred(at[0] + wide / 2, at[1] + high / 2, text, size, style)] if whole else []


def _holes(subject: Subject, place: Place) -> list[Mark]:
    if len(subject.fixings) > _DOTS_MAX:
        return []
    return [
        Disc(*place.at(fixing.x_mm, fixing.y_mm), 0.45, "solid") for _, fixing in subject.fixings
    ]


def _wrapped(text: str, width: float) -> list[str]:
    """Break a text into lines; the first stands at the margin like the others."""
    return textwrap.wrap(text, int(width / (0.48 * _LETTER)))
