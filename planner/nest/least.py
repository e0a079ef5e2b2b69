"""The bound with what only a person knows: plates that are begun already."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.nest.bound import Bound, lower_bound
from planner.nest.model import NO_WISHES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Bed, Item, Wishes


def least_plates(
    items: Sequence[Item],
    beds: Sequence[Bed],
    *,
    clearance_mm: float,
    edge_mm: float,
    wishes: Wishes = NO_WISHES,
) -> Bound:
    """Return how few plates could do at best: `lower_bound`, or those that pins ask for."""
    needed = lower_bound(items, beds, clearance_mm=clearance_mm, edge_mm=edge_mm, wishes=wishes)
    begun = len({pin.plate for pin in wishes.pins})
    if begun > needed.plates:
        return Bound(plates=begun, by="plates on which copies are pinned")
    return needed
