"""Tables of text (CSV, tabs, aligned columns): a row per setting, or a column per setting."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.errors import input_error
from planner.settings.reader.model import Entry
from planner.settings.reader.units import unit_named
from planner.settings.reader.words import fold

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.settings.reader.record import Record

DELIMITERS = (";", "\t", "|", ",")
_ALIGNED = re.compile(r"\s{2,}|\t+")
_NUMBER = re.compile(r"\s*[-+]?\d+(?:[.,]\d+)?\s*\D{0,8}")

Row = tuple[int, list[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    name: int
    value: int
    unit: int | None


def rows_of(lines: Sequence[str], file: str) -> list[Row] | None:
    """Return (line, cells) of each row, or None where the lines are no table.

    The delimiter is the first that gives nearly every line the same number of cells, two
    at least; then columns aligned by blanks.
    """
    said = [
        (number, line)
        for number, line in enumerate(lines, start=1)
        if line.strip("\ufeff \t;,|") and not line.lstrip().startswith("#")
    ]
    for delimiter in DELIMITERS:
        try:
            rows = [(number, _cells(line, delimiter)) for number, line in said]
        except csv.Error as error:
            raise input_error(
                file,
                found=f"what no table can hold ({error})",
                expected="rows of cells",
                remedy="check the quotes",
            ) from error
        if _even(rows):
            return rows
    rows = [(number, _ALIGNED.split(line.strip())) for number, line in said]
    return rows if _even(rows) else None


def entries(rows: Sequence[Row], record: Record) -> Iterator[Entry]:
    """Yield the entries of a table."""
    columns = _named_columns(rows[0][1], record)
    if columns is not None:
        yield from _down(rows[1:], columns)
    elif _is_long(rows):
        yield from _down(rows, _Columns(name=0, value=1, unit=2 if len(rows[0][1]) > 2 else None))
    else:
        yield from _across(rows)


def _cells(line: str, delimiter: str) -> list[str]:
    cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    return [cell.strip("\ufeff \t") for cell in cells]


def _even(rows: Sequence[Row]) -> bool:
    """Tell whether nearly all rows have the same number of cells, empty ones at the end aside."""
    if len(rows) < 2:
        return False
    counts = [len(cells) for _, cells in rows]
    usual = max(set(counts), key=lambda count: (counts.count(count), count))
    near = sum(count in (usual, usual - 1) for count in counts)
    return usual > 1 and near >= 0.9 * len(rows)


def _named_columns(header: Sequence[str], record: Record) -> _Columns | None:
    """Return where name, value and unit stand if the header says so."""
    folded = [fold(cell) for cell in header]

    def place(called: frozenset[str]) -> int | None:
        found = [at for at, cell in enumerate(folded) if cell in called]
        return found[0] if len(found) == 1 else None

    name, value = place(record.names), place(record.values)
    if name is None or value is None or name == value:
        return None
    return _Columns(name=name, value=value, unit=place(record.units))


def _is_long(rows: Sequence[Row]) -> bool:
    """Tell whether each row is a setting: few columns, the first of words, the second of values."""
    if len(rows[0][1]) > 4:
        return False
    first = [cells[0] for _, cells in rows]
    second = [cells[1] for _, cells in rows if len(cells) > 1]
    numbers = sum(_NUMBER.fullmatch(cell) is not None for cell in second)
    words = sum(_NUMBER.fullmatch(cell) is None for cell in first)
    return words >= 0.9 * len(first) and (numbers * 3 >= len(second) or len(rows) > 2)


def _down(rows: Sequence[Row], columns: _Columns) -> Iterator[Entry]:
    for number, cells in rows:
        if len(cells) > max(columns.name, columns.value) and cells[columns.name]:
            unit = (
                cells[columns.unit]
                if columns.unit is not None and columns.unit < len(cells)
                else ""
            )
            yield Entry(
                path=(),
                key=cells[columns.name],
                values=(cells[columns.value],),
                unit=unit,
                line=number,
            )


def _across(rows: Sequence[Row]) -> Iterator[Entry]:
    """Yield a setting per column; a second row of nothing but units gives the units."""
    header, body = rows[0][1], list(rows[1:])
    units = [""] * len(header)
    if len(body) > 1 and all(not cell or unit_named(cell) for cell in body[0][1]):
        units = [*body.pop(0)[1], *units]
    for at, key in enumerate(header):
        values = tuple(cells[at] for _, cells in body if at < len(cells))
        if key and values:
            yield Entry(path=(), key=key, values=values, unit=units[at], line=body[0][0])
