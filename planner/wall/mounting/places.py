"""The junctions of a wall as arrays, and which of them a pattern takes."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.job.layout.model import Pattern
    from planner.wall.model import Panelling

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """n junctions, from below and from the left; all arrays are (n,).

    `free` lie at the rim of the panels; `corner` are those at which the rim turns.
    """

    x_mm: Floats
    y_mm: Floats
    column: Ints
    row: Ints
    free: Bools
    corner: Bools

    def __len__(self) -> int:
        """How many junctions."""
        return len(self.x_mm)

    def only(self, keep: Bools | Ints) -> Places:
        """Those that `keep` marks or numbers."""
        return Places(**{field.name: getattr(self, field.name)[keep] for field in fields(self)})


def places(panelling: Panelling) -> Places:
    """All junctions of one wall, row by row."""
    joints = sorted(panelling.junctions, key=lambda joint: (joint.row, joint.column))
    return Places(
        x_mm=np.array([joint.x_mm for joint in joints], dtype=float),
        y_mm=np.array([joint.y_mm for joint in joints], dtype=float),
        column=np.array([joint.column for joint in joints], dtype=np.int64),
        row=np.array([joint.row for joint in joints], dtype=np.int64),
        free=np.array([joint.shape != "middle" for joint in joints], dtype=bool),
        corner=np.array(
            [joint.shape not in {"middle", "straight"} for joint in joints], dtype=bool
        ),
    )


def taken(where: Places, pattern: Pattern, *, good: Bools) -> Bools:
    """Mark the junctions that a pattern takes.

    "every other" is every second one like the dark squares of a chessboard, and all corners.
    Of the two ways to begin it takes the one with more `good` places, else that from the
    bottom left.
    """
    if pattern == "every junction":
        return np.ones(len(where), dtype=bool)
    if pattern == "edges":
        return where.free
    odd = (where.column + where.row) % 2 == 1
    other = int(np.sum(good & odd)) > int(np.sum(good & ~odd))
    squares: Bools = odd if other else ~odd
    return squares | where.corner
