"""From words to moves without loops: each mode is filled forward, each axis a running sum.

One call takes the lines of one piece and the state before it, and returns its moves and the
state after it: where a file is cut into pieces changes nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath import codes, notes
from planner.motion.toolpath.model import Kind, Moves, OwnLimits
from planner.motion.toolpath.modes import LineLimits, limits_in, modes_of
from planner.motion.toolpath.page import Page
from planner.motion.toolpath.positions import positions_of
from planner.motion.toolpath.register import pick, spread
from planner.motion.toolpath.roles import roles_of
from planner.motion.toolpath.rows import rows_of
from planner.motion.toolpath.said import said_in
from planner.motion.toolpath.sayings import heed
from planner.motion.toolpath.state import State

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.register import Held
    from planner.motion.toolpath.rows import Rows
    from planner.motion.toolpath.sheet import Sheet

    Ints = NDArray[np.int64]

LEAST_DEPOSIT_MM = 1e-6
"""Less new strand than this in a move is rounding, not plastic."""


def interpret(sheet: Sheet, state: State) -> tuple[Moves, State]:
    """Follow one piece. Raises InputError, with the line, for what cannot be followed."""
    page = Page(sheet, state)
    roles = roles_of(page)
    modes = modes_of(page, roles)
    limits = limits_in(page)
    rests, dwell_s = heed(page, roles)
    positions = positions_of(page, roles, modes)
    rows, strand = rows_of(page, roles, modes, positions, (state.strand_mm, state.furthest_mm))
    _say_where_it_starts(page, rows, state)
    page.facts["lines"] = page.facts.get("lines", 0.0) + sheet.lines
    moves = _moves(page, rows, limits, rests, dwell_s)
    after = State(
        registers=page.registers,
        strand_mm=strand[0],
        furthest_mm=strand[1],
        tally=page.tally,
        notes=page.notes,
        facts=page.facts,
        tools=frozenset(page.tools),
        lenient=state.lenient,
    )
    return moves, after


def _say_where_it_starts(page: Page, rows: Rows, state: State) -> None:
    homes = page.sheet.lines_of("G", codes.HOME)
    if len(rows) and "homes" not in state.facts and not (len(homes) and homes[0] < rows.line[0]):
        page.note(notes.UNKNOWN_START, rows.line[0])


def _moves(page: Page, rows: Rows, limits: LineLimits, rests: Ints, dwell_s: float) -> Moves:
    kind = np.where(rows.deposit_mm > LEAST_DEPOSIT_MM, Kind.LAY, Kind.TRAVEL).astype(np.uint8)
    kind[rows.length_mm == 0.0] = Kind.STRAND
    return Moves(
        line=rows.line + page.sheet.first_line,
        kind=kind,
        start_mm=rows.start_mm,
        end_mm=rows.end_mm,
        length_mm=rows.length_mm,
        strand_mm=rows.strand_mm,
        deposit_mm=rows.deposit_mm,
        speed_mm_s=rows.speed_mm_s,
        rests=_rests(page, rows.line, rests),
        own=_own(limits, rows.line, kind),
        dwell_s=dwell_s,
        said=said_in(page.sheet),
    )


def _rests(page: Page, line: Ints, rests: Ints) -> NDArray[np.bool_]:
    """Flag the first row after each line of rest; a rest after the last row is remembered."""
    flags = np.zeros(len(line) + 1, dtype=bool)
    flags[0] = page.registers["rest"] > 0.0
    flags[np.searchsorted(line, rests)] = True
    page.registers["rest"] = float(flags[-1])
    return flags[:-1]


def _own(limits: LineLimits, line: Ints, kind: NDArray[np.uint8]) -> OwnLimits:
    return OwnLimits(
        gain_mm_s2=_by_kind(tuple(pick(held, line) for held in limits.gain_mm_s2), kind),
        gain_by_axis_mm_s2=_four(limits.gain_by_axis_mm_s2, line),
        speed_by_axis_mm_s=_four(limits.speed_by_axis_mm_s, line),
        step_mm_s=_four(limits.step_mm_s, line),
        deviation_mm=pick(limits.deviation_mm, line),
    )


def _four(held: tuple[Held, Held, Held, Held], line: Ints) -> tuple[Held, Held, Held, Held]:
    x, y, z, strand = held
    return pick(x, line), pick(y, line), pick(z, line), pick(strand, line)


def _by_kind(gains: tuple[Held, ...], kind: NDArray[np.uint8]) -> Held:
    """Return the acceleration of each row's kind; one number where all are the same."""
    if all(not isinstance(gain, np.ndarray) and gain == gains[0] for gain in gains):
        return gains[0]
    laying, travel, strand = (spread(gain, len(kind)) for gain in gains)
    return np.where(kind == Kind.LAY, laying, np.where(kind == Kind.TRAVEL, travel, strand))
