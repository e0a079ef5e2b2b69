"""A first layout of a strip: large parts first, each as far left as it can go."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from planner.nest.separate import Lie
from planner.nest.strip.kit import Strip

if TYPE_CHECKING:
    from planner.nest.nofit import Bits
    from planner.nest.strip.kit import Kit


def started(kit: Kit) -> list[Lie]:
    """Return how every part lies at first, a little apart; the strip is long enough."""
    widest_mm = max(float(posed.high_mm[0] - posed.low_mm[0]) for posed in kit.shapes)
    total = sum(kit.area_mm2[item] for item in kit.parts)
    start = _Start(Strip(kit, 2 * total / kit.depth_mm + 2 * widest_mm))
    places: dict[int, int] = {}
    for part in sorted(range(len(kit.parts)), key=lambda part: -kit.hull_mm2[kit.parts[part]]):
        lies = [start.leftmost(shape) for shape in kit.of[kit.parts[part]]]
        places[part] = len(start.laid)
        start.laid.append(
            min(lies, key=lambda lie: lie.x + kit.shapes[lie.shape].high_mm[0] / kit.step_mm)
        )
    return [start.laid[places[part]] for part in range(len(kit.parts))]


class _Start:
    """Parts laid so far, and per shape which places they have taken (kept up to date)."""

    def __init__(self, strip: Strip) -> None:
        self.strip = strip
        self.laid: list[Lie] = []
        self._taken: dict[int, tuple[Bits, int]] = {}
        self._wide: dict[tuple[int, int], Bits] = {}

    def leftmost(self, shape: int) -> Lie:
        """Return the free place of a shape that is furthest left, behind all parts if need be."""
        room = self.strip.room(shape)
        if room is None:
            raise ValueError("a shape that does not fit the strip")
        low_x, low_y = room[1], room[2]
        taken, seen = self._taken.get(shape, (np.zeros(room[0].shape, dtype=bool), 0))
        for lie in self.laid[seen:]:
            self._take(taken, lie, shape, (low_x, low_y))
        self.strip.kit.work += len(self.laid) - seen + taken.size // 4000
        self._taken[shape] = taken, len(self.laid)
        free = ~taken.T
        if not free.any():
            return self._behind(shape, low_x, low_y)
        column, row = divmod(int(free.argmax()), taken.shape[0])
        return Lie(shape, low_x + column, low_y + row)

    def _take(self, taken: Bits, lie: Lie, shape: int, corner: tuple[int, int]) -> None:
        wide, from_x, from_y = self._forbidden(lie.shape, shape)
        rows, columns = taken.shape
        left, low = lie.x + from_x - corner[0], lie.y + from_y - corner[1]
        y, x = max(low, 0), max(left, 0)
        if low + wide.shape[0] > y and left + wide.shape[1] > x:
            part = wide[y - low : rows - low, x - left : columns - left]
            taken[y : y + part.shape[0], x : x + part.shape[1]] |= part

    def _forbidden(self, fixed: int, moving: int) -> tuple[Bits, int, int]:
        steps, low_x, low_y = self.strip.depth(fixed, moving)
        if (fixed, moving) not in self._wide:
            self._wide[fixed, moving] = _widened(steps > 0)
        return self._wide[fixed, moving], low_x - 1, low_y - 1

    def _behind(self, shape: int, low_x: int, low_y: int) -> Lie:
        kit = self.strip.kit
        ends = [lie.x + kit.shapes[lie.shape].high_mm[0] / kit.step_mm for lie in self.laid]
        return Lie(shape, ceil(max(ends)) + 1 + low_x, low_y)


def _widened(bits: Bits) -> Bits:
    """Return the points at most a step away from those given, with a border of one step.

    This takes back what the depths let pass, so that exact places are near.
    """
    wide = np.pad(bits, 1)
    wide[:, 1:-1] |= wide[:, 2:] | wide[:, :-2]
    wide[1:-1] |= wide[2:] | wide[:-2]
    return wide
