"""The weekend as rows of characters: printers as rows, hours as columns, attendance behind.

Day under day where that is short enough, so that hours stand under hours; else in one piece
as fine as the width allows. What a sign says does not hang on its colour.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from rich.cells import cell_len, chop_cells
from rich.text import Text

from planner.report.roster import days_of
from planner.report.screen import heading, say
from planner.report.timeline import NIGHT_FROM, NIGHT_TO
from planner.report.words import clock, day, day_and_clock, plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from rich.console import Console

    from planner.report.roster import Roster, Span
    from planner.schedule.model import Run

STEPS_MIN = (15, 20, 30, 60, 120, 180, 360, 720, 1440, 2880, 10080)
"""Minutes that one character may stand for."""
ROWS_MAX = 60
"""Day under day up to this many lines: what two screens hold; invented."""
NAMES_MAX = 18
"""A printer's name takes no more characters than this, and a third of the width: invented."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """One character each: a plate printing, somebody there or not, and the hours themselves."""

    busy: str
    alone: str
    there: str
    empty: str
    blocked: str
    deadline: str
    light: str
    dark: str
    tick: str


BLOCKS = Signs(
    busy="\u2588",
    alone="\u2592",
    there="\u2591",
    empty=" ",
    blocked="\u00d7",
    deadline="\u2502",
    light="\u2500",
    dark="\u2550",
    tick="\u253c",
)
ASCII = Signs(
    busy="#",
    alone="=",
    there=".",
    empty=" ",
    blocked="x",
    deadline="|",
    light="-",
    dark="~",
    tick="+",
)
_STYLES = {"busy": "bold", "alone": "bold", "there": "green", "blocked": "yellow"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Grid:
    """Characters of `step_min` each from `first` on; `names` is the width of the names."""

    first: datetime
    cells: int
    step_min: int
    names: int
    roster: Roster
    signs: Signs

    def moment(self, cell: int) -> datetime:
        """Return when a character begins."""
        seconds = self.first.timestamp() + 60 * self.step_min * cell
        return datetime.fromtimestamp(seconds, self.roster.zone)

    def cell(self, moment: datetime) -> int:
        """Return the character in which a moment lies; may be outside."""
        elapsed_s = moment.timestamp() - self.first.timestamp()
        return int(elapsed_s // (60 * self.step_min))

    def is_in(self, cell: int, spans: Iterable[Span]) -> bool:
        """Whether at least half of a character's time lies within any of the spans."""
        from_s = self.moment(cell).timestamp()
        to_s = from_s + 60 * self.step_min
        inside_s, seen_s = 0.0, from_s
        for start, end in sorted(spans):  # time that two of them share counts once
            until_s = min(to_s, end.timestamp())
            inside_s += max(0.0, until_s - max(seen_s, start.timestamp()))
            seen_s = max(seen_s, until_s)
        return 2 * inside_s >= to_s - from_s


def print_timeline(console: Console, roster: Roster) -> None:
    """Print the bars, as wide as the console at most, and what the signs mean."""
    signs = ASCII if console.options.ascii_only else BLOCKS
    grids = _grids(roster, console.width, signs)
    if not grids:
        return
    heading(console, f"Timeline (times in {roster.zone})")
    for number, grid in enumerate(grids):
        if number:
            console.print()
        for line in _lines(grid):
            line.rstrip()
            console.print(line)
    say(console, _legend(grids[0]), "dim")


def _grids(roster: Roster, width: int, signs: Signs) -> list[_Grid]:
    machines = [plain(machine.id) for machine in roster.weekend.machines]
    names = min(NAMES_MAX, width // 3, max(map(cell_len, machines), default=0))
    room = width - names - 1
    if not machines or room < 10:
        return []
    spans = days_of(roster.span, roster.zone)
    step = _step(25.0, room)  # a day on which the clocks change has 25 hours
    if step > 60 or len(spans) * (len(machines) + 3) > ROWS_MAX:
        spans = (roster.span,)
        step = _step((roster.span[1].timestamp() - roster.span[0].timestamp()) / 3600, room)
    return [
        _Grid(
            first=first,
            cells=-int(-(last.timestamp() - first.timestamp()) // (60 * step)),
            step_min=step,
            names=names,
            roster=roster,
            signs=signs,
        )
        for first, last in spans
    ]


def _step(hours: float, room: int) -> int:
    """Return the minutes per character at which so many hours fit; the coarsest if none does."""
    return next((step for step in STEPS_MIN if hours * 60 / step <= room), STEPS_MIN[-1])


def _lines(grid: _Grid) -> Iterator[Text]:
    yield _days_line(grid)
    yield _hours_line(grid)
    yield Text(" " * (grid.names + 1) + _ruler(grid))
    windows = [(window.start, window.end) for window in grid.roster.weekend.attendance]
    present = [grid.is_in(cell, windows) for cell in range(grid.cells)]
    for machine in grid.roster.weekend.machines:
        name = chop_cells(plain(machine.id), grid.names)[0]
        line = Text(name + " " * (grid.names + 1 - cell_len(name)))
        runs = [run for run in grid.roster.made.runs if run.machine == machine.id]
        spans = [(block.start, block.end) for block in machine.blocked]
        line.append_text(_lane(grid, runs, spans, present))
        yield line


def _days_line(grid: _Grid) -> Text:
    """Write each local day where it begins, and the deadline where it is."""
    zone, marks = grid.roster.zone, [" "] * grid.cells
    days = [day(grid.moment(cell), zone) for cell in range(grid.cells)]
    starts = [cell for cell in range(grid.cells) if not cell or days[cell] != days[cell - 1]]
    for cell, after in pairwise([*starts, grid.cells]):
        # The date where it fits before the next, else the weekday, else nothing.
        for told in (days[cell], days[cell][:3]):
            if len(told) < after - cell or after == grid.cells:
                _write(marks, cell, told)
                break
    deadline = grid.roster.weekend.deadline
    if deadline is not None and 0 <= (cell := grid.cell(deadline)) < grid.cells:
        _write(marks, _free(marks, cell), "deadline")
    return Text(" " * (grid.names + 1) + "".join(marks), "bold")


def _free(marks: Sequence[str], cell: int) -> int:
    """Return where "deadline" begins so that it ends or begins at its sign, clear of a date."""
    length = len("deadline")
    before = max(0, cell - length + 1)
    clear = "".join(marks[max(0, before - 1) : cell + 1]).isspace()
    behind = "".join(marks[cell : cell + length + 1])
    return before if clear or not behind.isspace() or len(behind) < length else cell


def _hours_line(grid: _Grid) -> Text:
    """Write the hour, two digits, at every third hour, or as often as there is room."""
    marks = [" "] * grid.cells
    for cell in _ticks(grid):
        if cell + 2 <= grid.cells:
            _write(marks, cell, clock(grid.moment(cell), grid.roster.zone)[:2])
    return Text(" " * (grid.names + 1) + "".join(marks), "dim")


def _ticks(grid: _Grid) -> list[int]:
    every_h = next(h for h in (3, 6, 12, 24) if h * 60 / grid.step_min >= 3 or h == 24)
    if 24 * 60 / grid.step_min < 3:  # days are too narrow for any hour
        return []
    ticks = []
    for cell in range(grid.cells):
        local = grid.moment(cell)
        into_min = local.hour % every_h * 60 + local.minute
        if into_min < grid.step_min:
            ticks.append(cell)
    return ticks


def _ruler(grid: _Grid) -> str:
    """Draw the hours as a line: double by night, crossed where an hour is written."""
    ticks = set(_ticks(grid))
    signs = grid.signs

    def sign(cell: int) -> str:
        if cell in ticks:
            return signs.tick
        middle = grid.moment(cell) + timedelta(minutes=grid.step_min / 2)
        local = middle.time()
        night = grid.step_min < 720 and (local >= NIGHT_FROM or local < NIGHT_TO)
        return signs.dark if night else signs.light

    return "".join(sign(cell) for cell in range(grid.cells))


def _lane(
    grid: _Grid, runs: Sequence[Run], blocked: Sequence[Span], present: Sequence[bool]
) -> Text:
    """Draw one printer: attendance behind, its runs before, each with its plate's name."""
    kinds = ["there" if here else "empty" for here in present]
    kinds = ["blocked" if grid.is_in(cell, blocked) else kind for cell, kind in enumerate(kinds)]
    begins: dict[int, str] = {}
    for run in runs:
        first, last = _cells_of(grid, run)
        for cell in range(max(0, first), min(grid.cells, last)):
            kinds[cell] = "busy" if present[cell] else "alone"
        if first < grid.cells and last > 0:
            begins[max(0, first)] = run.plate
    marks = [getattr(grid.signs, kind) for kind in kinds]
    line = _with_deadline(grid, kinds, marks)
    _name_plates(line, kinds, begins)
    text = Text()
    for mark, kind in zip(line, kinds, strict=True):
        text.append(mark, _STYLES.get(kind, ""))
    return text


def _cells_of(grid: _Grid, run: Run) -> tuple[int, int]:
    """Return the first character of a run and the one after its last; one at least."""
    half_s = 30 * grid.step_min
    first = grid.cell(run.start + timedelta(seconds=half_s))
    last = grid.cell(run.end + timedelta(seconds=half_s))
    return first, max(last, first + 1)


def _with_deadline(grid: _Grid, kinds: Sequence[str], marks: Sequence[str]) -> list[str]:
    line, deadline = list(marks), grid.roster.weekend.deadline
    if deadline is not None and 0 <= (cell := grid.cell(deadline)) < grid.cells:
        line[cell] = grid.signs.deadline if kinds[cell] != "busy" else line[cell]
    return line


def _name_plates(line: list[str], kinds: Sequence[str], begins: dict[int, str]) -> None:
    """Write each plate's name into its bar, or behind a short one if nothing is there.

    A name that fits nowhere is left out: the list of visits has it.
    """
    starts = [*sorted(begins), len(line)]
    for first, after in pairwise(starts):
        name = plain(begins[first])
        length = cell_len(name)
        if length != len(name):  # wide characters would push the hours out of place
            continue
        end = next((c for c in range(first, after) if kinds[c] not in {"busy", "alone"}), after)
        if length < end - first:
            _write(line, first, name)
        elif end + length < after and (after == len(line) or end + length + 1 <= after):
            _write(line, end, name)


def _write(marks: list[str], at: int, text: str) -> None:
    for offset, char in enumerate(text):
        if at + offset < len(marks):
            marks[at + offset] = char


def _legend(grid: _Grid) -> str:
    signs, roster = grid.signs, grid.roster
    step = f"{grid.step_min} min" if grid.step_min < 60 else f"{grid.step_min // 60} h"
    said = [
        f"{signs.busy} printing",
        f"{signs.alone} printing with nobody there",
        f"{signs.there} somebody is there",
        f"{signs.dark} night, 22 to 06",
    ]
    if any(machine.blocked for machine in roster.weekend.machines):
        said.append(f"{signs.blocked} must not run")
    if roster.weekend.deadline is not None:
        moment = day_and_clock(roster.weekend.deadline, roster.zone)
        said.append(f"{signs.deadline} deadline, {moment}")
    return f"{', '.join(said)}; one sign is {step}."
