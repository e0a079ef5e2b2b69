"""The second opinion on what a person asked for: groups and pins."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.nest.model import PackedPlate, Packing, Pin, Placement, Wishes


def wrong_groups(packing: Packing, wishes: Wishes) -> Iterator[str]:
    """Say which groups are on several plates, and which share one though they must not."""
    held = [{place.id for place in plate.placements} for plate in packing.plates]
    for group in wishes.together:
        where = [number for number, names in enumerate(held, start=1) if names & set(group)]
        if len(where) > 1:
            yield f"{' and '.join(group)} lie on plates {where}, expected one plate"
    for group in wishes.apart:
        for number, names in enumerate(held, start=1):
            both = [name for name in dict.fromkeys(group) if name in names]
            if len(both) > 1:
                yield f"plate {number}: {' and '.join(both)} share a plate, expected not to"


def wrong_pins(packing: Packing, wishes: Wishes) -> Iterator[str]:
    """Say which pinned copies are not where they were pinned, each pin answered by one copy."""
    numbers = sorted({pin.plate for pin in wishes.pins})
    free = list(range(len(packing.plates)))
    for number in numbers:
        pins = [pin for pin in wishes.pins if pin.plate == number]
        asked = number - 1
        order = [asked, *free] if asked in free else free
        found = next((place for place in order if _holds(packing.plates[place], pins)), None)
        if found is None:
            yield f"no plate holds every copy pinned on plate {number}"
        else:
            free.remove(found)
            if number <= len(packing.plates) and found != asked:
                yield f"the pins of plate {number} are on plate {found + 1}"


def _holds(plate: PackedPlate, pins: Sequence[Pin]) -> bool:
    """Say whether each pin is answered by a copy of its own."""
    left = list(plate.placements)
    for pin in pins:
        match = next((place for place in left if plate.bed == pin.bed and _same(place, pin)), None)
        if match is None:
            return False
        left.remove(match)
    return True


def _same(place: Placement, pin: Pin) -> bool:
    return place.id == pin.id and (place.x_mm, place.y_mm, place.rotation_deg) == (
        pin.x_mm,
        pin.y_mm,
        pin.rotation_deg,
    )
