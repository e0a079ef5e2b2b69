"""Where the head and the strand are after each line: set by words, added to, counted anew, homed.

A coordinate as the file counts it is `P`; G92 changes the count but not the place, so the
machine's own position is `P` plus an origin that G92 moves and G28 puts back to 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath import codes, notes
from planner.motion.toolpath.modes import by_line
from planner.motion.toolpath.page import merged
from planner.motion.toolpath.register import pick, spread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.modes import Modes
    from planner.motion.toolpath.page import Page
    from planner.motion.toolpath.register import Held
    from planner.motion.toolpath.roles import Roles

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Positions:
    """Machine positions (x, y, z) before the piece and after each line, in mm.

    `fed_line` and `fed_mm`, (k,), are the lines whose E word moves the strand, and by how much.
    """

    before_mm: tuple[float, float, float]
    after_mm: tuple[Held, Held, Held]
    fed_line: Ints
    fed_mm: Floats

    def at(self, lines: Ints) -> Floats:
        """Positions after some lines, (3, n); line -1 is before the piece."""
        result = np.empty((3, len(lines)))
        for row, held, first in zip(result, self.after_mm, self.before_mm, strict=True):
            row[:] = pick(held, lines)
            row[lines < 0] = first
        return result


def positions_of(page: Page, roles: Roles, modes: Modes) -> Positions:
    """Follow all axes through the piece. Raises InputError for a G92 that sets nothing."""
    homes = page.sheet.lines_of("G", codes.HOME)
    _refuse_empty(page, roles)
    before, after = zip(
        *(_machine_axis(page, roles, modes, axis, homes) for axis in "XYZ"), strict=True
    )
    line, fed = _strand(page, roles, modes)
    return Positions(before_mm=before, after_mm=after, fed_line=line, fed_mm=fed)


def _machine_axis(
    page: Page, roles: Roles, modes: Modes, axis: str, homes: Ints
) -> tuple[float, Held]:
    first, origin = page.registers[axis], page.registers[f"{axis} origin"]
    lines, values, adds = _axis_events(page, roles, modes, axis)
    homed = _homed(page, axis, homes)
    if len(homed):
        lines, order = merged(
            (lines, np.arange(float(len(lines)))), (homed, np.full(len(homed), -1))
        )
        where = order.astype(np.int64)
        values = np.where(where >= 0, np.append(values, 0.0)[where], 0.0)
        adds = None if adds is None else np.append(adds, False)[where]
    counted = page.follow(axis, (lines, values), adds)
    sets = np.flatnonzero(roles.sets)
    sets = sets[~np.isnan(page.sheet.at(axis, sets))]
    if not len(sets) and not len(homed):
        return first + origin, counted + origin
    shift = _before(counted, first, sets) - by_line(counted, sets)
    events = merged((sets, shift), (homed, np.zeros(len(homed))))
    moved = np.isin(events[0], sets)
    return first + origin, counted + page.follow(f"{axis} origin", events, moved)


def _axis_events(
    page: Page, roles: Roles, modes: Modes, axis: str
) -> tuple[Ints, Floats, NDArray[np.bool_] | None]:
    lines, values = page.sheet.column(axis)
    used = roles.moves[lines] | roles.sets[lines]
    if not used.all():
        lines, values = lines[used], values[used]
    relative = modes.strand_relative if axis == "E" else modes.relative
    values = values * pick(modes.unit, lines)
    if not isinstance(relative, np.ndarray) and relative == 0.0:
        return lines, values, None
    return lines, values, roles.moves[lines] & (by_line(relative, lines) > 0.0)


def _homed(page: Page, axis: str, homes: Ints) -> Ints:
    """Lines that home an axis: G28 names it, or names none."""
    if not len(homes):
        return homes
    named = [np.isin(homes, page.sheet.column(letter)[0]) for letter in "XYZ"]
    chosen: Ints = homes[named["XYZ".index(axis)] | ~np.any(named, axis=0)]
    return chosen


def _strand(page: Page, roles: Roles, modes: Modes) -> tuple[Ints, Floats]:
    first = page.registers["E"]
    lines, values, adds = _axis_events(page, roles, modes, "E")
    values = values * pick(modes.strand_unit, lines)
    counted = page.follow("E", (lines, values), adds)
    fed = lines[roles.moves[lines]]
    _say_how_read(page, modes, fed)
    if adds is not None and adds.all():
        change = values
    else:
        change = by_line(counted, fed) - _before(counted, first, fed)
    return fed, change * pick(modes.flow_share, fed)


def _say_how_read(page: Page, modes: Modes, fed: Ints) -> None:
    if isinstance(modes.unit, np.ndarray) or modes.unit != 1.0:
        for line in fed[by_line(modes.unit, fed) != 1.0][:1]:
            page.note(notes.INCH_STRAND, line)
    if isinstance(modes.relative, np.ndarray) or modes.relative != 0.0:
        for line in fed[by_line(modes.relative, fed) > 0.0][:1]:
            page.note(notes.STRAND_UNDER_G91, line)


def _before(held: Held, first: float, lines: Ints) -> Floats:
    """Values in force just before some lines."""
    values = np.array(spread(pick(held, lines - 1), len(lines)))
    values[lines == 0] = first
    return values


def _refuse_empty(page: Page, roles: Roles) -> None:
    sets = np.flatnonzero(roles.sets)
    if not len(sets):
        return
    none = np.all([np.isnan(page.sheet.at(axis, sets)) for axis in "XYZE"], axis=0)
    for line in sets[none][:1]:
        page.sheet.refuse(
            line,
            found="G92 without an axis",
            expected="the coordinates to count from, such as G92 E0",
            remedy="name the axes",
        )
