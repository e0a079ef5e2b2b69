"""An elevation set on a page of paper, at a scale of ISO 5455, or on a screen."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.report.svg import fmt
from planner.report.wall.elevation.body import body
from planner.report.wall.elevation.legend import (
    LINE,
    entries,
    legend_marks,
    set_out,
)
from planner.report.wall.elevation.measures import measures
from planner.report.wall.elevation.place import Place
from planner.report.wall.paper import PAPERS
from planner.report.wall.sheet.marks import Sheet, Text, fitted, segments, width_of
from planner.report.words import plain, thing

if TYPE_CHECKING:
    from planner.report.wall.elevation.legend import Entries
    from planner.report.wall.sheet.marks import Mark
    from planner.report.wall.subject import Subject


@dataclass(frozen=True, slots=True)
class Room:
    """Room about a wall for dimensions and numbers, in letters."""

    left: float = 6.0
    right: float = 4.0
    above: float = 1.4
    below: float = 5.4

    @property
    def sides(self) -> float:
        """Left and right together."""
        return self.left + self.right


ROOM = Room()
PX_WIDTH = 900.0
"""Width of the picture on a screen, before the page scales it; invented."""
_SCREEN, _SCREEN_LETTER = 1000.0, 21.0
"""Letters of 1/48 of the width are 8 px high on a telephone of 390 px, as plates have them."""
_EDGE_MM, _LETTER_MM, _SMALL_MM = 10.0, 3.0, 2.5
_HEAD, _LEGEND_LINES = 3.0, 4
"""Room for the title, in letters, and lines of legend to find room for in any case."""
_UNDER_TITLE_MM = 20.0


def screen_sheet(subject: Subject) -> Sheet:
    """Set an elevation on one sheet for a screen: as wide as the screen, as high as needed."""
    letter, (width_mm, height_mm) = _SCREEN_LETTER, subject.size_mm
    scale = min((_SCREEN - ROOM.sides * letter) / width_mm, 1.3 * _SCREEN / height_mm)
    place = Place(x=ROOM.left * letter, y=0, scale=scale, letter=letter)
    told = entries(subject, place)
    legend = set_out(told, _SCREEN, letter)
    foot = (ROOM.below + LINE * (legend.rows + 1) + 0.5) * letter
    place = Place(x=place.x, y=foot, scale=scale, letter=letter)
    under = foot - (ROOM.below + LINE) * letter
    marks = [
        *body(subject, place),
        *measures(subject, place),
        *_scale_bar(subject, place, under + 0.9 * letter, _SCREEN),
        *legend_marks(legend, x=0, top=under, width=_SCREEN, letter=letter),
    ]
    return Sheet(
        name=told_of(subject),
        width=_SCREEN,
        height=foot + scale * height_mm + ROOM.above * letter,
        letter=letter,
        marks=tuple(marks),
    )


def paper_sheets(subject: Subject, paper: str) -> tuple[Sheet, ...]:
    """Set an elevation on paper: the drawing first, then what the legend has no room for."""
    sizes = (PAPERS[paper][::-1], PAPERS[paper])  # lying first: it wins where both do
    wide, high = min(sizes, key=lambda size: _reduction(subject, size))
    ratio = _reduction(subject, (wide, high))
    place = _place(subject, ratio, (wide, high))
    told = entries(subject, place)
    letter, here, rest = _split(told, place, wide)
    title = f"{plain(subject.name)}: elevation, {_ratio_words(ratio)} on {paper}"
    under = place.y - (ROOM.below + LINE) * _LETTER_MM
    marks = [
        *body(subject, place),
        *measures(subject, place),
        *_scale_bar(subject, place, under + 0.9 * _LETTER_MM, wide - _EDGE_MM),
        *_legend(here, under, wide, letter),
    ]
    pages = [
        marks,
        *(
            _legend(part, high - _UNDER_TITLE_MM, wide, _LETTER_MM)
            for part in _paged(rest, wide, high)
        ),
    ]
    return tuple(
        Sheet(
            name=told_of(subject),
            width=wide,
            height=high,
            letter=_LETTER_MM,
            marks=(*_title(title, told_of(subject), number, len(pages), (wide, high)), *page),
        )
        for number, page in enumerate(pages, start=1)
    )


def told_of(subject: Subject) -> str:
    """Say in one line what an elevation shows."""
    width, height = subject.size_mm
    return (
        f"Wall {plain(subject.name)}, {fmt(width, 1)} x {fmt(height, 1)} mm: "
        f"{thing(len(subject.panelling.cells), 'cell')}, {thing(len(subject.fixings), 'fixing')}"
    )


def standard_reduction(least: float) -> float:
    """Return the scale of ISO 5455 (1:1, 1:2, 1:5, 1:10 ...) that reduces at least so much.

    >>> [standard_reduction(least) for least in (0.4, 1.0, 4.9, 9.2, 21.0)]
    [1, 1, 5, 10, 50]
    """
    power = 1
    while True:
        for step in (1, 2, 5):
            if step * power >= least * (1 - 1e-9):
                return step * power
        power *= 10


def _reduction(subject: Subject, size: tuple[float, float]) -> float:
    """Return the scale at which a wall fits a page with a few lines of legend."""
    (width_mm, height_mm), (wide, high) = subject.size_mm, size
    room_x = wide - 2 * _EDGE_MM - ROOM.sides * _LETTER_MM
    around = _HEAD + ROOM.above + ROOM.below + LINE * (1 + _LEGEND_LINES)
    room_y = high - 2 * _EDGE_MM - around * _LETTER_MM
    return standard_reduction(max(width_mm / room_x, height_mm / room_y))


def _place(subject: Subject, ratio: float, size: tuple[float, float]) -> Place:
    (width_mm, height_mm), (wide, high) = subject.size_mm, size
    slack = wide - 2 * _EDGE_MM - ROOM.sides * _LETTER_MM - width_mm / ratio
    top = high - _EDGE_MM - (_HEAD + ROOM.above) * _LETTER_MM
    return Place(
        x=_EDGE_MM + ROOM.left * _LETTER_MM + slack / 2,
        y=top - height_mm / ratio,
        scale=1 / ratio,
        letter=_LETTER_MM,
    )


def _split(told: Entries, place: Place, wide: float) -> tuple[float, Entries, Entries]:
    """Part the legend into what stands under the drawing and what goes to further pages.

    The size of its letters comes first: small ones, if those spare a page.
    """
    room = place.y - _EDGE_MM - (ROOM.below + LINE) * _LETTER_MM
    for letter in (_LETTER_MM, _SMALL_MM):
        here, rest = _first(told, int(room / (LINE * letter) + 1e-9), wide, letter)
        if not rest:
            return letter, here, rest
    return _LETTER_MM, *_first(told, int(room / (LINE * _LETTER_MM) + 1e-9), wide, _LETTER_MM)


def _paged(rest: Entries, wide: float, high: float) -> list[Entries]:
    lines = int((high - _UNDER_TITLE_MM - _EDGE_MM) / (LINE * _LETTER_MM))
    pages = []
    while rest:
        page, rest = _first(rest, lines, wide, _LETTER_MM)
        pages.append(page)
    return pages


def _first(told: Entries, lines: int, wide: float, letter: float) -> tuple[Entries, Entries]:
    """Return as many entries as find room in so many lines, and the others."""

    def too_many(count: int) -> bool:
        return set_out(told[:count], wide - 2 * _EDGE_MM, letter).rows > lines

    count = bisect_left(range(1, len(told) + 1), x=True, key=too_many)
    return told[:count], told[count:]


def _legend(told: Entries, top: float, wide: float, letter: float) -> list[Mark]:
    room = wide - 2 * _EDGE_MM
    legend = set_out(told, room, letter)
    return legend_marks(legend, x=_EDGE_MM, top=top, width=room, letter=letter)


def _title(title: str, told: str, number: int, count: int, size: tuple[float, float]) -> list[Mark]:
    wide, high = size
    page = f"page {number} of {count}" if count > 1 else ""
    room = wide - 2 * _EDGE_MM - width_of(page, _LETTER_MM)
    top = high - _EDGE_MM - 1.2 * _LETTER_MM
    return [
        Text(_EDGE_MM, top, fitted(title, 1.2 * _LETTER_MM, room), 1.2 * _LETTER_MM),
        Text(wide - _EDGE_MM, top, page, _LETTER_MM, "soft", "end"),
        Text(_EDGE_MM, top - 1.4 * _LETTER_MM, fitted(told, _LETTER_MM, room), _LETTER_MM, "soft"),
    ]


def _ratio_words(ratio: float) -> str:
    return f"1:{ratio:.0f}"


def _scale_bar(subject: Subject, place: Place, y: float, end: float) -> list[Mark]:
    """Draw a bar of a round length at most a third as long as the wall; words go up to `end`."""
    unit, length = place.letter, _round_length(subject.size_mm[0] / 3)
    x0, x1 = place.x, place.x + place.scale * length
    arm, size, words = 0.35 * unit, 0.85 * unit, x1 + 0.6 * unit
    lines = [((x0, y), (x1, y)), ((x0, y - arm), (x0, y + arm)), ((x1, y - arm), (x1, y + arm))]
    bar, whence = f"{fmt(length, 1)} mm", "from the bottom left"
    told = (
        f"{bar}; all measures in mm {whence} corner of the wall",
        f"{bar}; measures in mm {whence}",
    )
    text = next((each for each in told if width_of(each, size) <= end - words), bar)
    return [*segments(lines, "thick"), Text(words, y - 0.3 * unit, text, size, "soft")]


def _round_length(at_most: float) -> float:
    """Return the largest 1, 2 or 5 times a power of ten that is not longer.

    >>> _round_length(800.0), _round_length(133.0)
    (500.0, 100.0)
    """
    power = 1e-3
    while power * 10 <= at_most:
        power *= 10
    return round(max(step * power for step in (1, 2, 5) if step * power <= at_most or step == 1), 6)
