"""Which items can never lie on one plate together, whatever their places.

A real position is rounded down to a grid; the part of the shape that is covered wherever
inside its grid cell it lies (the "core") then lies at the grid point.  If the cores of two
items overlap for every pair of grid points on every bed, the items exclude each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations_with_replacement
from math import floor
from typing import TYPE_CHECKING

import numpy as np
from shapely import affinity

from planner.nest import nofit
from planner.nest.bound.centre import covers_centre
from planner.nest.grid import nominal_step
from planner.nest.memory import Store
from planner.nest.outline import shrunk_growth
from planner.nest.shape import SLABS, Runs, inner_runs, merged, turned_region

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.bound.centre import Room
    from planner.nest.model import Bed, Item
    from planner.nest.outline import Outline
    from planner.nest.shape import Bands

KINDS_MOST = 150
"""Of more kinds than this only the largest are looked at; of pairs of turns only so many:"""
CHECKS_MOST = 10_000
_ROUND = 1e-6

_Key = tuple[bytes, tuple[float, ...]]
_apart: Store[tuple[_Key, _Key, Room, float, float], bool] = Store(4_000_000)


@dataclass(frozen=True, slots=True)
class _Kind:
    """An item in all its turns."""

    key: _Key
    cores: tuple[_Core, ...]

    def narrowest(self, room_mm: Room) -> Room | None:
        """Return the least width and the least depth over the turns that fit; None if none does."""
        sizes = [core.size_mm for core in self.cores if core.last(room_mm) is not None]
        return (min(x for x, _ in sizes), min(y for _, y in sizes)) if sizes else None


class _Core:
    """One turn of an item: extents of the grown shape and the core's bands, made when needed."""

    def __init__(
        self,
        outline: Outline,
        angle: float,
        extents_mm: Sequence[float],
        clearance_mm: float,
        step_mm: float,
    ) -> None:
        self._outline, self._angle = outline, angle
        self._radius_mm, self._step_mm = clearance_mm / 2, step_mm
        self._bands: Bands | None = None
        self.size_mm = (extents_mm[0] + clearance_mm, extents_mm[1] + clearance_mm)

    def bands(self) -> Bands:
        """Return the core against the low corner of the grown extents."""
        if self._bands is None:
            placed = turned_region(self._outline.shape, self._angle)
            cover = turned_region(self._outline.cover, self._angle)
            low_x, low_y, _, _ = placed.bounds
            grown = shrunk_growth(self._outline, cover, self._radius_mm) or placed
            moved = affinity.translate(grown, self._radius_mm - low_x, self._radius_mm - low_y)
            runs = inner_runs(moved, self._step_mm / SLABS)
            self._bands = _core(runs, self._step_mm).bands()
        return self._bands

    def last(self, room_mm: Room) -> tuple[int, int] | None:
        """Return the last grid point along x and y, or None if this turn is too large."""
        spare = (room_mm[0] - self.size_mm[0] + _ROUND, room_mm[1] - self.size_mm[1] + _ROUND)
        if min(spare) < 0:
            return None
        return floor(spare[0] / self._step_mm), floor(spare[1] / self._step_mm)


def exclusive_pairs(
    items: Sequence[Item],
    outlines: Sequence[Outline],
    beds: Sequence[Bed],
    allowed: Sequence[frozenset[int]],
    *,
    clearance_mm: float,
    edge_mm: float,
) -> frozenset[tuple[int, int]]:
    """Return the pairs (a, b), a <= b, of items that cannot share a plate; (a, a) for copies.

    With very many kinds or turns not all pairs are looked at: those left out count as possible.
    """
    more = clearance_mm - 2 * edge_mm
    rooms = [(bed.width_mm + more, bed.depth_mm + more) for bed in beds]
    # The step suits the beds alone, whatever the items: one more must not lower the bound.
    step_mm = nominal_step(beds)
    largest = sorted(
        (number for number in range(len(items)) if allowed[number]),
        key=lambda number: (-outlines[number].shape.area, number),
    )[:KINDS_MOST]
    kinds = {
        number: _kind(items[number], outlines[number], clearance_mm, step_mm) for number in largest
    }
    narrow = {number: [kind.narrowest(room) for room in rooms] for number, kind in kinds.items()}
    found, left = [], CHECKS_MOST
    for one, other in combinations_with_replacement(largest, 2):
        open_beds = [
            bed
            for bed in sorted(allowed[one] & allowed[other])
            if not _over_limits(items[one], items[other], beds[bed])
        ]
        widths = [(narrow[one][bed], narrow[other][bed], rooms[bed]) for bed in open_beds]
        if any(_side_by_side(*both) for both in widths):
            continue
        open_rooms = [rooms[bed] for bed in open_beds]
        if not all(
            covers_centre(outlines[number], items[number].rotations_deg, room, clearance_mm)
            for room in open_rooms
            for number in (one, other)
        ):
            left -= len(open_rooms) * len(kinds[one].cores) * len(kinds[other].cores)
            if left < 0:
                continue
            if not all(
                _never_together(kinds[one], kinds[other], room, clearance_mm, step_mm)
                for room in open_rooms
            ):
                continue
        found.append((min(one, other), max(one, other)))
    return frozenset(found)


def _kind(item: Item, outline: Outline, clearance_mm: float, step_mm: float) -> _Kind:
    extents = outline.extents_mm(item.rotations_deg).tolist()
    cores = tuple(
        _Core(outline, angle, size, clearance_mm, step_mm)
        for angle, size in zip(item.rotations_deg, extents, strict=True)
    )
    return _Kind((outline.key, item.rotations_deg), cores)


def _over_limits(one: Item, other: Item, bed: Bed) -> bool:
    return any(
        both > limit * (1 + 1e-9)
        for both, limit in (
            (one.seconds + other.seconds, bed.limit_s),
            (one.grams + other.grams, bed.limit_g),
            (one.parts + other.parts, bed.limit_parts),
        )
    )


def _side_by_side(one_mm: Room | None, other_mm: Room | None, room_mm: Room) -> bool:
    """Say whether some turns of both, at their narrowest, fit next to each other on a bed."""
    return (
        one_mm is not None
        and other_mm is not None
        and any(
            first + second <= room + _ROUND
            for first, second, room in zip(one_mm, other_mm, room_mm, strict=True)
        )
    )


def _never_together(
    one: _Kind, other: _Kind, room_mm: Room, clearance_mm: float, step_mm: float
) -> bool:
    """Say whether no pair of turns fits on a bed."""
    key = (one.key, other.key, room_mm, clearance_mm, step_mm)
    found = _apart.get(key)
    if found is None:
        found = all(
            _overlap_everywhere(first, second, last, last_second, step_mm)
            for first in one.cores
            if (last := first.last(room_mm)) is not None
            for second in other.cores
            if (last_second := second.last(room_mm)) is not None
        )
        _apart.put(key, found, 500)
    return found


def _overlap_everywhere(
    one: _Core, other: _Core, last_one: tuple[int, int], last_other: tuple[int, int], step_mm: float
) -> bool:
    window = (last_one[0] + last_other[0] + 1, last_one[1] + last_other[1] + 1)
    if not (len(one.bands().start) and len(other.bands().start)):
        return False
    return bool(
        nofit.forbidden(
            one.bands(),
            other.bands(),
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
