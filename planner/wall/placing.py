"""Every part of the system, and every accessory, in its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.wall.model import Placed
from planner.wall.rules import fitting, kind_of_cell, kind_of_edge, kind_of_junction

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from planner.job.layout.model import PanelSystem, WallShape
    from planner.wall.graph import Place
    from planner.wall.junctions import Lattice
    from planner.wall.model import Cell, Edge, Junction
    from planner.wall.rules import Kind


def placed_on(
    system: PanelSystem,
    cells: Iterable[Cell],
    edges: Iterable[Edge],
    junctions: Iterable[Junction],
) -> Iterator[Placed]:
    """Yield one `Placed` per copy."""
    half_x, half_y = system.pitch_mm[0] / 2, system.pitch_mm[1] / 2
    parts = _Fitting(system)
    for cell in cells:
        for part in parts.of(kind_of_cell(cell)):
            yield Placed(
                part=part,
                spot="cell",
                x_mm=cell.x_mm + half_x,
                y_mm=cell.y_mm + half_y,
                cell=(cell.column, cell.row),
            )
    for edge in edges:
        kind = kind_of_edge(edge)
        along = (0.0, half_y) if edge.upright else (half_x, 0.0)
        for part in parts.of(kind):
            yield Placed(
                part=part,
                spot=kind[0],
                x_mm=edge.x_mm + along[0],
                y_mm=edge.y_mm + along[1],
                upright=edge.upright,
            )
    for junction in junctions:
        for part in parts.of(kind_of_junction(junction)):
            yield Placed(part=part, spot="junction", x_mm=junction.x_mm, y_mm=junction.y_mm)


class _Fitting:
    """Parts per kind of place, one entry per copy, looked up once per kind."""

    def __init__(self, system: PanelSystem) -> None:
        self._rules = system.rules
        self._known: dict[Kind, tuple[str, ...]] = {}

    def of(self, kind: Kind) -> tuple[str, ...]:
        if kind not in self._known:
            self._known[kind] = tuple(
                rule.part
                for rule in fitting(self._rules, kind)
                if rule.part is not None
                for _ in range(rule.count)
            )
        return self._known[kind]


def hung_on(wall: WallShape, lattice: Lattice, places: set[Place]) -> Iterator[Placed]:
    """Yield one `Placed` per accessory, in the middle of its cell."""
    for each in wall.hung:
        if each.cell in places:
            x_mm, y_mm = lattice.at_mm(each.cell[0] - 0.5, each.cell[1] - 0.5)
            for _ in range(each.count):
                yield Placed(
                    part=each.thing, spot="cell", x_mm=x_mm, y_mm=y_mm, cell=each.cell, hung=True
                )
