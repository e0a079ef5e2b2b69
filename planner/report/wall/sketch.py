"""A wall drawn with letters, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.wall.model import Panelling

    Place = tuple[int, int]

WIDE_MOST, NARROW_MOST = 24, 72
"""Most columns drawn with three signs each, and with one: an 80-column screen."""
HAIR_MM = 1e-6
PANEL, HUNG, CUT_OUT, NONE = "#", "o", "x", "."
MEANING = {
    PANEL: "panel",
    HUNG: "panel with something on it",
    CUT_OUT: "cut-out",
    NONE: "no panel",
}


def sketch(panelling: Panelling, pitch_mm: tuple[float, float]) -> tuple[str, ...]:
    """Return the lines of a drawing, the top row first, and what its signs mean.

    None for a wall of more columns than a screen has.
    """
    columns = max(cell.column for cell in panelling.cells)
    rows = max(cell.row for cell in panelling.cells)
    if columns > NARROW_MOST:
        return ()
    signs = _signs(panelling, pitch_mm, columns, rows)
    wide = columns <= WIDE_MOST
    lines = [
        f"{row:>4}  {_line(signs, row, columns, wide=wide)}".rstrip() for row in reversed(_to(rows))
    ]
    numbers = "".join(f"{column:^3}" if wide else str(column % 10) for column in _to(columns))
    used = set(signs.values())
    legend = ", ".join(
        f"{_shown(sign, wide=wide).strip()} {meaning}"
        for sign, meaning in MEANING.items()
        if sign in used
    )
    return (*lines, f"      {numbers}".rstrip(), f"      {legend}")


def _line(signs: dict[Place, str], row: int, columns: int, *, wide: bool) -> str:
    return "".join(_shown(signs[column, row], wide=wide) for column in _to(columns))


def _to(last: int) -> range:
    return range(1, last + 1)


def _shown(sign: str, *, wide: bool) -> str:
    if not wide:
        return sign
    return {PANEL: "[ ]", HUNG: "[o]"}.get(sign, f" {sign} ")


def _signs(
    panelling: Panelling, pitch_mm: tuple[float, float], columns: int, rows: int
) -> dict[Place, str]:
    signs = {(column, row): NONE for column in _to(columns) for row in _to(rows)}
    signs |= dict.fromkeys(_behind_cut_outs(panelling, pitch_mm, columns, rows), CUT_OUT)
    signs |= {(cell.column, cell.row): PANEL for cell in panelling.cells}
    return signs | {each.cell: HUNG for each in panelling.wall.hung}


def _behind_cut_outs(
    panelling: Panelling, pitch_mm: tuple[float, float], columns: int, rows: int
) -> Iterator[Place]:
    left_mm, low_mm = panelling.offset_mm
    for cut in panelling.wall.cut_outs:
        across = _met(cut.x_mm - left_mm, cut.width_mm, pitch_mm[0], columns)
        up = _met(cut.y_mm - low_mm, cut.height_mm, pitch_mm[1], rows)
        yield from ((column, row) for column in across for row in up)


def _met(begin_mm: float, long_mm: float, pitch_mm: float, most: int) -> list[int]:
    """Return the columns (or rows) that a stretch lies over."""
    return [
        number
        for number in _to(most)
        if begin_mm < number * pitch_mm - HAIR_MM
        and begin_mm + long_mm > (number - 1) * pitch_mm + HAIR_MM
    ]
