"""One part more on a plate: laid over the others, which are then pushed apart.

Filling finds the places that are free; separation moves the parts that lie there already.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.nest.depth import depth_of
from planner.nest.memory import Store
from planner.nest.nofit import forbidden
from planner.nest.plate import Plate, Spot
from planner.nest.separate import Lie, Separation

if TYPE_CHECKING:
    from random import Random

    from planner.nest.build import Task
    from planner.nest.depth import Depth, Single
    from planner.nest.nofit import Bits
    from planner.nest.table import Table

ROUNDS, STRIKES = 12, 1
SIZE_POWER = 0.25
DEPTH_WORK = 400
"""Depths of a pair of shapes from their forbidden offsets, in steps of the search (measured)."""
KEPT_BYTES = 200_000_000


class Depths:
    """How deep shapes of a table are in each other, and where they may lie on its beds."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self._depths: Store[tuple[int, int], Depth] = Store(KEPT_BYTES)
        self._rooms: Store[tuple[int, int], Single] = Store(KEPT_BYTES // 4)

    def depth(self, fixed: int, moving: int) -> Depth:
        """Return the depths of the moving shape against the fixed one."""
        found = self._depths.get((fixed, moving))
        if found is None:
            table = self.table
            table.work += DEPTH_WORK
            own = table.size[moving]
            found = depth_of(self._forbidden(fixed, moving), (1 - own[0], 1 - own[1]))
            self._depths.put((fixed, moving), found, found.steps.nbytes + 300)
        return found

    def _forbidden(self, fixed: int, moving: int) -> Bits:
        table = self.table
        size, own = table.size[fixed], table.size[moving]
        columns, rows = size[0] + own[0] - 1, size[1] + own[1] - 1
        if columns <= table.stride(0):
            return unpacked(table.nofit(fixed, moving, 0), table.stride(0), rows)[:, :columns]
        return forbidden(
            table.shapes[fixed].grown,
            table.shapes[moving].grown,
            step_mm=table.step_mm,
            low=(1 - own[0], 1 - own[1]),
            size=(columns, rows),
        )

    def room(self, bed: int, shape: int) -> Single:
        """Return the cost of each position on an empty bed: 0 or, where barred, inf."""
        found = self._rooms.get((bed, shape))
        if found is None:
            stride = self.table.stride(0)
            free = self.table.inner(bed, shape, 0)
            rows = -(-free.bit_length() // stride)
            bits = unpacked(free, stride, rows)
            bits = bits[:, : int(np.flatnonzero(bits.any(axis=0))[-1]) + 1]
            found = np.where(bits, 0.0, np.inf).astype(np.float32)
            self._rooms.put((bed, shape), found, found.nbytes + 300)
        return found


def depths_of(task: Task) -> Depths | None:
    """Return the depths of a task's shapes, made once; None where separation is of no use.

    Very many kinds have too many pairs, and where parts are printed one after another their
    order counts too.
    """
    table = task.table
    if table.rough or any(bed.head for bed in table.beds):
        return None
    if task.depths is None:
        task.depths = Depths(table)
    return task.depths


class BedSpace:
    """One bed as a space of parts; every shape asked for has a place on it."""

    def __init__(self, depths: Depths, bed: int) -> None:
        self.depth, self._depths, self._bed = depths.depth, depths, bed

    def room(self, shape: int) -> tuple[Single, int, int]:
        """Return the cost of each position, which begins at the origin."""
        return self._depths.room(self._bed, shape), 0, 0


def crammed(depths: Depths, plate: Plate, item: int, random: Random, until: int) -> Plate | None:
    """Return the plate with one copy more on it, or None if the parts did not come apart."""
    table = depths.table
    items = [*(spot.item for spot in plate.spots), item]
    turns = [table.turns(plate.bed, one) for one in items]
    lies = [Lie(spot.option.shape, spot.x, spot.y) for spot in plate.spots]
    lies.append(Lie(turns[-1][0].shape, 0, 0))
    area = np.array([table.area_mm2[one] for one in items])
    state = Separation(
        BedSpace(depths, plate.bed),
        [[option.shape for option in own] for own in turns],
        (area / area.mean()) ** SIZE_POWER,
        lies,
        random,
    )
    state.move(len(lies) - 1)
    apart = state.run(rounds=ROUNDS, strikes=STRIKES, until=max(0, until - table.work))
    table.work += state.work
    if not apart:
        return None
    spots = []
    for one, own, lie in zip(items, turns, state.lies, strict=True):
        option = next(option for option in own if option.shape == lie.shape)
        spots.append(Spot(one, option, lie.x, lie.y))
    return type(plate)(table, plate.bed, tuple(spots))


def unpacked(bits: int, stride: int, rows: int) -> Bits:
    """Return as a bitmap the rows that one integer holds, row j from bit j * stride on.

    >>> unpacked(0b1001, 3, 2).tolist()
    [[True, False, False], [True, False, False]]
    """
    data = np.frombuffer(bits.to_bytes(rows * stride // 8 + 1, "little"), dtype=np.uint8)
    flat = np.unpackbits(data, bitorder="little")[: rows * stride]
    return flat.reshape(rows, stride).astype(bool)
