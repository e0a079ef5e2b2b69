"""An exact second opinion on a packing, with shapely alone.

Nothing of the search is used: the footprints are turned and moved anew and measured against
each other, the bed and the keep-outs.  The clearance holds between parts; the edge margin
between a part and the edge of the bed.  A keep-out is forbidden ground for the part itself: no
clearance is asked around it, since whoever marks the place marks all of it.  Limits, groups, pins
and the order of printing one after the other are looked at as well.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from planner.nest.model import NO_WISHES
from planner.nest.verify_sequence import wrong_order
from planner.nest.verify_wishes import wrong_groups, wrong_pins

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.nest.model import Bed, Item, PackedPlate, Packing, Placement, Wishes

TOLERANCE_MM = 1e-6


def verify(
    packing: Packing,
    items: Sequence[Item],
    beds: Sequence[Bed],
    clearance_mm: float,
    edge_mm: float,
    *,
    wishes: Wishes = NO_WISHES,
) -> tuple[str, ...]:
    """Return everything that is wrong with a packing, in words; nothing if it is good."""
    shapes = {item.id: _shape(item) for item in items}
    known = {item.id: item for item in items}
    kinds = {bed.id: bed for bed in beds}
    found = list(_wrong_counts(packing, items, beds))
    found += [*wrong_groups(packing, wishes), *wrong_pins(packing, wishes)]
    for number, plate in enumerate(packing.plates, start=1):
        where = f"plate {number} ({plate.bed})"
        strange = sorted({place.id for place in plate.placements} - known.keys())
        if plate.bed not in kinds or strange:
            found.append(f"{where}: unknown bed or items {strange}")
            continue
        laid = [_laid(shapes[place.id], place) for place in plate.placements]
        wrong = _wrong_on(
            plate,
            kinds[plate.bed],
            laid,
            known,
            clearance_mm=clearance_mm,
            edge_mm=edge_mm,
        )
        found += [f"{where}: {text}" for text in wrong]
    return tuple(found)


def wrong_on_plate(
    plate: PackedPlate, bed: Bed, items: Sequence[Item], clearance_mm: float, edge_mm: float
) -> tuple[str, ...]:
    """Return what is wrong with one plate by itself; its items are among those given."""
    known = {item.id: item for item in items}
    shapes = {name: _shape(known[name]) for name in sorted({p.id for p in plate.placements})}
    laid = [_laid(shapes[place.id], place) for place in plate.placements]
    return tuple(_wrong_on(plate, bed, laid, known, clearance_mm=clearance_mm, edge_mm=edge_mm))


def _wrong_on(
    plate: PackedPlate,
    bed: Bed,
    laid: Sequence[shapely.Geometry],
    known: dict[str, Item],
    *,
    clearance_mm: float,
    edge_mm: float,
) -> Iterator[str]:
    yield from _wrong_turns(plate, known)
    yield from _wrong_places(plate, bed, laid, edge_mm)
    yield from _wrong_gaps(plate, laid, clearance_mm)
    yield from _wrong_limits(plate, bed, known)
    if bed.head is not None:
        items = [known[place.id] for place in plate.placements]
        yield from wrong_order(plate.placements, laid, items, bed.head, tolerance_mm=TOLERANCE_MM)


def _shape(item: Item) -> shapely.Geometry:
    parts = [shapely.Polygon(rings[0], rings[1:]) for rings in item.footprint.polygons_mm]
    return shapely.union_all(
        [part if part.is_valid else shapely.make_valid(part) for part in parts]
    )


def _laid(shape: shapely.Geometry, place: Placement) -> shapely.Geometry:
    turned = affinity.rotate(shape, place.rotation_deg, origin=(0.0, 0.0))
    return affinity.translate(turned, place.x_mm, place.y_mm)


def _wrong_counts(packing: Packing, items: Sequence[Item], beds: Sequence[Bed]) -> Iterator[str]:
    laid = Counter(place.id for plate in packing.plates for place in plate.placements)
    left = Counter({name: count for name, count, _ in packing.unplaced})
    for item in items:
        if laid[item.id] + left[item.id] != item.quantity:
            yield (
                f"{item.id}: {laid[item.id]} laid and {left[item.id]} left over, "
                f"expected {item.quantity} in all"
            )
    used = Counter(plate.bed for plate in packing.plates)
    for bed in beds:
        if bed.count is not None and used[bed.id] > bed.count:
            yield f"{used[bed.id]} plates on bed {bed.id}, expected at most {bed.count}"


def _wrong_turns(plate: PackedPlate, known: dict[str, Item]) -> Iterator[str]:
    for place in plate.placements:
        item = known[place.id]
        if not item.free_turns and place.rotation_deg not in item.rotations_deg:
            yield f"{place.id} is turned by {place.rotation_deg:g} degrees, which is not allowed"


def _wrong_places(
    plate: PackedPlate, bed: Bed, laid: Sequence[shapely.Geometry], edge_mm: float
) -> Iterator[str]:
    for place, shape in zip(plate.placements, laid, strict=True):
        low_x, low_y, high_x, high_y = shape.bounds
        inside = min(low_x, low_y, bed.width_mm - high_x, bed.depth_mm - high_y)
        if inside < edge_mm - TOLERANCE_MM:
            yield f"{place.id} is {inside:.6f} mm from the edge, expected {edge_mm:g} mm"
        if any(_overlap(shape, area) for area in _keep_outs(bed)):
            yield f"{place.id} lies on a keep-out"


def _keep_outs(bed: Bed) -> list[shapely.Geometry]:
    boxes = [shapely.box(a.x_min_mm, a.y_min_mm, a.x_max_mm, a.y_max_mm) for a in bed.keep_out]
    return boxes + [shapely.Polygon(patch.points_mm) for patch in bed.keep_out_patches]


def _wrong_gaps(
    plate: PackedPlate, laid: Sequence[shapely.Geometry], clearance_mm: float
) -> Iterator[str]:
    if len(laid) < 2:
        return
    shapes = np.array(laid, dtype=object)
    first, second = shapely.STRtree(shapes).query(
        shapes, predicate="dwithin", distance=clearance_mm
    )
    once = first < second
    first, second = first[once], second[once]
    gaps = shapely.distance(shapes[first], shapes[second])
    for one, other, gap in zip(first.tolist(), second.tolist(), gaps.tolist(), strict=True):
        names = f"{plate.placements[one].id} and {plate.placements[other].id}"
        if gap == 0 and _overlap(laid[one], laid[other]):
            yield f"{names} overlap"
        elif gap < clearance_mm - TOLERANCE_MM:
            yield f"{names} are {gap:.6f} mm apart, expected {clearance_mm:g} mm"


def _overlap(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    """Say whether two regions share more than a film of the tolerance's thickness."""
    film = TOLERANCE_MM * min(one.length, other.length)
    return bool(one.intersection(other).area > film)


def _wrong_limits(plate: PackedPlate, bed: Bed, known: dict[str, Item]) -> Iterator[str]:
    items = [known[place.id] for place in plate.placements]
    for name, total, limit in (
        ("seconds", sum(item.seconds for item in items), bed.limit_s),
        ("grams", sum(item.grams for item in items), bed.limit_g),
        ("parts", sum(item.parts for item in items), bed.limit_parts),
    ):
        if total > limit * (1 + 1e-9):
            yield f"{total:g} {name}, expected at most {limit:g}"
    for item in items:
        if item.height_mm > bed.height_mm:
            yield f"{item.id} is {item.height_mm:g} mm tall, expected at most {bed.height_mm:g} mm"
