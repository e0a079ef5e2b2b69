"""Plates that hold something before the search begins: copies that a person has laid.

To the search such a plate is a bed of its own, there once, with the pinned copies in the way
and smaller limits.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shapely import affinity

from planner.nest.model import PackedPlate, Placement
from planner.nest.sequence import order_key
from planner.nest.shape import grown_region, region, turned_region
from planner.nest.terms import Standing
from planner.nest.verify import wrong_on_plate

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.nest.model import Bed, Item, Pin, Wishes
    from planner.nest.shape import Region


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedPlate:
    """A plate with copies that stay where they are; `number` is the plate's, None for any."""

    number: int | None
    bed: int
    placements: tuple[Placement, ...]

    @property
    def copies(self) -> Counter[str]:
        """How many copies of each item are on it."""
        return Counter(place.id for place in self.placements)


def fixed_plates(beds: Sequence[Bed], wishes: Wishes) -> list[FixedPlate]:
    """Return the plates that a person has begun, in order of their numbers."""
    names = {bed.id: number for number, bed in enumerate(beds)}
    return [
        FixedPlate(
            number=number,
            bed=names[pins[0].bed],
            placements=tuple(_placement(pin) for pin in pins),
        )
        for number in sorted({pin.plate for pin in wishes.pins})
        for pins in [[pin for pin in wishes.pins if pin.plate == number]]
    ]


def wrong_pins(
    items: Sequence[Item],
    beds: Sequence[Bed],
    wishes: Wishes,
    *,
    clearance_mm: float,
    edge_mm: float,
) -> Iterator[tuple[int, str]]:
    """Yield (place in the list of pins, what is wrong) for every pin that breaks a rule.

    Of two pins that do not go together, the later one is named.  All their items and beds are
    known; that is for the caller to see to.
    """
    known = {item.id: item for item in items}
    kinds = {bed.id: bed for bed in beds}
    yield from _wrong_numbers(wishes.pins, known, kinds)
    plates: dict[int, list[Pin]] = {}
    faulty: set[int] = set()
    for place, pin in enumerate(wishes.pins):
        earlier = plates.setdefault(pin.plate, [])
        if earlier and earlier[0].bed != pin.bed:
            yield place, f"plate {pin.plate} on bed {pin.bed}, though it is on {earlier[0].bed}"
            continue
        wrong = _wrong_together([*earlier, pin], known, kinds[pin.bed], clearance_mm, edge_mm)
        wrong = wrong or _wrong_group(pin, earlier, wishes)
        if wrong:
            faulty.add(place)
            yield place, wrong
        else:
            earlier.append(pin)
    yield from (found for found in _wrong_homes(wishes) if found[0] not in faulty)


def found_and_expected(wrong: str) -> tuple[str, str]:
    """Split what is wrong with a pin into what was found and what is expected.

    >>> found_and_expected("tile is 2 mm from the edge, expected 3 mm")
    ('tile is 2 mm from the edge', '3 mm')
    >>> found_and_expected("tile lies on a keep-out")
    ('tile lies on a keep-out', 'a pin that keeps every rule beside those before it')
    """
    found, _, expected = wrong.partition(", expected ")
    return found, expected or "a pin that keeps every rule beside those before it"


def _wrong_numbers(
    pins: Sequence[Pin], known: dict[str, Item], kinds: dict[str, Bed]
) -> Iterator[tuple[int, str]]:
    """Look for more pins of an item than copies, and for more plates than there are."""
    copies: Counter[str] = Counter()
    plates: dict[str, set[int]] = {}
    for place, pin in enumerate(pins):
        copies[pin.id] += 1
        if copies[pin.id] > known[pin.id].quantity:
            yield place, f"copy {copies[pin.id]} of {pin.id}; wanted: {known[pin.id].quantity}"
        own = plates.setdefault(pin.bed, set())
        own.add(pin.plate)
        count = kinds[pin.bed].count
        if count is not None and len(own) > count:
            yield place, f"plate {len(own)} on bed {pin.bed}, of which there are {count}"


def _wrong_together(
    pins: Sequence[Pin], known: dict[str, Item], bed: Bed, clearance_mm: float, edge_mm: float
) -> str:
    """Return the first fault of a plate that holds these pins and nothing else."""
    placements = [_placement(pin) for pin in pins]
    items = [known[pin.id] for pin in pins]
    if bed.head is not None:
        placements = in_order(placements, items, bed, clearance_mm)
    plate = PackedPlate(bed=bed.id, placements=tuple(placements), fill=0.0)
    wrong = wrong_on_plate(plate, bed, items, clearance_mm, edge_mm)
    return wrong[0] if wrong else ""


def _wrong_group(pin: Pin, earlier: Sequence[Pin], wishes: Wishes) -> str:
    for group in wishes.apart:
        other = next((e.id for e in earlier if e.id != pin.id and {e.id, pin.id} <= set(group)), "")
        if other:
            return f"{pin.id} on a plate with {other}, which must be apart"
    return ""


def _wrong_homes(wishes: Wishes) -> Iterator[tuple[int, str]]:
    """Look for groups that must share a plate and are pinned on several."""
    for group in wishes.together:
        homes: dict[int, str] = {}
        for place, pin in enumerate(wishes.pins):
            if pin.id in group:
                homes.setdefault(pin.plate, pin.id)
                first = next(iter(homes))
                if pin.plate != first:
                    other = f"{homes[first]} is on plate {first} and they must be together"
                    yield place, f"{pin.id} on plate {pin.plate}, though {other}"


def in_order(
    placements: Sequence[Placement], items: Sequence[Item], bed: Bed, clearance_mm: float
) -> list[Placement]:
    """Return the placements in the order in which they are printed, each with its number."""
    if bed.head is None:
        return list(placements)
    head = bed.head
    keys = []
    for place, item in zip(placements, items, strict=True):
        low = grown_region(laid_region(item, place), clearance_mm / 2).bounds
        keys.append(order_key(head, item.height_mm, low[0], low[1]))
    order = sorted(range(len(keys)), key=lambda at: keys[at])
    return [replace(placements[at], order=turn) for turn, at in enumerate(order, start=1)]


def standing_on(plate: FixedPlate, known: dict[str, Item]) -> tuple[Standing, ...]:
    """Return what stands on a fixed plate."""
    return tuple(
        Standing(region=laid_region(known[p.id], p), height_mm=known[p.id].height_mm)
        for p in plate.placements
    )


def begun(plate: FixedPlate, beds: Sequence[Bed], known: dict[str, Item]) -> Bed:
    """Return the bed that a fixed plate is to the search: there once, with what limits leave."""
    bed, items = beds[plate.bed], [known[place.id] for place in plate.placements]
    return replace(
        bed,
        count=1,
        limit_s=bed.limit_s - sum(item.seconds for item in items),
        limit_g=bed.limit_g - sum(item.grams for item in items),
        limit_parts=bed.limit_parts - sum(item.parts for item in items),
    )


def laid_region(item: Item, place: Placement) -> Region:
    """Return what a copy covers on its bed."""
    turned = turned_region(region(item.footprint), place.rotation_deg)
    laid: Region = affinity.translate(turned, place.x_mm, place.y_mm)
    return laid


def _placement(pin: Pin) -> Placement:
    return Placement(id=pin.id, x_mm=pin.x_mm, y_mm=pin.y_mm, rotation_deg=pin.rotation_deg)
