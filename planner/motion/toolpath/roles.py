"""Which lines move the head, and refusing those that cannot be read as a move."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath import codes, notes
from planner.motion.toolpath.register import pick, spread
from planner.motion.toolpath.state import AXES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.page import Page
    from planner.motion.toolpath.register import Held
    from planner.motion.toolpath.sheet import Sheet

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

_MOVE_LETTERS = (*AXES, "I", "J", "R", "F")
_MOST, _MOST_STRAND = 1e6, 1e8
"""Largest number in a word of a move, in mm or mm/min: a kilometre, 17 m/s; E may be in mm3."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Roles:
    """Flags (lines,): lines that move, that set a position (G92), that belong to an M word.

    `motion` is the G0 to G3 in force in each line.
    """

    moves: Bools
    sets: Bools
    machine: Bools
    motion: Held


def roles_of(page: Page) -> Roles:
    """Sort out the lines of a piece.

    Raises InputError for a move that cannot be read: a letter without a number or twice in one
    line, a character out of place, an absurd number, a G word that is not followed.
    """
    sheet = page.sheet
    _refuse_g_words(sheet)
    motion_lines = sheet.lines_of("G", *codes.MOTION)
    explicit = sheet.flags([motion_lines])
    sets = sheet.flags([sheet.lines_of("G", codes.COUNT_FROM)])
    machine = sheet.flags([sheet.column("M")[0]])
    other = _other_g_lines(sheet)
    motion = page.hold("motion", page.words("G", {n: float(n) for n in codes.MOTION}))
    placed = sheet.flags([sheet.column(letter)[0] for letter in (*AXES, "I", "J")])
    claimed = machine | sheet.flags([other])
    implicit = placed & ~claimed & ~explicit
    _check_implicit(page, implicit, motion)
    moves = (placed & explicit) | implicit
    _refuse_two_uses(sheet, moves & sheet.flags([other]))
    _refuse_unreadable(page, moves | sets | explicit)
    return Roles(moves=moves, sets=sets, machine=machine, motion=motion)


def _other_g_lines(sheet: Sheet) -> Ints:
    lines, values = sheet.column("G")
    return lines[~np.isin(values, (*codes.MOTION, *codes.SETTING))]


def _check_implicit(page: Page, implicit: Bools, motion: Held) -> None:
    lines = np.flatnonzero(implicit)
    if not len(lines):
        return
    none_yet = lines[np.isnan(spread(pick(motion, lines), len(lines)))]
    if len(none_yet):
        page.sheet.refuse(
            none_yet[0],
            found="coordinates before any motion word",
            expected="G0, G1, G2 or G3 in this line or an earlier one",
            remedy="check that the file is complete from its first line",
        )
    page.note(notes.MODAL, lines[0])


def _refuse_g_words(sheet: Sheet) -> None:
    for letter in ("G", "M"):
        lines, values = sheet.column(letter)
        empty = np.isnan(values)
        if empty.any():
            sheet.refuse(
                lines[empty][0],
                found=f"{letter} without a number",
                expected=f"a word such as {letter}1",
                remedy="check that the file is complete and not damaged",
            )
    lines, values = sheet.column("G")
    refused = np.isin(values, list(codes.REFUSED))
    if refused.any():
        number = float(values[refused][0])
        sheet.refuse(
            lines[refused][0],
            found=f"G{number:g} ({codes.REFUSED[number]})",
            expected="straight moves and arcs: G0, G1, G2, G3",
            remedy="export the toolpath again without it",
        )


def _refuse_two_uses(sheet: Sheet, both: Bools) -> None:
    for line in np.flatnonzero(both)[:1]:
        sheet.refuse(
            line,
            found="a motion together with another G word that may use its coordinates",
            expected="one of them in a line",
            remedy="put them in lines of their own",
        )


def _refuse_unreadable(page: Page, read: Bools) -> None:
    sheet = page.sheet
    for line, char in sorted(sheet.odd.items()):
        if line < len(read) and read[line]:
            sheet.refuse(
                line,
                found=f"{_shown(char)} out of place",
                expected="letters, each with one number, such as G1 X10.5 E0.2",
                remedy="check that the file is complete and not damaged",
            )
        page.count("characters out of place", line)
    for letter in _MOVE_LETTERS:
        _refuse_numbers(sheet, letter, read)


def _shown(char: str) -> str:
    return "a number without a letter" if char == "\n" else repr(char)


def _refuse_numbers(sheet: Sheet, letter: str, read: Bools) -> None:
    lines, values = sheet.column(letter)
    if not len(lines):
        return
    most = _MOST_STRAND if letter == "E" else _MOST
    with np.errstate(invalid="ignore"):
        bad = ~(np.abs(values) <= most)
    bad[1:] |= lines[1:] == lines[:-1]
    for place in np.flatnonzero(bad):
        if read[lines[place]]:
            _refuse_number(sheet, letter, int(place), most)


def _refuse_number(sheet: Sheet, letter: str, place: int, most: float) -> None:
    lines, values = sheet.column(letter)
    value = values[place]
    if np.isnan(value):
        found, expected = f"{letter} without a number", f"a number after {letter}"
    elif abs(value) > most:
        found, expected = f"{letter}{value:g}", f"a number up to {most:g}"
    else:
        found, expected = f"{letter} twice in one line", "each letter once in a move"
    sheet.refuse(
        lines[place],
        found=found,
        expected=expected,
        remedy="check that the file is complete and not damaged",
    )
