"""The bound with what a person asked for: free turns, groups apart, parts per plate, pins."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, inf, isfinite, pi
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.nest.bound import Bound, lower_bound
from planner.nest.grid import nominal_step
from planner.nest.model import NO_WISHES
from planner.nest.obstacles import keep_out_regions
from planner.nest.outline import least_area_mm2, outline_of
from planner.nest.shape import region, rounded_outside
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Bed, Item, Wishes

_SIDES = 32


def least_plates(
    items: Sequence[Item],
    beds: Sequence[Bed],
    *,
    clearance_mm: float,
    edge_mm: float,
    wishes: Wishes = NO_WISHES,
) -> Bound:
    """Return how few plates could do at best: the strongest of all arguments.

    A part that may be turned freely goes into the arguments about shape as a disc that it
    covers in every turn, and into that about area as it is.
    """
    wanted = [item for item in items if item.quantity]
    stand_ins = [_disc_in(item) if item.free_turns else item for item in items]
    bounds = [lower_bound(stand_ins, beds, clearance_mm=clearance_mm, edge_mm=edge_mm)]
    if any(item.free_turns for item in wanted):
        bounds.append(_by_area(wanted, beds, clearance_mm, edge_mm))
    bounds += [_by_parts(wanted, beds), _by_groups(wanted, wishes), _by_pins(wishes)]
    return max(bounds, key=lambda bound: bound.plates)


def _disc_in(item: Item) -> Item:
    """Return an item with a disc (a polygon of many corners) that lies in it, in any turn."""
    shape = region(item.footprint)
    largest = max(shapely.get_parts(shape), key=lambda part: part.area)
    centre = shapely.get_point(shapely.maximum_inscribed_circle(largest), 0)
    radius = 0.999 * float(centre.distance(largest.boundary))  # the circle is found to a tolerance
    angles = 2 * pi * np.arange(_SIDES) / _SIDES
    corners = radius * np.column_stack([np.cos(angles), np.sin(angles)])
    inside = Footprint(polygons_mm=((corners,),))
    return replace(item, footprint=inside, rotations_deg=(0.0,), free_turns=False)


def _by_area(
    items: Sequence[Item], beds: Sequence[Bed], clearance_mm: float, edge_mm: float
) -> Bound:
    step_mm = nominal_step(beds)
    total = sum(
        item.quantity * least_area_mm2(outline_of(item.footprint, step_mm)[0], clearance_mm / 2)
        for item in items
    )
    plates, left = 0, total
    rooms = [(_room_mm2(bed, clearance_mm, edge_mm), bed.count) for bed in beds]
    for room, count in sorted(rooms, key=lambda pair: -pair[0]):
        needed = ceil(left / room - 1e-6) if room > 0 else 0
        used = max(0, needed if count is None else min(needed, count))
        plates, left = plates + used, left - used * room
    return Bound(plates=plates, by="area of the parts with half the clearance around them")


def _room_mm2(bed: Bed, clearance_mm: float, edge_mm: float) -> float:
    inside = shapely.box(edge_mm, edge_mm, bed.width_mm - edge_mm, bed.depth_mm - edge_mm)
    free = inside.difference(shapely.union_all(list(keep_out_regions(bed))))
    return float((rounded_outside(free, clearance_mm / 2) if clearance_mm else free).area)


def _by_parts(items: Sequence[Item], beds: Sequence[Bed]) -> Bound:
    most = max((bed.limit_parts for bed in beds if bed.count != 0), default=inf)
    parts = sum(item.quantity * item.parts for item in items)
    plates = ceil(parts / most - 1e-9) if isfinite(most) and most > 0 else 0
    return Bound(plates=plates, by="the most parts that a plate may hold")


def _by_groups(items: Sequence[Item], wishes: Wishes) -> Bound:
    names = {item.id for item in items}
    plates = max((len(names & set(group)) for group in wishes.apart), default=0)
    return Bound(plates=plates, by="parts that must not share a plate")


def _by_pins(wishes: Wishes) -> Bound:
    plates = len({pin.plate for pin in wishes.pins})
    return Bound(plates=plates, by="plates on which copies are pinned")
