"""The grid on which positions lie: how fine, so that little is lost by rounding sizes up."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from planner.nest.shape import SNAP

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Bed, Item
    from planner.nest.shape import Floats, Region

CELLS_MOST, CELLS_LEAST = 320, 64
"""Cells along a bed (the root of its area): beyond 320 mm the grid gets coarser than 1 mm, since
work grows with the square; below 64 mm it gets finer."""
SIZES_MOST = 200
"""So many sizes, those that weigh most, are looked at to choose the step."""


def nominal_step(beds: Sequence[Bed]) -> float:
    """Return the grid step (mm) that suits the beds, whatever is laid on them."""
    scales = [sqrt(bed.width_mm * bed.depth_mm) for bed in beds]
    fine = min(1.0, min(scales) / CELLS_LEAST)
    return max(fine, max(scales) / CELLS_MOST)


def grid_step(
    items: Sequence[Item],
    regions: Sequence[Region],
    beds: Sequence[Bed],
    clearance_mm: float,
    edge_mm: float,
) -> float:
    """Choose the grid step (mm): about 1, see `nominal_step`, so that sizes waste little.

    A length that is no multiple of the step is rounded up when parts lie side by side.  Steps
    from 0.8 to 1.1 of the nominal one are tried, with the exact divisors of each size among
    them, and the one with the least waste, weighted by area, is taken.
    """
    rooms = np.array([(bed.width_mm, bed.depth_mm) for bed in beds]).ravel()
    rooms = rooms + clearance_mm - 2 * edge_mm
    return suited_step(nominal_step(beds), sizes_of(items, regions, clearance_mm), rooms)


def suited_step(nominal_mm: float, sizes: Floats, rooms_mm: Floats) -> float:
    """Return the step near the nominal one that wastes least of the sizes and the rooms.

    `sizes` has rows (length in mm, weight); `rooms_mm` are lengths that steps should fill.
    """
    if not len(sizes):
        return nominal_mm
    rooms_mm = rooms_mm[rooms_mm > 0]
    lengths, weight = sizes[:, 0], sizes[:, 1]
    parts = np.floor(lengths / nominal_mm)[:, None] + np.arange(3)[None, :]
    exact = (lengths[:, None] / np.maximum(parts, 1.0)).ravel()
    tried = np.unique(np.concatenate([np.linspace(0.8, 1.1, 31) * nominal_mm, exact]).round(12))
    tried = tried[(tried >= 0.8 * nominal_mm) & (tried <= 1.1 * nominal_mm)]
    up = np.ceil(lengths[None, :] / tried[:, None] - SNAP) * tried[:, None] / lengths[None, :]
    waste = (up - 1.0) @ (weight / weight.sum())
    if len(rooms_mm):
        left = rooms_mm[None, :] / tried[:, None]
        over = (left - np.floor(left + SNAP)) * tried[:, None]
        waste += (over / rooms_mm[None, :]).mean(axis=1)
    return float(tried[int(np.argmin(waste.round(9)))])


def sizes_of(items: Sequence[Item], regions: Sequence[Region], clearance_mm: float) -> Floats:
    """Return (grown length in mm, weight) of every item along x and y as drawn."""
    rows = []
    for item, shape in zip(items, regions, strict=True):
        low_x, low_y, high_x, high_y = shape.bounds
        weight = shape.area * max(1, item.quantity)
        rows += [(high_x - low_x + clearance_mm, weight), (high_y - low_y + clearance_mm, weight)]
    rows.sort(key=lambda row: (-row[1], row[0]))
    return np.array(rows[:SIZES_MOST])
