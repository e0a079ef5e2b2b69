"""A wall at its true size cut into sheets of paper: which are printed, and what each shows.

Tiles lie on a lattice from the wall's bottom left corner: rows A, B, C upwards, columns 1, 2, 3
to the right, so that A1 holds the corner. Each shows its cell of the lattice and half the
overlap more on every side; crosses stand at the corners of the cells, so that a cross is on up
to four sheets at the same place of the wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from planner.report.wall.paper import PAPERS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.report.wall.sheet.marks import Point
    from planner.report.wall.subject import Numbered, Subject

OVERLAP_MM = 10.0
"""Of neighbouring sheets, for glue; common practice, no source."""
MARGIN_MM = 8.0
"""Paper that not every printer reaches; common practice, no source."""
SIDE_MM, FOOT_MM = 9.0, 27.0
"""Strips for the upright scale check, and for the words and the level one."""
_STEP_MM = 5.0
"""Tiles are whole multiples of this, so that their corners have round numbers."""
PAGES_MAX = 400
"""Tiles beyond which nobody would glue a template (invented); then there is an overview only."""
BRIDGE_MAX = 3
"""Blank tiles in a row that are printed to hang two groups together; over longer gaps a tape
measure is as true as glue (invented)."""


@dataclass(frozen=True, slots=True, order=True)
class Tile:
    """A sheet by its row (from 0, upwards) and column (from 0, to the right)."""

    row: int
    column: int

    @property
    def name(self) -> str:
        """Such as A1 for the bottom left one.

        >>> Tile(0, 0).name, Tile(27, 11).name
        ('A1', 'AB12')
        """
        letters, rest = "", self.row + 1
        while rest:
            rest, last = divmod(rest - 1, 26)
            letters = chr(ord("A") + last) + letters
        return f"{letters}{self.column + 1}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiling:
    """How one wall is cut: `page_mm` is a sheet as it lies, `step_mm` a cell of the lattice.

    `holes` are the tiles with a hole, `bridges` those without that join neighbouring groups
    of them, or the wall's corner; both are printed. `blank` are left out.
    """

    paper: str
    page_mm: tuple[float, float]
    step_mm: tuple[float, float]
    columns: int
    rows: int
    holes: tuple[Tile, ...]
    bridges: tuple[Tile, ...]
    blank: tuple[Tile, ...]

    @property
    def printed(self) -> tuple[Tile, ...]:
        """Tiles in the order of their pages: row by row from below; none if they are too many."""
        return () if self.too_many else tuple(sorted(self.holes + self.bridges))

    @property
    def too_many(self) -> bool:
        """Whether there are more tiles than anybody would glue."""
        return len(self.holes) + len(self.bridges) > PAGES_MAX

    @property
    def pages(self) -> int:
        """Pages of the template, its overview included."""
        return 1 + len(self.printed)

    def corner_mm(self, tile: Tile) -> Point:
        """Return the bottom left cross of a tile as a place on the wall."""
        return tile.column * self.step_mm[0], tile.row * self.step_mm[1]

    def tile_of(self, x_mm: float, y_mm: float) -> Tile:
        """Return the one tile that a place belongs to; others may show it in their overlap."""
        column = math.floor(x_mm / self.step_mm[0])
        row = math.floor(y_mm / self.step_mm[1])
        return Tile(max(0, min(row, self.rows - 1)), max(0, min(column, self.columns - 1)))


def tile(subject: Subject, paper: str) -> Tiling:
    """Cut a wall into upright or lying sheets of A4 or Letter, whichever makes fewer."""
    both = [_tiling(subject, paper, page) for page in (PAPERS[paper], PAPERS[paper][::-1])]
    return min(both, key=lambda tiling: len(tiling.holes) + len(tiling.bridges))


def seen(tiling: Tiling, which: Tile, fixings: Iterable[Numbered]) -> tuple[Numbered, ...]:
    """Return the fixings that a tile shows, those in its overlap too."""
    (x, y), half = tiling.corner_mm(which), OVERLAP_MM / 2
    return tuple(
        (number, fixing)
        for number, fixing in fixings
        if x - half <= fixing.x_mm <= x + tiling.step_mm[0] + half
        and y - half <= fixing.y_mm <= y + tiling.step_mm[1] + half
    )


def step_of(page_mm: tuple[float, float]) -> tuple[float, float]:
    """Return the cell of the lattice for a page.

    >>> step_of((210.0, 297.0)), step_of((279.4, 215.9))
    ((175.0, 240.0), (240.0, 160.0))
    """
    wide = page_mm[0] - 2 * MARGIN_MM - SIDE_MM - OVERLAP_MM
    high = page_mm[1] - 2 * MARGIN_MM - FOOT_MM - OVERLAP_MM
    return wide // _STEP_MM * _STEP_MM, high // _STEP_MM * _STEP_MM


def _tiling(subject: Subject, paper: str, page_mm: tuple[float, float]) -> Tiling:
    step = step_of(page_mm)
    columns, rows = (
        max(1, math.ceil(size / one - 1e-9))
        for size, one in zip(subject.size_mm, step, strict=True)
    )
    bare = Tiling(
        paper=paper,
        page_mm=page_mm,
        step_mm=step,
        columns=columns,
        rows=rows,
        holes=(),
        bridges=(),
        blank=(),
    )
    holes = {bare.tile_of(fixing.x_mm, fixing.y_mm) for _, fixing in subject.fixings}
    bridges = _bridges(holes) if len(holes) <= PAGES_MAX else set[Tile]()
    everything = {Tile(row, column) for row in range(rows) for column in range(columns)}
    return Tiling(
        paper=paper,
        page_mm=page_mm,
        step_mm=step,
        columns=columns,
        rows=rows,
        holes=tuple(sorted(holes)),
        bridges=tuple(sorted(bridges)),
        blank=tuple(sorted(everything - holes - bridges)),
    )


def _bridges(holes: set[Tile]) -> set[Tile]:
    """Return blank tiles that join groups of tiles over short gaps, the shortest first.

    The tile with the wall's corner is one to be joined, for the whole is hung by it.
    """
    wanted = holes | {Tile(0, 0)} if holes else holes
    groups = _groups(wanted)
    group_of = {each: index for index, group in enumerate(groups) for each in group}
    gaps = sorted(
        (_apart(a, b), a, b)
        for a, b in combinations(sorted(wanted), 2)
        if group_of[a] != group_of[b] and _apart(a, b) <= BRIDGE_MAX + 1
    )
    found: set[Tile] = set()
    for _, a, b in gaps:
        joined, gone = group_of[a], group_of[b]
        if joined != gone:
            found |= _between(a, b)
            group_of = {each: joined if of == gone else of for each, of in group_of.items()}
    joined_on = any(near in holes | found for near in _neighbours(Tile(0, 0)))
    return (found | wanted if joined_on else found) - holes


def _groups(tiles: set[Tile]) -> list[list[Tile]]:
    """Return tiles that meet at their sides, group by group, from the bottom left."""
    rest, groups = set(tiles), []
    while rest:
        reached = [min(rest)]
        rest.remove(reached[0])
        for here in reached:
            near = [n for n in _neighbours(here) if n in rest]
            rest.difference_update(near)
            reached += near
        groups.append(sorted(reached))
    return groups


def _neighbours(of: Tile) -> list[Tile]:
    row, column = of.row, of.column
    return [
        Tile(row, column - 1),
        Tile(row, column + 1),
        Tile(row - 1, column),
        Tile(row + 1, column),
    ]


def _apart(a: Tile, b: Tile) -> int:
    return abs(a.row - b.row) + abs(a.column - b.column)


def _between(a: Tile, b: Tile) -> set[Tile]:
    """Return the tiles of a way from a to b: along a's row, then up or down b's column."""
    low, high = sorted((a.column, b.column))
    level = {Tile(a.row, column) for column in range(low, high + 1)}
    low, high = sorted((a.row, b.row))
    return level | {Tile(row, b.column) for row in range(low, high + 1)}


def told_shortly(tiles: Iterable[Tile]) -> str:
    """Name tiles, runs of a row as one.

    >>> told_shortly([Tile(0, 0), Tile(0, 1), Tile(0, 2), Tile(2, 4)])
    'A1 to A3, C5'
    """
    runs: list[list[Tile]] = []
    for each in sorted(tiles):
        if runs and runs[-1][-1] == Tile(each.row, each.column - 1):
            runs[-1].append(each)
        else:
            runs.append([each])
    return ", ".join(
        run[0].name if len(run) == 1 else f"{run[0].name} to {run[-1].name}" for run in runs
    )
