"""Cells, the edges between them and the junctions where their corners meet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.wall.model import Cell, Edge, Junction

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from networkx import Graph

    from planner.job.layout.model import Shape, Side
    from planner.wall.graph import Place

BESIDE: tuple[tuple[Side, int, int], ...] = (
    ("left", -1, 0),
    ("right", 1, 0),
    ("top", 0, 1),
    ("bottom", 0, -1),
)
# The four cells around a junction, as bits: which of them are there.
LOWER_LEFT, LOWER_RIGHT, UPPER_LEFT, UPPER_RIGHT = 1, 2, 4, 8
ACROSS = (LOWER_LEFT | UPPER_RIGHT, LOWER_RIGHT | UPPER_LEFT)


@dataclass(frozen=True, slots=True)
class Lattice:
    """Where columns and rows lie on the wall: the grid's bottom left corner, and its pitch."""

    offset_mm: tuple[float, float]
    pitch_mm: tuple[float, float]

    def at_mm(self, column: float, row: float) -> tuple[float, float]:
        """Return the place right of `column` columns and above `row` rows."""
        return (
            self.offset_mm[0] + column * self.pitch_mm[0],
            self.offset_mm[1] + row * self.pitch_mm[1],
        )


def cells_on(graph: Graph, lattice: Lattice) -> tuple[Cell, ...]:
    """Return the cells of the graph, in its order, with their open sides."""
    return tuple(
        Cell(
            column=column,
            row=row,
            x_mm=x_mm,
            y_mm=y_mm,
            open_sides=_open_sides(graph, (column, row)),
        )
        for column, row in graph
        for x_mm, y_mm in [lattice.at_mm(column - 1, row - 1)]
    )


def _open_sides(graph: Graph, cell: Place) -> tuple[Side, ...]:
    if graph.degree[cell] == len(BESIDE):
        return ()
    return tuple(side for side, c, r in BESIDE if (cell[0] + c, cell[1] + r) not in graph)


def edges_on(cells: Iterable[Cell], lattice: Lattice) -> tuple[Edge, ...]:
    """Return every side of the cells once; a shared one comes with the cell left of or below it."""
    return tuple(edge for cell in cells for edge in _edges_of(cell, lattice))


def _edges_of(cell: Cell, lattice: Lattice) -> Iterator[Edge]:
    column, row, free = cell.column, cell.row, cell.open_sides
    (left, low), (right, high) = lattice.at_mm(column - 1, row - 1), lattice.at_mm(column, row)
    if "left" in free:
        yield Edge(x_mm=left, y_mm=low, upright=True, shared=False)
    if "bottom" in free:
        yield Edge(x_mm=left, y_mm=low, upright=False, shared=False)
    yield Edge(x_mm=right, y_mm=low, upright=True, shared="right" not in free)
    yield Edge(x_mm=left, y_mm=high, upright=False, shared="top" not in free)


def junctions_on(cells: Iterable[Place], lattice: Lattice) -> tuple[Junction, ...]:
    """Return every corner of a cell once, row by row from below, each from the left."""
    around: dict[Place, int] = {}
    for column, row in cells:
        for corner, here in (
            ((column - 1, row - 1), UPPER_RIGHT),
            ((column, row - 1), UPPER_LEFT),
            ((column - 1, row), LOWER_RIGHT),
            ((column, row), LOWER_LEFT),
        ):
            around[corner] = around.get(corner, 0) | here
    return tuple(
        Junction(
            column=column,
            row=row,
            x_mm=x_mm,
            y_mm=y_mm,
            panels=around[column, row].bit_count(),
            shape=SHAPES[around[column, row]],
        )
        for column, row in sorted(around, key=lambda corner: (corner[1], corner[0]))
        for x_mm, y_mm in [lattice.at_mm(column, row)]
    )


def _shape(around: int) -> Shape:
    if around in ACROSS:
        return "diagonal"
    shapes: dict[int, Shape] = {1: "outer corner", 2: "straight", 3: "inner corner", 4: "middle"}
    return shapes[around.bit_count()]


SHAPES = {around: _shape(around) for around in range(1, 16)}
"""Shape of a junction by which of the four cells around it are there."""
