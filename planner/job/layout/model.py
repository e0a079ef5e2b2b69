"""Walls, and the panel system that fills them, as told by the user: frozen and checked.

Places on a wall are in mm from its bottom left corner, x to the right and y upwards, as one
looks at it. Columns and rows of cells are counted from 1, from the left and from below.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

Spot = Literal["cell", "shared edge", "free edge", "junction", "fixing", "cells"]
"""Where a part of the system goes; "cells" is one for every so many cells."""

Side = Literal["left", "right", "top", "bottom"]
Shape = Literal["outer corner", "straight", "diagonal", "inner corner", "middle"]
"""How panels meet at a junction: one; two in line; two across; three; four."""

Pattern = Literal["every junction", "every other", "edges"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRule:
    """A part of the system and where it goes; every rule that fits counts.

    `part` None says that nothing is needed there. `open_sides` are the sides of a cell without
    a neighbour (None: any); `along` is how an edge runs; `shape` how panels meet at a junction
    (None: any). `count` copies each; for "cells", `count` per `every` cells begun of each wall.
    `bought` parts are counted and not printed.
    """

    part: str | None
    spot: Spot
    count: int = 1
    open_sides: tuple[Side, ...] | None = None
    along: Literal["level", "upright"] | None = None
    shape: Shape | None = None
    every: int = 1
    bought: bool = False
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelSystem:
    """Panels of one pitch and what joins and holds them.

    `joint_play_mm` is how far a joint lets neighbours shift against each other.
    """

    name: str
    pitch_mm: tuple[float, float]
    thickness_mm: float
    joint_play_mm: float
    rules: tuple[PartRule, ...]
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOut:
    """A rectangle that stays free. `kind` is socket, switch, window, pipe or other."""

    name: str
    kind: Literal["socket", "switch", "window", "pipe", "other"]
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hung:
    """An accessory in a place: a part or assembly, over the cell (column, row).

    `force_n` hangs at `out_mm` in front of the wall; 0 where nothing was said.
    """

    thing: str
    cell: tuple[int, int]
    count: int = 1
    force_n: float = 0.0
    out_mm: float = 0.0
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WallShape:
    """One wall: its size, what is cut out of it, which cells it has, what hangs where.

    `mask` are the cells left by a drawing in text, None for all that fit. `offset_mm` is the
    bottom left corner of the grid of cells, None for the best. `grid` are its columns and rows
    where they were told or drawn, None for as many as fit. `studs_mm` are the x of studs.
    `meets` are its sides at a ceiling or in a room's corner, where cables may run.
    """

    name: str
    width_mm: float
    height_mm: float
    cut_outs: tuple[CutOut, ...] = ()
    mask: frozenset[tuple[int, int]] | None = None
    offset_mm: tuple[float, float] | None = None
    grid: tuple[int | None, int | None] = (None, None)
    hung: tuple[Hung, ...] = ()
    studs_mm: tuple[float, ...] = ()
    meets: tuple[Side, ...] = ()
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """What the wall's anchors bear and keep away from; None where nothing was said.

    `rated_n` is the maker's figure for this wall, of which 1 / `factor` may be used.
    `edge_mm` is the least distance from the wall's edge and from cut-outs.
    """

    name: str
    rated_n: float | None
    factor: float
    edge_mm: float
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Levelling:
    """Errors while mounting: the spirit level's and the first panel's, in mm per metre."""

    level_mm_m: float
    first_panel_mm_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """All that the user said about the walls of one job.

    `extra` are accessories as a plain list: part or assembly -> count.
    """

    name: str
    path: Path
    system: PanelSystem
    walls: tuple[WallShape, ...]
    extra: Mapping[str, int]
    pattern: Pattern
    anchor: Anchor | None
    levelling: Levelling
    band_mm: float
    """Half the width of the strips kept free above, below and beside sockets and switches."""
    panel_weight_n: float = 0.0
    """What one cell of the board weighs with its share of joints, 0 where nothing was said."""
    where_extra: str = ""
