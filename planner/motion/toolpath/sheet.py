"""The words of a piece of a toolpath, sorted by letter, with line numbers to complain about."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NoReturn

import numpy as np

from planner.errors import input_error
from planner.motion.toolpath.pieces import clean
from planner.motion.toolpath.scan import scan

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from planner.motion.toolpath.scan import Words

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

_NAME = re.compile(rb"[ \t]*([A-Za-z_]{1,40})")
_NONE = np.empty(0, dtype=np.int64)
_NO_VALUES = np.empty(0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """Words by letter: `columns` maps a letter to its lines and values, (n,) each, in order.

    Lines count from 0 within the piece; `first_line` is the file's number of line 0.
    `odd` maps lines with a character out of place to that character. `named` maps the lines
    that begin with a name to it; their words are left out.
    """

    path: Path
    first_line: int
    lines: int
    columns: Mapping[str, tuple[Ints, Floats]]
    odd: Mapping[int, str]
    named: Mapping[int, str]
    star_line: Ints
    star_value: Floats

    def column(self, letter: str) -> tuple[Ints, Floats]:
        """Lines and values of a letter."""
        return self.columns.get(letter, (_NONE, _NO_VALUES))

    def lines_of(self, letter: str, *numbers: float) -> Ints:
        """Lines with one of these words, such as ("G", 0, 1)."""
        lines, values = self.column(letter)
        if not len(lines):
            return lines
        if len(numbers) == 1:
            return np.asarray(lines[values == numbers[0]])
        return np.asarray(lines[np.isin(values, numbers)])

    def at(self, letter: str, lines: Ints) -> Floats:
        """Values of a letter in these lines; NaN where it is missing or has no number."""
        own, values = self.column(letter)
        found = np.full(len(lines), np.nan)
        if len(own) and len(lines):
            place = np.minimum(np.searchsorted(own, lines, side="right") - 1, len(own) - 1)
            there = (own[place] == lines) & (place >= 0)
            found[there] = values[place[there]]
        return found

    def given(self, letter: str, lines: Ints) -> tuple[Ints, Floats]:
        """Those of `lines` that have a number for a letter, and the numbers."""
        values = self.at(letter, lines)
        there = ~np.isnan(values)
        return lines[there], values[there]

    def flags(self, lines: Iterable[Ints]) -> Bools:
        """One flag per line of the piece, set in all the given lines."""
        flags = np.zeros(self.lines, dtype=bool)
        for some in lines:
            flags[some] = True
        return flags

    def refuse(self, line: int, *, found: str, expected: str, remedy: str) -> NoReturn:
        """Raise InputError about a line of the piece."""
        raise input_error(
            self.path,
            line=self.first_line + int(line),
            found=found,
            expected=expected,
            remedy=remedy,
        )


def sheet_of(raw: bytes, *, path: Path, first_line: int) -> Sheet:
    """Scan lines as they stand in a file. Raises InputError for bytes that no text file has."""
    words = scan(clean(raw))
    if words.foreign is not None:
        line, byte = words.foreign
        raise input_error(
            path,
            line=first_line + line,
            found=f"a byte of value {byte} outside a comment",
            expected="lines of G-code in plain text",
            remedy="check that this is a toolpath file, and not damaged",
        )
    named = _names(raw, words.named)
    odd = zip(words.odd[::-1].tolist(), words.odd_byte[::-1].tolist(), strict=True)
    return Sheet(
        path=path,
        first_line=first_line,
        lines=words.lines,
        columns=_columns(words),
        odd={line: chr(byte) for line, byte in odd if line not in named},
        named=named,
        star_line=words.star_line,
        star_value=words.star_value,
    )


def _names(raw: bytes, lines: Ints) -> dict[int, str]:
    """Names that some lines begin with, in capitals; a percent sign is one."""
    if not len(lines):
        return {}
    starts = np.append(0, np.flatnonzero(np.frombuffer(raw, np.uint8) == ord("\n")) + 1)
    names = {}
    for line, start in zip(lines.tolist(), starts[lines].tolist(), strict=True):
        found = _NAME.match(raw, start)
        names[line] = found.group(1).decode("ascii").upper() if found else "%"
    return names


def _columns(words: Words) -> dict[str, tuple[Ints, Floats]]:
    line, letter, value = words.line, words.letter, words.value
    if len(words.named):
        kept = ~np.isin(line, words.named)
        line, letter, value = line[kept], letter[kept], value[kept]
    present = np.flatnonzero(np.bincount(letter, minlength=1)).tolist()
    columns = {}
    for code in present:
        own = np.flatnonzero(letter == code)
        columns[chr(code)] = (line[own], value[own])
    return columns
