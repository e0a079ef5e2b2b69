"""Groups that must share a plate: laid close to each other first, then moved as one.

The search knows them as one item whose outline is that of all its parts.  A group too large
for that is laid straight onto a bed, which the rest is then packed around.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt
from random import Random
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.nest.fill import RULES, fill, shuffled_order
from planner.nest.model import Bed, Item, Placement
from planner.nest.pinned import laid_region
from planner.nest.rough import new_plate
from planner.nest.sequence import order_key
from planner.nest.shape import cos_sin
from planner.nest.spots import placement_of
from planner.nest.table import Table
from planner.nest.terms import Terms
from planner.settings.model import Head
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.plate import Plate
    from planner.nest.terms import Standing

_DENSE = (0.85, 0.7, 0.55, 0.4)
"""Shares of a box that a group is tried to fill, and its sides; our own choice."""
_SIDES = (1.0, 1.6, 2.5, 1 / 1.6, 1 / 2.5)
_TRIES = 24
_SAME_DEG = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    """Copies that move as one: `item` stands for them, `members` lie in its frame.

    The members are in the order in which they are printed, should they be so one by one.
    """

    item: Item
    members: tuple[Placement, ...]


def bundled(
    members: Sequence[Item], beds: Sequence[Bed], *, clearance_mm: float, edge_mm: float
) -> Bundle | None:
    """Lay all copies of the members close together; None if no box that suits a bed holds them.

    The smallest of several boxes that holds them all is taken.
    """
    boxes = _boxes(members, beds, clearance_mm, edge_mm)
    if not boxes:
        return None
    table = Table(members, boxes, clearance_mm=clearance_mm, edge_mm=0.0)
    for bed in range(len(boxes)):
        plate = _filled(table, bed, tries=2)
        if plate is not None:
            placements = _placements(table, plate)
            return Bundle(
                item=_whole(members, placements, in_turn=boxes[bed].head is not None),
                members=tuple(placements),
            )
    return None


def laid_on(
    members: Sequence[Item],
    bed: Bed,
    standing: Sequence[Standing] = (),
    *,
    clearance_mm: float,
    edge_mm: float,
) -> tuple[Placement, ...] | None:
    """Lay all copies of the members on one plate of a bed; None if they find no place."""
    table = Table(
        members,
        [bed],
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
        terms=Terms(standing={0: tuple(standing)}),
    )
    plate = _filled(table, 0, tries=_TRIES)
    return None if plate is None else tuple(_placements(table, plate))


def unbundled(bundle: Bundle, place: Placement, known: dict[str, Item]) -> list[Placement]:
    """Return where the members lie once the bundle is laid."""
    cosine, sine = cos_sin(place.rotation_deg)
    return [
        Placement(
            id=member.id,
            x_mm=round(place.x_mm + cosine * member.x_mm - sine * member.y_mm, 9) + 0.0,
            y_mm=round(place.y_mm + sine * member.x_mm + cosine * member.y_mm, 9) + 0.0,
            rotation_deg=_turn_of(known[member.id], member.rotation_deg + place.rotation_deg),
        )
        for member in bundle.members
    ]


def _boxes(
    members: Sequence[Item], beds: Sequence[Bed], clearance_mm: float, edge_mm: float
) -> list[Bed]:
    """Return boxes to try, as beds without margin, smallest first."""
    area = sum(
        item.quantity * shapely.buffer(laid_region(item, _at_origin(item)), clearance_mm / 2).area
        for item in members
    )
    rooms = [(bed.width_mm - 2 * edge_mm, bed.depth_mm - 2 * edge_mm) for bed in beds]
    sizes = [
        (sqrt(area / share * side), sqrt(area / share / side))
        for share in _DENSE
        for side in _SIDES
    ]
    fitting = {
        size
        for size in [*sizes, *rooms]
        if any(0 < size[0] <= room[0] and 0 < size[1] <= room[1] for room in rooms)
    }
    head = _widest_head([bed.head for bed in beds if bed.head is not None])
    return [
        Bed(id=f"box {number}", width_mm=size[0], depth_mm=size[1], head=head)
        for number, size in enumerate(sorted(fitting, key=lambda size: (size[0] * size[1], size)))
    ]


def _widest_head(heads: Sequence[Head]) -> Head | None:
    """Return a head that touches whatever any of the heads touches."""
    if not heads:
        return None
    return Head(
        left_mm=max(head.left_mm for head in heads),
        right_mm=max(head.right_mm for head in heads),
        front_mm=max(head.front_mm for head in heads),
        back_mm=max(head.back_mm for head in heads),
        tip_mm=min(head.tip_mm for head in heads),
        gantry_mm=min((head.gantry_mm for head in heads), default=inf),
    )


def _filled(table: Table, bed: int, *, tries: int) -> Plate | None:
    """Return a plate that holds every copy, or None if no try finds one."""
    random = Random(0)  # noqa: S311  (repeatable, not secret)
    items = range(len(table.items))
    for attempt in range(tries):
        for rule in RULES:
            plate, pool = new_plate(table, bed), [item.quantity for item in table.items]
            spread = 0.3 if attempt else 0.0
            fill(plate, pool, shuffled_order(items, table.area_mm2, random, spread), rule, random)
            if not any(pool):
                return plate
    return None


def _placements(table: Table, plate: Plate) -> list[Placement]:
    """Return the copies on a plate in the order in which they would be printed."""
    head = table.beds[plate.bed].head
    spots = list(plate.spots)
    if head is not None:
        spots.sort(
            key=lambda spot: order_key(head, table.items[spot.item].height_mm, spot.x, spot.y)
        )
    return [placement_of(table, spot) for spot in spots]


def _whole(members: Sequence[Item], placements: Sequence[Placement], *, in_turn: bool) -> Item:
    """Return the item that stands for all copies of the members where they lie.

    If they are to be printed in turn it is not turned: the head does not turn with it.
    """
    known = {item.id: item for item in members}
    shape = shapely.union_all([laid_region(known[p.id], p) for p in placements])
    return Item(
        id="\0" + " + ".join(item.id for item in members),  # no name of a user's has a NUL
        footprint=_footprint(shape),
        quantity=1,
        rotations_deg=(0.0,) if in_turn else _common_turns(known, placements),
        seconds=sum(known[p.id].seconds for p in placements),
        grams=sum(known[p.id].grams for p in placements),
        height_mm=max(item.height_mm for item in members),
        priority=min(item.priority for item in members),
        parts=sum(known[p.id].parts for p in placements),
    )


def _footprint(shape: shapely.Geometry) -> Footprint:
    pieces = shapely.get_parts(shapely.orient_polygons(shape))
    return Footprint(
        polygons_mm=tuple(
            tuple(
                np.asarray(shapely.get_coordinates(ring)[:-1])
                for ring in (piece.exterior, *piece.interiors)
            )
            for piece in pieces
        )
    )


def _common_turns(known: dict[str, Item], placements: Sequence[Placement]) -> tuple[float, ...]:
    """Return the turns of the whole that leave every member in a turn allowed to it."""
    first = placements[0]
    wanted = sorted(
        {round((angle - first.rotation_deg) % 360.0, 9) for angle in known[first.id].rotations_deg}
        | {0.0}
    )
    turns = tuple(
        angle
        for angle in wanted
        if all(_allowed(known[p.id], p.rotation_deg + angle) for p in placements)
    )
    return turns or (0.0,)


def _allowed(item: Item, angle: float) -> bool:
    return item.free_turns or any(_same(angle, own) for own in item.rotations_deg)


def _turn_of(item: Item, angle: float) -> float:
    """Return a turn as the item has it: -90 and 270 degrees are one."""
    match = next((own for own in item.rotations_deg if _same(angle, own)), None)
    return angle % 360.0 if match is None else match


def _same(one: float, other: float) -> bool:
    away = abs(one - other) % 360.0
    return min(away, 360.0 - away) < _SAME_DEG


def _at_origin(item: Item) -> Placement:
    return Placement(id=item.id, x_mm=0.0, y_mm=0.0, rotation_deg=0.0)
