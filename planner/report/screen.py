"""Pieces of what a terminal shows: tables, headings and paragraphs, without trailing blanks.

Tables are laid out here and not by a library, so that a number is never split over two lines
and a name only after an underscore or a slash: the columns that may wrap give way first.
Every text of the user's is passed as `Text`, never as markup, and without control characters.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import zip_longest
from typing import TYPE_CHECKING

from rich.cells import cell_len, chop_cells
from rich.text import Text

from planner.report.words import plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from rich.console import Console

GAP = 2
LEAST = 12
"""Columns that may wrap keep this width as long as there is any room: invented."""
GLUE = "\u00a0"
"""Holds two words of a cell on one line; shown as a blank."""

_PIECES = re.compile(r"[^_/]*[_/]+|[^_/]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a table: its head, whether it holds numbers, whether it may wrap."""

    head: str = ""
    right: bool = False
    flow: bool = False


def left(*heads: str) -> tuple[Column, ...]:
    """Return columns of short texts."""
    return tuple(Column(head=head) for head in heads)


def right(*heads: str) -> tuple[Column, ...]:
    """Return columns of numbers."""
    return tuple(Column(head=head, right=True) for head in heads)


def flow(*heads: str) -> tuple[Column, ...]:
    """Return columns of texts that may wrap."""
    return tuple(Column(head=head, flow=True) for head in heads)


def print_table(
    console: Console,
    title: str,
    columns: Sequence[Column],
    rows: Iterable[Sequence[str]],
    *,
    if_empty: str = "",
    below: Sequence[str | Text] = (),
) -> None:
    """Print a table with a blank line above; an empty row makes a blank line.

    `below` has a paragraph for each row, which is printed under it over the whole width.

    Heads and the line under them are left out if no column has a head; a table without
    rows is told in the words of `if_empty`.
    """
    cells = [[plain(cell) for cell in row] for row in rows]
    if not cells:
        if if_empty:
            say(console, if_empty)
        return
    heads = [column.head for column in columns]
    widths = _widths(columns, [row for row in [heads, *cells] if row], console.width)
    heading(console, title)
    if any(heads):
        for line in _lines(columns, heads, widths):
            _line(console, line, "bold")
        _line(console, "\u2500" * (sum(widths) + GAP * (len(widths) - 1)))
    for row, paragraph in zip_longest(cells, below, fillvalue=""):
        for line in _lines(columns, list(row), widths):
            _line(console, line)
        if paragraph:
            say(console, paragraph, indent=widths[0] + GAP)


def fold(text: str, width: int) -> list[str]:
    """Wrap at blanks; a word that is too long after an underscore or slash, else anywhere.

    >>> fold("2 screwdriver_rack, 1 key", 14)
    ['2', 'screwdriver_', 'rack, 1 key']
    """
    lines = [""]
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        if cell_len(joined) <= width:
            lines[-1] = joined
        else:
            lines += _pieces(word, width)
    return [line.replace(GLUE, " ") for line in lines if line] or [""]


def heading(console: Console, text: str) -> None:
    """Print a bold line with a blank line above."""
    console.print()
    say(console, text, "bold")


def say(console: Console, text: str | Text, style: str = "", *, indent: int = 0) -> None:
    """Print a paragraph, wrapped, each line moved in by `indent`."""
    shown = text if isinstance(text, Text) else Text(plain(text), style)
    for line in shown.wrap(console, max(1, console.width - indent)):
        line.rstrip()
        line.pad_left(indent if line else 0)
        console.print(line)


def _line(console: Console, text: str, style: str = "") -> None:
    console.print(Text(text.rstrip(), style))


def _pieces(word: str, width: int) -> list[str]:
    """Break a word into lines of at most `width` cells."""
    if cell_len(word) <= width:
        return [word]
    lines = [""]
    for piece in _PIECES.findall(word):
        if cell_len(lines[-1] + piece) <= width:
            lines[-1] += piece
        else:
            lines += chop_cells(piece, width)
    return [line for line in lines if line]


def _widths(columns: Sequence[Column], rows: list[list[str]], room: int) -> list[int]:
    """Give every column what it needs; where that is too much, take from the widest that wraps."""
    room -= GAP * (len(columns) - 1)
    widths = [min(room, max(cell_len(cell) for cell in cells)) for cells in zip(*rows, strict=True)]
    while sum(widths) > room and max(widths) > 1:
        wrapping = [k for k, column in enumerate(columns) if column.flow and widths[k] > LEAST]
        widths[max(wrapping or range(len(widths)), key=lambda k: widths[k])] -= 1
    return widths


def _lines(columns: Sequence[Column], row: list[str], widths: list[int]) -> Iterator[str]:
    if not row:
        yield ""
        return
    folded = [fold(cell, width) for cell, width in zip(row, widths, strict=True)]
    for texts in zip_longest(*folded, fillvalue=""):
        yield (" " * GAP).join(
            _padded(text, width, right=column.right)
            for text, width, column in zip(texts, widths, columns, strict=True)
        )


def _padded(text: str, width: int, *, right: bool) -> str:
    blanks = " " * (width - cell_len(text))
    return blanks + text if right else text + blanks
