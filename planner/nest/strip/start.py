"""A first layout of a strip: large parts first, each as far left as it can go."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from planner.nest.separate import Lie
from planner.nest.strip.kit import Strip

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.nofit import Bits
    from planner.nest.strip.kit import Kit


def started(kit: Kit) -> list[Lie]:
    """Return how every part lies at first, a little apart; the strip is long enough."""
    widest_mm = max(float(posed.high_mm[0] - posed.low_mm[0]) for posed in kit.shapes)
    total = sum(kit.area_mm2[item] for item in kit.parts)
    strip = Strip(kit, 2 * total / kit.depth_mm + 2 * widest_mm)
    lies: dict[int, Lie] = {}
    for part in sorted(range(len(kit.parts)), key=lambda part: -kit.hull_mm2[kit.parts[part]]):
        laid = list(lies.values())
        lies[part] = min(
            (_leftmost(strip, laid, shape) for shape in kit.of[kit.parts[part]]),
            key=lambda lie: lie.x + kit.shapes[lie.shape].high_mm[0] / kit.step_mm,
        )
    return [lies[part] for part in range(len(kit.parts))]


def _leftmost(strip: Strip, laid: Sequence[Lie], shape: int) -> Lie:
    """Return the free place of a shape that is furthest left, behind all parts if need be."""
    room = strip.room(shape)
    if room is None:
        raise ValueError("a shape that does not fit the strip")
    (rows, columns), low_x, low_y = room[0].shape, room[1], room[2]
    taken = np.zeros((rows, columns), dtype=bool)
    for lie in laid:
        steps, from_x, from_y = strip.depth(lie.shape, shape)
        wide = _widened(steps > 0)
        left, low = lie.x + from_x - low_x - 1, lie.y + from_y - low_y - 1
        y, x = max(low, 0), max(left, 0)
        high, right = low + wide.shape[0], left + wide.shape[1]
        if high > y and right > x:
            part = wide[y - low : rows - low, x - left : columns - left]
            taken[y : y + part.shape[0], x : x + part.shape[1]] |= part
    strip.kit.work += len(laid)
    free = ~taken.T
    if not free.any():
        behind = max(strip.kit.shapes[lie.shape].high_mm[0] / strip.kit.step_mm for lie in laid)
        return Lie(shape, ceil(max(lie.x for lie in laid) + behind) - low_x, low_y)
    column, row = divmod(int(free.argmax()), rows)
    return Lie(shape, low_x + column, low_y + row)


def _widened(bits: Bits) -> Bits:
    """Return the points at most a step away from those given, with a border of one step.

    This takes back what the depths let pass, so that exact places are near.
    """
    wide = np.pad(bits, 1)
    wide[:, 1:-1] |= wide[:, 2:] | wide[:, :-2]
    wide[1:-1] |= wide[2:] | wide[:-2]
    return wide
