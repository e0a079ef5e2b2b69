"""Walls counted and mounted: frozen results. Places as in `planner.job.layout.model`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.job.layout.model import Shape, Side, Spot, Walls, WallShape


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A panel's place; x, y is its bottom left corner. `open_sides` have no neighbour."""

    column: int
    row: int
    x_mm: float
    y_mm: float
    open_sides: tuple[Side, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A side of one or two cells, from (x, y) on to the right or upwards, one pitch long."""

    x_mm: float
    y_mm: float
    upright: bool
    shared: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Junction:
    """A corner of cells: right of column `column` and above row `row` (0 at the margin)."""

    column: int
    row: int
    x_mm: float
    y_mm: float
    panels: int
    shape: Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One copy in its place: x, y of the middle of what it sits on.

    `cell` is (column, row) for panels and for accessories (`hung`).
    """

    part: str
    spot: Spot
    x_mm: float
    y_mm: float
    upright: bool = False
    cell: tuple[int, int] | None = None
    hung: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Panelling:
    """One wall filled with cells.

    `margins_mm` are the strips left over: left, right, bottom, top. `islands` counts groups of
    cells that hang together by edges. `placed` are the parts of the system, accessories too;
    `counts` what this wall needs of each.
    """

    wall: WallShape
    offset_mm: tuple[float, float]
    margins_mm: tuple[float, float, float, float]
    cells: tuple[Cell, ...]
    edges: tuple[Edge, ...]
    junctions: tuple[Junction, ...]
    islands: int
    placed: tuple[Placed, ...]
    counts: tuple[Count, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How many of a part, and why: "7 shared edges", "12 cells". Before stock and spares.

    `bought` parts are counted and not printed.
    """

    part: str
    count: int
    because: str
    bought: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixing:
    """A screw into the wall at a junction; `stud` where it meets one."""

    wall: str
    x_mm: float
    y_mm: float
    column: int
    row: int
    stud: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Skipped:
    """A junction of the pattern without its screw, and why."""

    wall: str
    x_mm: float
    y_mm: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FixingShare:
    """What a screw bears; `used` is the share of what its anchor may bear, None if unknown."""

    fixing: Fixing
    shear_n: float
    pull_n: float
    used: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mounting:
    """The screws of all walls, what each bears (worst first), and sentences to heed."""

    fixings: tuple[Fixing, ...]
    skipped: tuple[Skipped, ...]
    loads: tuple[FixingShare, ...]
    notes: tuple[str, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """How far a wall runs out of level, in mm over its width (and height, out of plumb).

    `typical_mm` adds the two errors as root of squares, `worst_mm` straight. `row` and
    `column` are the first at which the worst exceeds the joints' play; None if none does.
    `check_at` are columns at which to check the level again.
    """

    wall: str
    worst_mm: float
    typical_mm: float
    worst_up_mm: float
    row: int | None
    column: int | None
    check_at: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """The walls counted: what each is filled with, and how many of every part.

    `remarks` are sentences to heed: groups of cells that do not hang together, and the like.
    """

    walls: Walls
    panellings: tuple[Panelling, ...]
    counts: tuple[Count, ...]
    remarks: tuple[str, ...] = ()

    @property
    def quantities(self) -> Mapping[str, int]:
        """Part or assembly -> copies."""
        return {count.part: count.count for count in self.counts}
