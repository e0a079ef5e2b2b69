"""Groups of panels that hang together by their edges, each borne by its own screws."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.wall.model import Panelling
    from planner.wall.mounting.places import Places

    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Boards:
    """`label` is (rows + 2, columns + 2), by [row, column] of a cell: its board, 0 for none.

    `firsts` are the lowest, then leftmost cell of each board as (column, row); board 1 first.
    """

    label: Ints
    firsts: tuple[tuple[int, int], ...]
    bottom_mm: float
    pitch_mm: float

    def edge_mm(self, row: int) -> float:
        """Height of the lower edge of a row of cells."""
        return self.bottom_mm + (row - 1) * self.pitch_mm

    def of(self, cell: tuple[int, int]) -> int:
        """Board of a cell (column, row), 0 where there is no panel."""
        column, row = cell
        rows, columns = self.label.shape
        return int(self.label[row, column]) if 0 < row < rows and 0 < column < columns else 0

    def screws(self, where: Places) -> list[Ints]:
        """Numbers of the screws that go through a panel of board 1, 2, ...; some hold several."""
        row, column = where.row, where.column
        corners = [self.label[row + up, column + right] for up in (0, 1) for right in (0, 1)]
        number = np.tile(np.arange(len(where)), 4)
        pairs = np.unique(np.stack([np.concatenate(corners), number]), axis=1)
        ends = np.searchsorted(pairs[0], np.arange(1, len(self.firsts) + 2))
        return [pairs[1, start:end] for start, end in pairwise(ends.tolist())]


def boards(panelling: Panelling, pitch_mm: float) -> Boards:
    """Find the boards of one wall; `pitch_mm` upwards."""
    cells = sorted((cell.row, cell.column) for cell in panelling.cells)
    waiting = set(cells)
    rows = max((row for row, _ in cells), default=0)
    columns = max((column for _, column in cells), default=0)
    label = np.zeros((rows + 2, columns + 2), dtype=np.int64)
    firsts = []
    for cell in cells:
        if cell in waiting:
            firsts.append((cell[1], cell[0]))
            _flood(cell, waiting, label, len(firsts))
    lowest = panelling.cells[0] if panelling.cells else None
    bottom_mm = lowest.y_mm - (lowest.row - 1) * pitch_mm if lowest else 0.0
    return Boards(label=label, firsts=tuple(firsts), bottom_mm=bottom_mm, pitch_mm=pitch_mm)


def _flood(start: tuple[int, int], waiting: set[tuple[int, int]], label: Ints, board: int) -> None:
    """Label all cells that hang together with `start`, and take them off `waiting`."""
    waiting.discard(start)
    edge = [start]
    while edge:
        row, column = edge.pop()
        label[row, column] = board
        for near in ((row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1)):
            if near in waiting:
                waiting.discard(near)
                edge.append(near)
