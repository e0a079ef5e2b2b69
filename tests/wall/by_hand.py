"""Walls filled with cells by plain enumeration, for tests of what is done with them."""

from __future__ import annotations

from itertools import product
from pathlib import Path

from planner.job.layout.model import Anchor, Levelling, PanelSystem, Walls, WallShape
from planner.wall.model import Cell, Counted, Junction, Panelling

PITCH_MM = 100.0
SHAPES = {1: "outer corner", 3: "inner corner", 4: "middle"}


def rectangle(columns, rows):
    """Cells (column, row) of a full rectangle."""
    return set(product(range(1, columns + 1), range(1, rows + 1)))


def panelling(cells, *, offset=(50.0, 50.0), margins=None, pitch=(PITCH_MM, PITCH_MM), **wall):
    """One wall with these cells, and a margin of 50 mm all round."""
    columns, rows = (max((cell[axis] for cell in cells), default=1) for axis in (0, 1))
    wide, high = columns * pitch[0], rows * pitch[1]
    told = {
        "name": "north",
        "width_mm": wide + 2 * offset[0],
        "height_mm": high + 2 * offset[1],
        **wall,
    }
    shape = WallShape(**told)
    rest = (shape.width_mm - wide - offset[0], shape.height_mm - high - offset[1])
    return Panelling(
        wall=shape,
        offset_mm=offset,
        margins_mm=margins or (offset[0], rest[0], offset[1], rest[1]),
        cells=tuple(
            Cell(
                column=column,
                row=row,
                x_mm=offset[0] + (column - 1) * pitch[0],
                y_mm=offset[1] + (row - 1) * pitch[1],
                open_sides=(),
            )
            for column, row in sorted(cells, key=lambda cell: (cell[1], cell[0]))
        ),
        edges=(),
        junctions=tuple(_junctions(cells, offset, pitch)),
        islands=1,
        placed=(),
    )


def _junctions(cells, offset, pitch):
    corners = {(c - a, r - b) for c, r in cells for a, b in product((0, 1), repeat=2)}
    for column, row in sorted(corners):
        around = [(column + a, row + b) in cells for a, b in product((0, 1), repeat=2)]
        count = sum(around)
        across = "diagonal" if around[0] == around[3] else "straight"
        yield Junction(
            column=column,
            row=row,
            x_mm=offset[0] + column * pitch[0],
            y_mm=offset[1] + row * pitch[1],
            panels=count,
            shape=SHAPES.get(count, across),
        )


def counted(*panellings, pitch=(PITCH_MM, PITCH_MM), play=0.3, error=(0.5, 0.0), **told):
    """Walls of these, with anchors rated 400 N at a factor of 4 unless told otherwise."""
    given = {
        "pattern": "every junction",
        "anchor": Anchor(name="plug", rated_n=400.0, factor=4.0, edge_mm=30.0),
        "band_mm": 50.0,
        "panel_weight_n": 0.0,
        **told,
    }
    walls = Walls(
        name="walls",
        path=Path("walls.yaml"),
        system=PanelSystem(
            name="system", pitch_mm=pitch, thickness_mm=6.0, joint_play_mm=play, rules=()
        ),
        walls=tuple(each.wall for each in panellings),
        extra={},
        levelling=Levelling(first_panel_mm_m=error[0], level_mm_m=error[1]),
        **given,
    )
    return Counted(walls=walls, panellings=panellings, counts=())
