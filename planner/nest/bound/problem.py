"""What all arguments work on: the items, their least areas, the beds that might hold them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.nest.grid import nominal_step
from planner.nest.obstacles import keep_out_regions
from planner.nest.outline import least_area_mm2, outline_of
from planner.nest.shape import region, rounded_outside
from planner.settings.groups import joined_groups
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Bed, Item, Wishes
    from planner.nest.outline import Outline

_SIDES = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What the arguments work on: per item its copies, its least area and its beds.

    An item that may be turned freely is among `items` and `outlines` as a disc that it covers
    in every turn; `solid` are the outlines as they are.
    """

    items: tuple[Item, ...]
    beds: tuple[Bed, ...]
    outlines: tuple[Outline, ...]
    solid: tuple[Outline, ...]
    free: frozenset[int]
    bundles: tuple[frozenset[int], ...]
    area_mm2: tuple[float, ...]
    room_mm2: tuple[float, ...]
    allowed: tuple[frozenset[int], ...]
    clearance_mm: float
    edge_mm: float


def problem_of(
    items: Sequence[Item],
    beds: Sequence[Bed],
    clearance_mm: float,
    edge_mm: float,
    wishes: Wishes,
) -> Problem:
    """Return the problem; see `lower_bound` for what goes in."""
    step_mm = nominal_step(beds)
    solid = tuple(outline_of(item.footprint, step_mm)[0] for item in items)
    stand_ins = tuple(_disc_in(item) if item.free_turns else item for item in items)
    outlines = tuple(outline_of(item.footprint, step_mm)[0] for item in stand_ins)
    number = {item.id: place for place, item in enumerate(items) if item.quantity}
    groups = joined_groups(wishes.together)
    bundles = tuple(frozenset(number[name] for name in group if name in number) for group in groups)
    return Problem(
        items=stand_ins,
        beds=tuple(beds),
        outlines=outlines,
        solid=solid,
        free=frozenset(place for place, item in enumerate(items) if item.free_turns),
        bundles=tuple(bundle for bundle in bundles if bundle),
        area_mm2=tuple(least_area_mm2(outline, clearance_mm / 2) for outline in solid),
        room_mm2=tuple(_room_mm2(bed, clearance_mm, edge_mm) for bed in beds),
        allowed=_where_all_may(
            [
                _allowed(item, outline, beds, edge_mm)
                for item, outline in zip(stand_ins, outlines, strict=True)
            ],
            bundles,
        ),
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
    )


def _room_mm2(bed: Bed, clearance_mm: float, edge_mm: float) -> float:
    """Return an upper bound of the area that grown parts can cover on a bed."""
    inside = shapely.box(edge_mm, edge_mm, bed.width_mm - edge_mm, bed.depth_mm - edge_mm)
    free = inside.difference(shapely.union_all(list(keep_out_regions(bed))))
    grown = rounded_outside(free, clearance_mm / 2) if clearance_mm else free
    return float(grown.area)


def _allowed(item: Item, outline: Outline, beds: Sequence[Bed], edge_mm: float) -> frozenset[int]:
    """Return the beds on which an item might lie, judged by its extents in every turn."""
    extents = outline.extents_mm(item.rotations_deg)
    return frozenset(
        number
        for number, bed in enumerate(beds)
        if item.height_mm <= bed.height_mm
        and item.seconds <= bed.limit_s
        and item.grams <= bed.limit_g
        and item.parts <= bed.limit_parts
        and bool(
            (
                (extents[:, 0] <= bed.width_mm - 2 * edge_mm + 1e-6)
                & (extents[:, 1] <= bed.depth_mm - 2 * edge_mm + 1e-6)
            ).any()
        )
    )


def _where_all_may(
    allowed: Sequence[frozenset[int]], bundles: Sequence[frozenset[int]]
) -> tuple[frozenset[int], ...]:
    """Leave to what must share a plate only the beds that suit all of it, if there are any."""
    own = list(allowed)
    for bundle in bundles:
        common = frozenset.intersection(*(allowed[item] for item in bundle)) if bundle else ()
        if common:
            for item in bundle:
                own[item] = frozenset(common)
    return tuple(own)


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
