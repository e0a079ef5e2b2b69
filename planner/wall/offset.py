"""Where the grid of cells lies best: most cells, then even strips at the margins.

The number of cells that stay free changes only where an edge of the grid meets an edge of the
wall or of a cut-out; and cells that touch a cut-out are free. So the most are reached at such a
place, and the margins are even there or half way: trying those places alone is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import floor, inf
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from planner.job.layout.model import WallShape

    Bools = NDArray[np.bool_]

HAIR_MM = 1e-6
"""A nanometre: less is rounding."""
PLACES_MAX = 40_000
"""Places tried at most: more need a drawing in a far larger wall with dozens of cut-outs."""
CLOSE_MM = 1e-3
"""Margins that differ by less than a micrometre are as even."""


def best_offset(wall: WallShape, pitch_mm: tuple[float, float]) -> tuple[float, float]:
    """Return the bottom left corner of the grid of cells, in mm.

    Of places with as many cells the one whose margins differ least, left from right plus bottom
    from top; then the leftmost, then the lowest. Raises InputError if there is too much to try.
    """
    if wall.offset_mm is not None:
        return wall.offset_mm
    places = [_offsets(wall, pitch_mm[axis], axis) for axis in (0, 1)]
    many = tuple(map(len, places))
    if many[0] * many[1] > PLACES_MAX:
        raise input_error(
            wall.where or wall.name,
            found=f"{many[0]} x {many[1]} places where the cells of {wall.name} might begin",
            expected=f"at most {PLACES_MAX} places to try",
            remedy="write offset_mm: [x, y], the bottom left corner of the cells",
        )
    across, up = (
        [_grouped(wall, pitch_mm[axis], axis, offset_mm) for offset_mm in places[axis]]
        for axis in (0, 1)
    )
    drawn = _drawn(wall)
    best = min(product(across, up), key=lambda pair: _rank(pair[0], pair[1], drawn))
    return best[0].offset_mm, best[1].offset_mm


def free_cells(
    wall: WallShape, pitch_mm: tuple[float, float], offset_mm: tuple[float, float]
) -> Bools:
    """Return which cells there are, by [column - 1, row - 1]; a cut-out that touches harms none."""
    columns, rows = (
        _covered(wall, axis, offset_mm[axis], pitch_mm[axis]).astype(float) for axis in (0, 1)
    )
    free: Bools = columns @ rows.T == 0
    drawn = _drawn(wall)
    return free if drawn is None else free & drawn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stripes:
    """Columns (or rows) of a grid that begins at `offset_mm`, grouped by what covers them.

    `covered` says by [group, cut-out] which cut-outs lie over the columns of the group;
    `many`, `first` and `last` are by group; `far_mm` is the wall's length.
    """

    offset_mm: float
    pitch_mm: float
    far_mm: float
    covered: NDArray[np.float64]
    many: NDArray[np.float64]
    first: NDArray[np.int64]
    last: NDArray[np.int64]

    def uneven_mm(self, some: Bools) -> float:
        """Difference of the two margins, if the groups marked have cells."""
        begin = self.offset_mm + int(self.first[some].min()) * self.pitch_mm
        end = self.offset_mm + (int(self.last[some].max()) + 1) * self.pitch_mm
        return abs(begin - (self.far_mm - end))


def _rank(across: _Stripes, up: _Stripes, drawn: Bools | None) -> tuple[float, float, float, float]:
    """Return what is least for the best place."""
    free: Bools = across.covered @ up.covered.T == 0
    if drawn is not None:
        free &= drawn
    cells = float(across.many @ free @ up.many)
    uneven_mm = inf
    if cells:
        uneven_mm = across.uneven_mm(_any(free)) + up.uneven_mm(_any(free.T))
        uneven_mm = round(uneven_mm / CLOSE_MM) * CLOSE_MM
    return -cells, uneven_mm, across.offset_mm, up.offset_mm


def _any(free: Bools) -> Bools:
    """Return which rows of the array hold a cell."""
    some: Bools = np.logical_or.reduce(free, axis=1)
    return some


def _grouped(wall: WallShape, pitch_mm: float, axis: int, offset_mm: float) -> _Stripes:
    covered = _covered(wall, axis, offset_mm, pitch_mm)
    each = np.arange(len(covered))
    group = each  # with a drawing every column is its own: it may differ from its neighbours
    if wall.mask is None and wall.cut_outs:
        covered, group = np.unique(covered, axis=0, return_inverse=True)
        group = group.reshape(-1)
    elif wall.mask is None:
        covered, group = covered[:1], np.zeros_like(each)
    many = np.bincount(group, minlength=len(covered))
    first, last = np.full(len(covered), len(each)), np.full(len(covered), -1)
    np.minimum.at(first, group, each)
    np.maximum.at(last, group, each)
    return _Stripes(
        offset_mm=offset_mm,
        pitch_mm=pitch_mm,
        far_mm=_size(wall, axis),
        covered=covered.astype(float),
        many=many.astype(float),
        first=first,
        last=last,
    )


def _offsets(wall: WallShape, pitch_mm: float, axis: int) -> list[float]:
    """Return the places to try along one axis, ascending."""
    length_mm, told = _size(wall, axis), wall.grid[axis]
    reach_mm = length_mm - (told or 1) * pitch_mm
    if told is None:  # a grid that begins a whole pitch further to the right is the same
        reach_mm = min(pitch_mm, reach_mm)
    meeting = [0.0, length_mm, *(edge for span in _spans(wall, axis) for edge in span)]
    even = [length_mm / 2, (length_mm + pitch_mm) / 2]
    found = {
        round(place, 6)
        for value in (*meeting, *even)
        for place in _repeated(value % pitch_mm, pitch_mm, reach_mm)
    }
    return _apart(sorted(found))


def _repeated(value: float, pitch_mm: float, reach_mm: float) -> Iterable[float]:
    """Return value, value + pitch, ... up to `reach_mm`."""
    more = floor((reach_mm - value + HAIR_MM) / pitch_mm)
    return (value + k * pitch_mm for k in range(more + 1))


def _apart(ascending: Sequence[float]) -> list[float]:
    kept: list[float] = []
    for value in ascending:
        if not kept or value - kept[-1] > 2 * HAIR_MM:
            kept.append(value)
    return kept


def _covered(wall: WallShape, axis: int, offset_mm: float, pitch_mm: float) -> Bools:
    """Return by [column, cut-out] whether the cut-out lies over some of the column."""
    begin = offset_mm + pitch_mm * np.arange(_columns(wall, axis, offset_mm, pitch_mm))[:, None]
    spans = np.array(_spans(wall, axis)).reshape(-1, 2)
    shared = np.minimum(begin + pitch_mm, spans[:, 1]) - np.maximum(begin, spans[:, 0])
    over: Bools = shared > HAIR_MM
    return over


def _columns(wall: WallShape, axis: int, offset_mm: float, pitch_mm: float) -> int:
    told = wall.grid[axis]
    if told is not None:
        return told
    return floor((_size(wall, axis) - offset_mm + HAIR_MM) / pitch_mm)


def _drawn(wall: WallShape) -> Bools | None:
    """Return the drawing by [column - 1, row - 1], None if there is none."""
    columns, rows = wall.grid
    if wall.mask is None or columns is None or rows is None:
        return None
    drawn = np.zeros((columns, rows), dtype=np.bool_)
    for column, row in wall.mask:
        drawn[column - 1, row - 1] = True
    return drawn


def _size(wall: WallShape, axis: int) -> float:
    return wall.height_mm if axis else wall.width_mm


def _spans(wall: WallShape, axis: int) -> list[tuple[float, float]]:
    if axis:
        return [(cut.y_mm, cut.y_mm + cut.height_mm) for cut in wall.cut_outs]
    return [(cut.x_mm, cut.x_mm + cut.width_mm) for cut in wall.cut_outs]
