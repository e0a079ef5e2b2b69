"""What a piece says beside its moves: temperatures, fan, waits, tools, words not understood."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath import codes, notes
from planner.motion.toolpath.modes import refuse_outside

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.page import Page
    from planner.motion.toolpath.roles import Roles

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

_EXTRA_AXES = "ABCUVW"
_HOTTEST_C = 1000.0
_LONGEST_DWELL_S = 86400.0


def heed(page: Page, roles: Roles) -> tuple[Ints, float]:
    """Take note of everything beside moves; return the lines of rest, and seconds of dwell.

    Raises InputError for impossible temperatures and dwells.
    """
    sheet = page.sheet
    _heat(page, "nozzle", codes.NOZZLE)
    _heat(page, "bed", codes.BED)
    _fan(page)
    page.add("homes", len(sheet.lines_of("G", codes.HOME)))
    page.add("levels", len(sheet.lines_of("G", *codes.LEVEL)))
    page.add("pauses", len(sheet.lines_of("M", *codes.PAUSE)))
    changes = _tools(page)
    _tally(page, roles)
    dwells = sheet.lines_of("G", codes.DWELL)
    rests = [sheet.lines_of("M", *codes.REST), dwells, changes]
    rests += [sheet.lines_of("G", codes.HOME, *codes.LEVEL)]
    return np.unique(np.concatenate(rests)), _dwell_s(page, dwells)


def _heat(page: Page, what: str, words: tuple[int, ...]) -> None:
    lines = page.sheet.lines_of("M", *words)
    if not len(lines):
        return
    target = page.sheet.at("S", lines)
    target = np.where(np.isnan(target), page.sheet.at("R", lines), target)
    lines, target = lines[~np.isnan(target)], target[~np.isnan(target)]
    refuse_outside(page, f"M{words[0]} S", lines, target, least=-1.0, most=_HOTTEST_C)
    if len(target):
        page.highest(what, target)
        page.facts[f"{what} now"] = float(target[-1])


def _fan(page: Page) -> None:
    lines = page.sheet.lines_of("M", codes.FAN_ON)
    if len(lines):
        share = np.nan_to_num(page.sheet.at("S", lines), nan=255.0) / 255.0
        page.highest("fan", np.clip(share, 0.0, 1.0))
    if len(page.sheet.lines_of("M", codes.FAN_OFF)):
        page.highest("fan", np.zeros(1))


def _tools(page: Page) -> Ints:
    """Note the tools that are chosen; return the lines that change them."""
    lines, values = page.sheet.column("T")
    if not len(lines):
        return lines
    own = ~page.sheet.flags([page.sheet.column("G")[0]])[lines]
    own &= ~_machine_lines(page)[lines] & ~np.isnan(values)
    page.tools.update(int(tool) for tool in np.unique(values[own]))
    return lines[own]


def _machine_lines(page: Page) -> Bools:
    """Flag lines of an M word other than a tool change (M6)."""
    lines, values = page.sheet.column("M")
    return page.sheet.flags([lines[values != 6]])


def _dwell_s(page: Page, lines: Ints) -> float:
    """Seconds of G4: S in seconds, P in milliseconds."""
    if not len(lines):
        return 0.0
    in_s = page.sheet.given("S", lines)
    in_ms = page.sheet.given("P", lines)
    refuse_outside(page, "G4 S", *in_s, least=0.0, most=_LONGEST_DWELL_S)
    refuse_outside(page, "G4 P", *in_ms, least=0.0, most=_LONGEST_DWELL_S * 1e3)
    if len(in_ms[0]):
        page.note(notes.DWELL, in_ms[0][0])
    return float(in_s[1].sum() + in_ms[1].sum() * 1e-3)


def _tally(page: Page, roles: Roles) -> None:
    sheet = page.sheet
    for letter, known in (("G", codes.KNOWN_G), ("M", codes.KNOWN_M)):
        lines, values = sheet.column(letter)
        strange = ~np.isin(values, list(known))
        if strange.any():
            _count_each(page, letter, lines[strange], values[strange])
    for letter in _EXTRA_AXES:
        lines = sheet.column(letter)[0]
        lines = lines[roles.moves[lines]]
        if len(lines):
            page.count(f"{letter} in a move", lines[0], len(lines))
    for line, name in sheet.named.items():
        if name != "%":
            page.count(name, line)


def _count_each(page: Page, letter: str, lines: Ints, values: Floats) -> None:
    for value, first, times in zip(
        *np.unique(values, return_index=True, return_counts=True), strict=True
    ):
        page.count(f"{letter}{value:g}", int(lines[first]), int(times))
