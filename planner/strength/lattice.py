"""The bricks that hold something, their nodes, and their equations as a sparse matrix."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.sparse import bsr_array

from planner.strength.brick import CORNERS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Lattice:
    """Bricks of a tensor grid that are not empty.

    lines_mm: plane positions; cell: (n, 3) grid indices of the bricks, in ascending order.
    """

    lines_mm: tuple[Floats, Floats, Floats]
    cell: Ints

    @cached_property
    def sizes_mm(self) -> Floats:
        """Edges of the bricks, (n, 3)."""
        widths = [np.diff(lines) for lines in self.lines_mm]
        return np.stack([widths[axis][self.cell[:, axis]] for axis in range(3)], axis=1)

    @cached_property
    def lowest_mm(self) -> Floats:
        """Lowest corners of the bricks, (n, 3)."""
        return np.stack([self.lines_mm[axis][:-1][self.cell[:, axis]] for axis in range(3)], axis=1)

    @cached_property
    def _node_keys(self) -> tuple[Ints, Ints]:
        _, ny, nz = (len(lines) for lines in self.lines_mm)
        place = self.cell[:, None] + CORNERS[None]
        keys = (place[:, :, 0] * ny + place[:, :, 1]) * nz + place[:, :, 2]
        used, number = np.unique(keys, return_inverse=True)
        return used, number.reshape(-1, 8)

    @property
    def nodes(self) -> Ints:
        """The eight nodes of each brick, (n, 8)."""
        return self._node_keys[1]

    @property
    def node_count(self) -> int:
        """How many nodes there are."""
        return len(self._node_keys[0])

    @cached_property
    def node_place(self) -> Ints:
        """Grid indices of the nodes, (m, 3)."""
        used = self._node_keys[0]
        _, ny, nz = (len(lines) for lines in self.lines_mm)
        return np.stack([used // (ny * nz), used // nz % ny, used % nz], axis=1)

    def find(self, points_mm: Floats) -> tuple[Ints, Floats]:
        """Return the brick that holds each point (-1 where none does), and the place in it."""
        places = [
            np.clip(np.searchsorted(lines, points_mm[:, axis], "right") - 1, 0, len(lines) - 2)
            for axis, lines in enumerate(self.lines_mm)
        ]
        brick = self._numbers[places[0], places[1], places[2]]
        low = self.lowest_mm[brick]
        within: Floats = np.clip((points_mm - low) / self.sizes_mm[brick], 0.0, 1.0)
        return brick, within

    @cached_property
    def _numbers(self) -> Ints:
        """Number of the brick at every place of the grid, -1 where there is none."""
        shape = [len(lines) - 1 for lines in self.lines_mm]
        numbers = np.full(shape, -1, dtype=np.int64)
        numbers[self.cell[:, 0], self.cell[:, 1], self.cell[:, 2]] = np.arange(len(self.cell))
        return numbers

    @cached_property
    def neighbours(self) -> Ints:
        """The 27 bricks around each, itself included, (n, 27); -1 where there is none."""
        padded = np.pad(self._numbers, 1, constant_values=-1)
        around = np.array([[x, y, z] for x in range(3) for y in range(3) for z in range(3)])
        place = self.cell[:, None] + around[None]
        found: Ints = padded[place[..., 0], place[..., 1], place[..., 2]]
        return found

    def matrix(self, stiffness: Floats, dtype: Any = np.float64) -> Any:
        """Return the equations, (3 m, 3 m) in blocks of 3, of (n, 24, 24) brick stiffnesses.

        Two nodes of a brick lie at one of 27 offsets from each other; each pair of corners
        meets each row once, so that blocks are added up without a sort.
        """
        count = self.node_count
        blocks = np.zeros((count, 27, 3, 3), dtype=dtype)
        column = np.full((count, 27), -1, dtype=np.int64)
        parts = stiffness.reshape(-1, 8, 3, 8, 3)
        for one in range(8):
            rows = self.nodes[:, one]
            for other in range(8):
                step = CORNERS[other] - CORNERS[one] + 1
                slot = int(step @ [9, 3, 1])
                blocks[rows, slot] += parts[:, one, :, other]
                column[rows, slot] = self.nodes[:, other]
        used = column >= 0
        starts = np.concatenate([[0], np.cumsum(used.sum(axis=1))])
        return bsr_array((blocks[used], column[used], starts), shape=(3 * count, 3 * count))
