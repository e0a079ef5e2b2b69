"""What the signs of an elevation mean, and how many there are of each."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.report.svg import fmt
from planner.report.wall.elevation.body import (
    marked_cut_outs,
    parts_singly,
    screws_singly,
    shared_of,
    signs_of,
)
from planner.report.wall.elevation.symbols import (
    bar,
    hung_tone,
    knob,
    left_out,
    panel_tone,
    plaque,
    screw,
    stages_of,
    tone,
)
from planner.report.wall.sheet.marks import Box, Text, fitted, hatched, segments, width_of
from planner.report.wall.subject import STOP_WORDS
from planner.report.words import plain, thing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from planner.report.wall.elevation.place import Place
    from planner.report.wall.sheet.marks import Mark
    from planner.report.wall.subject import Subject

LINE = 1.75
"""Height of a line of the legend, in letters."""
_SIZE, _SIGN, _COLUMNS = 0.85, 3.0, 5
"""Size of its text and room for its signs, in letters; columns at most."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A sign, drawn about a point with a given size of letters, and what it means."""

    sign: Callable[[float, float, float], list[Mark]]
    text: str


Entries = tuple[Entry, ...]


def entries(subject: Subject, place: Place) -> Entries:
    """Return what the drawing at this place needs to have explained."""
    stop = (STOP_WORDS,) if subject.stops else ()
    return (
        *(Entry(lambda x, y, u: screw(x, y, 0.6 * u, stud=False), text) for text in stop),
        *_parts(subject),
        *_screws(subject),
        *_cut_outs(subject),
        *_lines(subject),
        *(Entry(_nothing, text) for text in _omitted(subject, place)),
    )


@dataclass(frozen=True, slots=True)
class Legend:
    """Entries in columns side by side, and long ones under them on lines of their own."""

    columns: tuple[Entries, ...]
    long: Entries

    @property
    def rows(self) -> int:
        """How many lines high it is."""
        return max((len(column) for column in self.columns), default=0) + len(self.long)


def set_out(told: Entries, width: float, letter: float) -> Legend:
    """Part entries into as many columns as find room, each as wide as it must be."""
    fits = [_wide((entry,), letter) <= width / 2 for entry in told]
    short = tuple(entry for entry, fit in zip(told, fits, strict=True) if fit)
    long = tuple(entry for entry, fit in zip(told, fits, strict=True) if not fit)
    return Legend(columns=_columns(short, width, letter), long=long)


