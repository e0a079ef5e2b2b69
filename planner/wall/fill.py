"""One wall filled with cells, and every part put in its place."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.wall.explain import Census, counts_of
from planner.wall.faults import no_cell_left, no_rule, nothing_there, too_many
from planner.wall.graph import cell_graph, islands
from planner.wall.junctions import Lattice, cells_on, edges_on, junctions_on
from planner.wall.model import Panelling
from planner.wall.offset import best_offset, free_cells
from planner.wall.placing import hung_on, placed_on
from planner.wall.remarks import remarks_on
from planner.wall.rules import kind_of_cell, kind_of_edge, kind_of_junction

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from planner.errors import Problem
    from planner.job.layout.model import PanelSystem, WallShape
    from planner.wall.graph import Place
    from planner.wall.model import Cell, Count, Edge, Junction
    from planner.wall.rules import Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """A wall with its cells, what can be counted on it, and what is to be said of it."""

    panelling: Panelling
    census: Census
    remarks: tuple[str, ...]
    problems: tuple[Problem, ...]


PLACED_MAX = 1_000_000
"""Copies on all walls together, half a gigabyte: ten for each of the most cells there may be."""


def fill(wall: WallShape, system: PanelSystem, *, placed: int = 0) -> Filled:
    """Fill a wall; `problems` say why it cannot be built, if it cannot.

    `placed` copies are on other walls already. Raises InputError for a wall on which no cell is
    left, and for more copies in all than `PLACED_MAX`.
    """
    lattice = Lattice(best_offset(wall, system.pitch_mm), system.pitch_mm)
    places = _places(wall, lattice)
    if not places:
        raise no_cell_left(wall, system)
    graph = cell_graph(places)
    groups = islands(graph)
    cells = cells_on(graph, lattice)
    edges, junctions = edges_on(cells, lattice), junctions_on(places, lattice)
    census = Census(kinds=_kinds(cells, edges, junctions), hung=wall.hung)
    counts = counts_of(system.rules, [census], {})
    refuse_too_many(wall, placed + copies_of(counts))
    panelling = Panelling(
        wall=wall,
        offset_mm=lattice.offset_mm,
        margins_mm=_margins(wall, places, lattice),
        cells=cells,
        edges=edges,
        junctions=junctions,
        islands=len(groups),
        placed=(
            *placed_on(system, cells, edges, junctions),
            *hung_on(wall, lattice, set(places)),
        ),
        counts=counts,
    )
    return Filled(
        panelling=panelling,
        census=census,
        remarks=remarks_on(wall, groups),
        problems=(*nothing_there(panelling), *no_rule(panelling, system, census.kinds)),
    )


def copies_of(counts: Iterable[Count]) -> int:
    """Return how many copies there are of all parts together."""
    return sum(each.count for each in counts)


def refuse_too_many(wall: WallShape, copies: int) -> None:
    """Raise InputError for more copies than `PLACED_MAX`; this wall is the one to name."""
    if copies > PLACED_MAX:
        raise too_many(wall, copies, PLACED_MAX)


def _places(wall: WallShape, lattice: Lattice) -> list[Place]:
    """Return the cells in reading order from below."""
    free = free_cells(wall, lattice.pitch_mm, lattice.offset_mm)
    return [(int(column) + 1, int(row) + 1) for row, column in zip(*free.T.nonzero(), strict=True)]


def _margins(
    wall: WallShape, places: Iterable[Place], lattice: Lattice
) -> tuple[float, float, float, float]:
    """Return the strips left over: left, right, bottom, top. Rounding is taken off: -0.0 is 0."""
    columns, rows = zip(*places, strict=True)
    left, bottom = lattice.at_mm(min(columns) - 1, min(rows) - 1)
    right, top = lattice.at_mm(max(columns), max(rows))
    far = (wall.width_mm - right, wall.height_mm - top)
    first, second, third, fourth = (
        round(strip, 6) + 0.0 for strip in (left, far[0], bottom, far[1])
    )
    return first, second, third, fourth


def _kinds(
    cells: Iterable[Cell], edges: Iterable[Edge], junctions: Iterable[Junction]
) -> Mapping[Kind, int]:
    return Counter(
        [
            *map(kind_of_cell, cells),
            *map(kind_of_edge, edges),
            *map(kind_of_junction, junctions),
        ]
    )


def census_of(panelling: Panelling, fixings: int = 0) -> Census:
    """Return what can be counted on a wall that is filled and has so many screws."""
    return Census(
        kinds=_kinds(panelling.cells, panelling.edges, panelling.junctions),
        hung=panelling.wall.hung,
        fixings=fixings,
    )
