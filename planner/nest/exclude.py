"""Which items can never lie on one plate together, whatever their places.

A real position is rounded down to a grid; the part of the shape that is covered wherever
inside its grid cell it lies (the "core") then lies at the grid point.  If the cores of two
items overlap for every pair of grid points on every bed, the items exclude each other.
"""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

import numpy as np
from shapely import affinity

from planner.nest import nofit
from planner.nest.shape import SLABS, Runs, inner_runs, merged, turned_region
from planner.nest.table import nominal_step

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Bed, Item
    from planner.nest.shape import Region

_ROUND = 1e-6


class _Core:
    """One turn of an item: extents of the grown shape and the core's runs, made when needed."""

    def __init__(self, shape: Region, angle: float, clearance_mm: float, step_mm: float) -> None:
        self._shape, self._angle = shape, angle
        self._clearance_mm, self._step_mm = clearance_mm, step_mm
        self._runs: Runs | None = None
        self._placed = turned_region(shape, angle)
        low_x, low_y, high_x, high_y = self._placed.bounds
        self.size_mm = (high_x - low_x + clearance_mm, high_y - low_y + clearance_mm)

    def runs(self) -> Runs:
        """Return the runs of the core against the low corner of the grown extents."""
        if self._runs is None:
            radius = self._clearance_mm / 2
            low_x, low_y, _, _ = self._placed.bounds
            # Below the true growth: arcs as chords, and 0.99 against GEOS filling shallow dents.
            grown = self._placed.buffer(0.99 * radius) if radius else self._placed
            moved = affinity.translate(grown, radius - low_x, radius - low_y)
            self._runs = _core(inner_runs(moved, self._step_mm / SLABS), self._step_mm)
        return self._runs

    def last(self, room_mm: tuple[float, float]) -> tuple[int, int] | None:
        """Return the last grid point along x and y, or None if this turn is too large."""
        spare = (room_mm[0] - self.size_mm[0] + _ROUND, room_mm[1] - self.size_mm[1] + _ROUND)
        if min(spare) < 0:
            return None
        return floor(spare[0] / self._step_mm), floor(spare[1] / self._step_mm)


def exclusive_pairs(
    items: Sequence[Item],
    shapes: Sequence[Region],
    beds: Sequence[Bed],
    allowed: Sequence[frozenset[int]],
    *,
    clearance_mm: float,
    edge_mm: float,
) -> frozenset[tuple[int, int]]:
    """Return the pairs (a, b), a <= b, of items that cannot share a plate; (a, a) for copies."""
    step_mm = nominal_step(beds)  # whatever the items: one more must not lower the bound
    cores = [
        [_Core(shape, angle, clearance_mm, step_mm) for angle in item.rotations_deg]
        for item, shape in zip(items, shapes, strict=True)
    ]
    more = clearance_mm - 2 * edge_mm
    rooms = [(bed.width_mm + more, bed.depth_mm + more) for bed in beds]
    found = []
    for one in range(len(items)):
        for other in range(one, len(items)):
            shared = sorted(allowed[one] & allowed[other])
            if (
                allowed[one]
                and allowed[other]
                and all(
                    _over_limits(items[one], items[other], beds[bed])
                    or _never_together(cores[one], cores[other], rooms[bed], step_mm)
                    for bed in shared
                )
            ):
                found.append((one, other))
    return frozenset(found)


def _over_limits(one: Item, other: Item, bed: Bed) -> bool:
    return one.seconds + other.seconds > bed.limit_s * (
        1 + 1e-9
    ) or one.grams + other.grams > bed.limit_g * (1 + 1e-9)


def _never_together(
    ones: Sequence[_Core], others: Sequence[_Core], room_mm: tuple[float, float], step_mm: float
) -> bool:
    """Say whether no pair of turns fits on a bed; a pair that fits side by side settles it."""
    turns = [
        (one, other, one.last(room_mm), other.last(room_mm)) for one in ones for other in others
    ]
    possible = [turn for turn in turns if turn[2] is not None and turn[3] is not None]
    for one, other, _, _ in possible:
        if (
            one.size_mm[0] + other.size_mm[0] <= room_mm[0] + _ROUND
            or one.size_mm[1] + other.size_mm[1] <= room_mm[1] + _ROUND
        ):
            return False
    return all(
        _overlap_everywhere(one, other, last_one, last_other, step_mm)
        for one, other, last_one, last_other in possible
        if last_one is not None and last_other is not None
    )


def _overlap_everywhere(
    one: _Core, other: _Core, last_one: tuple[int, int], last_other: tuple[int, int], step_mm: float
) -> bool:
    window = (last_one[0] + last_other[0] + 1, last_one[1] + last_other[1] + 1)
    if not (len(one.runs().row) and len(other.runs().row)):
        return False
    return bool(
        nofit.forbidden(
            one.runs().bands(),
            other.runs().bands(),
            step_mm=step_mm,
            low=(-last_one[0], -last_one[1]),
            size=window,
        ).all()
    )


def _core(runs: Runs, step_mm: float) -> Runs:
    """Keep what the shape still covers after any move by less than a step along x and y."""
    rows: dict[int, list[tuple[float, float]]] = {}
    columns = runs.row.tolist(), runs.low_mm.tolist(), runs.high_mm.tolist()
    for row, low, high in zip(*columns, strict=True):
        rows.setdefault(row, []).append((low, high))
    kept: list[tuple[int, float, float]] = []
    for row, own in rows.items():
        common = own
        for below in range(1, SLABS + 1):
            common = _common(common, rows.get(row - below, []))
        kept += [(row, low + step_mm, high) for low, high in common if high - low > step_mm]
    table = np.array(kept, dtype=np.float64).reshape(-1, 3)
    return merged(table[:, 0].astype(np.int64), table[:, 1], table[:, 2])


def _common(
    ones: list[tuple[float, float]], others: list[tuple[float, float]]
) -> list[tuple[float, float]]:
    """Return the intervals that two sorted lists of intervals have in common."""
    return [
        (max(one[0], other[0]), min(one[1], other[1]))
        for one in ones
        for other in others
        if max(one[0], other[0]) < min(one[1], other[1])
    ]
