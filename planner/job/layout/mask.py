"""Cells drawn as text: one line per row, the top row first."""

from __future__ import annotations

from planner.document import fault
from planner.document.wording import shown

MASK_MAX = 300_000
"""Characters of a drawing."""
CELL, NONE = "#", "."


def rows_of(text: str) -> tuple[str, ...]:
    r"""Return the lines of a drawing, blank ends cut off.

    Only a line feed ends a line: what else might (a form feed, U+2028) is not seen by whoever
    draws, and is left in place as a wrong sign.

    >>> rows_of("##.\n###\n")
    ('##.', '###')
    """
    lines = text.replace("\r\n", "\n").strip("\n").split("\n")
    return tuple(line.rstrip(" \t") for line in lines)


def cells_of(text: str) -> frozenset[tuple[int, int]]:
    r"""Return the cells (column, row) of a drawing, from 1, from the left and from below.

    >>> sorted(cells_of("#.\n##"))
    [(1, 1), (1, 2), (2, 1)]
    """
    rows = rows_of(text)[::-1]
    return frozenset(
        (column, row)
        for row, line in enumerate(rows, start=1)
        for column, sign in enumerate(line, start=1)
        if sign == CELL
    )


def check_mask(text: str) -> None:
    """Raise the fault of a drawing that has other signs, rows of different length or no cell."""
    rows = rows_of(text)
    for number, line in enumerate(rows, start=1):
        for column, sign in enumerate(line, start=1):
            if sign not in (CELL, NONE):
                raise fault(
                    found=f"{shown(sign)} in line {number} of the drawing, column {column}",
                    expected="# for a cell and . for none",
                    remedy="draw with these two signs only",
                )
        if len(line) != len(rows[0]):
            raise fault(
                found=f"line {number} of the drawing with {len(line)} signs, "
                f"line 1 with {len(rows[0])}",
                expected="lines of one length",
                remedy="fill the shorter lines up with . where no cell is",
            )
    if not any(CELL in line for line in rows):
        raise fault(
            found="a drawing without a cell",
            expected="at least one # in it",
            remedy="draw # where a cell is and . where none is",
        )
