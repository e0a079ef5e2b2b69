"""From the search's layout to plates in millimetres, groups taken apart, pins in their places."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.nest.model import PackedPlate, Placement
from planner.nest.reasons import why_unplaced
from planner.nest.sequence import corner, order_key
from planner.nest.spots import placement_of
from planner.nest.together import unbundled

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.nest.build import Layout, Task
    from planner.nest.model import Item
    from planner.nest.plate import Spot
    from planner.nest.scene import Scene

Key = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Unit:
    """What is printed in one go: a copy, or a bundle; `key` sorts by printing."""

    placements: tuple[Placement, ...]
    key: Key


def plates_of(
    task: Task, layout: Layout, scene: Scene, known: dict[str, Item]
) -> tuple[PackedPlate, ...]:
    """Return the plates: by priority, then fullest first; pinned ones at their numbers."""
    ordered = sorted(
        layout.plates,
        key=lambda plate: (task.mean_priority(plate[1]), -_load_mm2(task, scene, *plate)),
    )
    numbers = {
        scene.kinds + at: plate.number
        for at, plate in enumerate(scene.fixed)
        if plate.number is not None
    }
    plates = [plate for plate in ordered if plate[0] not in numbers]
    for bed, number in sorted(numbers.items(), key=lambda own: own[1]):
        plate = next(own for own in ordered if own[0] == bed)
        plates.insert(number - 1, plate)  # at the end if there are not so many
    return tuple(_packed(task, scene, known, bed, spots) for bed, spots in plates)


def left_over(task: Task, layout: Layout, scene: Scene) -> Iterator[tuple[str, int, str]]:
    """Yield (item, copies, why) for all that the search did not lay."""
    table, usable = task.table, task.usable
    for number, item in enumerate(table.items):
        left = layout.left[number] if usable[number] else item.quantity
        if not left:
            continue
        why = why_unplaced(table, number, usable[number], len(layout.plates), scene.kinds)
        members = scene.members(item.id)
        if item.id not in scene.bundles:
            yield item.id, left, why
            continue
        for name, copies in sorted(members.items()):
            others = " and ".join(other for other in sorted(members) if other != name) or name
            yield name, copies, f"it must share a plate with all of {others}, and {why}"


def _load_mm2(task: Task, scene: Scene, bed: int, spots: Sequence[Spot]) -> float:
    return task.load_mm2(spots) + scene.standing_mm2(bed)


def _packed(
    task: Task, scene: Scene, known: dict[str, Item], bed: int, spots: Sequence[Spot]
) -> PackedPlate:
    table = task.table
    kind = table.beds[bed]
    units = [*_pinned(task, scene, bed), *_laid(task, scene, known, bed, spots)]
    if kind.head is not None:
        units.sort(key=lambda unit: unit.key)
    placements = [place for unit in units for place in unit.placements]
    if kind.head is not None:
        placements = [replace(place, order=turn) for turn, place in enumerate(placements, start=1)]
    covered = sum(table.regions[spot.item].area for spot in spots) + scene.standing_mm2(bed)
    return PackedPlate(
        bed=kind.id,
        placements=tuple(placements),
        fill=round(covered / (kind.width_mm * kind.depth_mm), 6),
    )


def _pinned(task: Task, scene: Scene, bed: int) -> Iterator[_Unit]:
    if bed < scene.kinds:
        return
    head = task.table.beds[bed].head
    standing = task.table.terms.standing[bed]
    for place, copy in zip(scene.fixed[bed - scene.kinds].placements, standing, strict=True):
        at = corner(task.table, copy.region.bounds)
        key = (0.0, 0.0, 0.0) if head is None else order_key(head, copy.height_mm, *at)
        yield _Unit(placements=(place,), key=key)


def _laid(
    task: Task, scene: Scene, known: dict[str, Item], bed: int, spots: Sequence[Spot]
) -> Iterator[_Unit]:
    table = task.table
    head = table.beds[bed].head
    for spot in sorted(spots, key=lambda spot: (spot.item, spot.y, spot.x)):
        place = placement_of(table, spot)
        item = table.items[spot.item]
        key = (0.0, 0.0, 0.0) if head is None else order_key(head, item.height_mm, spot.x, spot.y)
        bundle = scene.bundles.get(item.id)
        whole = (place,) if bundle is None else tuple(unbundled(bundle, place, known))
        yield _Unit(placements=whole, key=key)


def copies_laid(plates: Sequence[PackedPlate]) -> Counter[str]:
    """Count the copies of every item."""
    return Counter(place.id for plate in plates for place in plate.placements)