def _columns(told: Entries, width: float, letter: float) -> tuple[Entries, ...]:
    for count in range(min(_COLUMNS, len(told)), 1, -1):
        rows = -(-len(told) // count)
        columns = tuple(told[start : start + rows] for start in range(0, len(told), rows))
        if sum(_wide(column, letter) for column in columns) <= width:
            return columns
    return (told,) if told else ()


def legend_marks(
    legend: Legend, *, x: float, top: float, width: float, letter: float
) -> list[Mark]:
    """Draw a legend under `top`; texts wider than `width` are shortened."""
    needed = sum(_wide(column, letter) for column in legend.columns)
    spare = min(max(0.0, width - needed) / max(1, len(legend.columns)), 4 * letter)
    marks: list[Mark] = []
    left, room = x, width - _SIGN * letter
    for column in legend.columns:
        for row, entry in enumerate(column):
            marks += _told(entry, (left, top - (row + 0.5) * LINE * letter), room, letter)
        left += _wide(column, letter) + spare
    for row, entry in enumerate(legend.long, start=legend.rows - len(legend.long)):
        marks += _told(entry, (x, top - (row + 0.5) * LINE * letter), room, letter)
    return marks


def _told(entry: Entry, at: tuple[float, float], room: float, letter: float) -> list[Mark]:
    x, middle = at
    text = fitted(entry.text, _SIZE * letter, room)
    words = Text(x + 2.4 * letter, middle - 0.3 * letter, text, _SIZE * letter)
    return [*entry.sign(x + 1.1 * letter, middle, letter), words]


def _wide(column: Entries, letter: float) -> float:
    longest = max((width_of(entry.text, _SIZE * letter) for entry in column), default=0.0)
    return longest + _SIGN * letter


def _parts(subject: Subject) -> Iterator[Entry]:
    on_spot = {
        part: (spot, rank)
        for spot in ("cells", "fixing", "junction", "free edge", "shared edge", "cell")
        for rank, part in enumerate(shared_of(subject, spot))
    }
    several = len(stages_of(subject)) > 1
    for part in sorted(subject.counts, key=lambda part: subject.numbers[part]):
        stage = f", stage {subject.stages.get(part, 1)}" if several else ""
        text = f"{subject.numbers[part]} {plain(part)}: {subject.counts[part]}{stage}"
        yield Entry(_sign_of(subject, part, *on_spot.get(part, ("hung", 0))), text)


def _sign_of(
    subject: Subject, part: str, spot: str, rank: int
) -> Callable[[float, float, float], list[Mark]]:
    style, number = tone(subject, part), str(subject.numbers[part])
    kinds = len(shared_of(subject, "cell"))
    size, signs = signs_of(subject, spot, rank)

    def sign(x: float, y: float, unit: float) -> list[Mark]:
        if spot == "cell":
            box = (x - 0.8 * unit, y - 0.6 * unit, 1.6 * unit, 1.2 * unit)
            return [Box(*box, panel_tone(subject, part, kinds)), Box(*box, "thin")]
        if spot == "shared edge":
            return bar(x, y, 1.4 * size * unit, 0.5 * unit, style, upright=False, ticks=signs)
        if spot == "free edge":
            return bar(x, y, 1.8 * size * unit, 0.26 * unit, style, upright=False, ticks=signs)
        if spot in {"junction", "fixing"}:
            radius = 0.7 * unit if spot == "junction" else 0.35 * unit
            return knob(x, y, size * radius, style, signs)
        return plaque((x, y), (1.8 * unit, 1.2 * unit), [number], unit, hung_tone(subject, part))

    return sign


def _screws(subject: Subject) -> Iterator[Entry]:
    on_stud = sum(fixing.stud for _, fixing in subject.fixings)
    plain_ones = len(subject.fixings) - on_stud
    if plain_ones:
        yield Entry(lambda x, y, u: screw(x, y, 0.6 * u, stud=False), thing(plain_ones, "fixing"))
    if on_stud:
        text = f"{thing(on_stud, 'fixing')} on a stud"
        yield Entry(lambda x, y, u: screw(x, y, 0.6 * u, stud=True), text)
    reasons = Counter(left.why for left in subject.skipped)
    for why, count in sorted(reasons.items(), key=lambda item: (-item[1], item[0])):
        yield Entry(lambda x, y, u: left_out(x, y, 0.42 * u), f"{count} left out: {plain(why)}")


def _cut_outs(subject: Subject) -> Iterator[Entry]:
    cuts = subject.panelling.wall.cut_outs
    for sign, index in marked_cut_outs(subject).items():
        cut = cuts[index]
        size = f"{fmt(cut.width_mm, 1)} x {fmt(cut.height_mm, 1)}"
        place = f"at {fmt(cut.x_mm, 1)}, {fmt(cut.y_mm, 1)}"
        yield Entry(_cut_out_sign(sign), f"{plain(cut.name)} ({cut.kind}): {size} {place}")


def _cut_out_sign(sign: str) -> Callable[[float, float, float], list[Mark]]:
    def drawn(x: float, y: float, unit: float) -> list[Mark]:
        box = Box(x - 0.9 * unit, y - 0.6 * unit, 1.8 * unit, 1.2 * unit, "cut-out")
        return [
            box,
            *hatched(box, 0.5 * unit, "hatch"),
            *plaque((x, y), (unit, unit), [sign], unit),
        ]

    return drawn


def _lines(subject: Subject) -> Iterator[Entry]:
    if subject.bands:
        text = "keep free: cables or pipes may run there"
        yield Entry(_band_sign, text)
    if subject.panelling.wall.studs_mm:
        yield Entry(_stud_sign, thing(len(subject.panelling.wall.studs_mm), "stud"))


def _omitted(subject: Subject, place: Place) -> Iterator[str]:
    if not parts_singly(subject, place) and subject.panelling.placed:
        yield "the parts are too many or too small to be drawn one by one"
    if not screws_singly(subject, place) and subject.fixings:
        yield "fixings are not drawn one by one: see fixings.csv"


def _band_sign(x: float, y: float, unit: float) -> list[Mark]:
    box = Box(x - 0.9 * unit, y - 0.6 * unit, 1.8 * unit, 1.2 * unit, "band")
    return [*hatched(box, 0.6 * unit, "hatch", rising=False), box]


def _stud_sign(x: float, y: float, unit: float) -> list[Mark]:
    return list(segments([((x - unit, y), (x + unit, y))], "stud"))


def _nothing(_x: float, _y: float, _unit: float) -> list[Mark]:
    return []
