"""How places on a wall are called in messages."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from collections.abc import Set as AbstractSet

    from planner.wall.graph import Place
    from planner.wall.model import Cell, Edge, Junction

LISTED_MAX = 6


def cell_name(cell: Place) -> str:
    """Return a cell's name: "column 3, row 2"."""
    return f"column {cell[0]}, row {cell[1]}"


def cells_named(cells: Iterable[Place]) -> str:
    """Return the names of cells; of many only the first, and how many more there are."""
    names = [cell_name(cell) for cell in cells]
    more = len(names) - LISTED_MAX
    return "; ".join(names[:LISTED_MAX]) + (f" and {more} more" if more > 0 else "")


def cell_told(cell: Cell) -> str:
    """Return a cell with its open sides."""
    return f"the cell in {cell_name((cell.column, cell.row))} ({open_to(cell.open_sides)})"


def open_to(sides: tuple[str, ...]) -> str:
    """Return open sides in words.

    >>> open_to(("left", "top")), open_to(())
    ('open to the left and the top', 'closed all round')
    """
    if not sides:
        return "closed all round"
    *most, last = [f"the {side}" for side in sides]
    return f"open to {', '.join(most)} and {last}" if most else f"open to {last}"


def edge_told(
    edge: Edge,
    offset_mm: tuple[float, float],
    pitch_mm: tuple[float, float],
    cells: AbstractSet[Place],
) -> str:
    """Return an edge by the cell or cells that it belongs to."""
    column = round((edge.x_mm - offset_mm[0]) / pitch_mm[0]) + 1
    row = round((edge.y_mm - offset_mm[1]) / pitch_mm[1]) + 1
    after = (column, row)
    before, sides = (
        ((column - 1, row), ("right", "left"))
        if edge.upright
        else ((column, row - 1), ("top", "bottom"))
    )
    if edge.shared:
        return f"the edge between the cells in {cell_name(before)} and {cell_name(after)}"
    cell, side = (before, sides[0]) if before in cells else (after, sides[1])
    return f"the {side} edge of the cell in {cell_name(cell)}, which is free"


def junction_told(junction: Junction) -> str:
    """Return a junction by the column and the row that end there, and its shape."""
    across = f"right of column {junction.column}" if junction.column else "left of column 1"
    up = f"above row {junction.row}" if junction.row else "below row 1"
    panels = "panel" if junction.panels == 1 else "panels"
    return f"the junction {across}, {up} ({junction.shape}: {junction.panels} {panels})"
