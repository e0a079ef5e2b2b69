"""What weighs on each cell of a wall: what hangs there, and the panel itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.job.layout.model import Walls, WallShape
    from planner.wall.mounting.boards import Boards

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Burdens:
    """Weight and its moment about the wall's face, by [row, column] as `Boards.label`.

    `loaded` are the cells (column, row) over which something with a weight hangs; `astray`
    those of them that have no panel, whose weight is in neither array.
    """

    weight_n: Floats
    moment_nmm: Floats
    loaded: tuple[tuple[int, int], ...]
    astray: tuple[tuple[int, int], ...]


def burdens(wall: WallShape, walls: Walls, boards: Boards) -> Burdens:
    """Add up what weighs on the cells; a panel's weight is half its thickness in front."""
    weight_n = np.where(boards.label > 0, walls.panel_weight_n, 0.0)
    moment_nmm = weight_n * walls.system.thickness_mm / 2
    loaded, astray = set(), set()
    for each in wall.hung:
        if (force_n := each.force_n * each.count) <= 0:
            continue
        column, row = each.cell
        if not boards.of(each.cell):
            astray.add(each.cell)
            continue
        loaded.add(each.cell)
        weight_n[row, column] += force_n
        moment_nmm[row, column] += force_n * each.out_mm
    return Burdens(
        weight_n=weight_n,
        moment_nmm=moment_nmm,
        loaded=tuple(sorted(loaded)),
        astray=tuple(sorted(astray)),
    )
