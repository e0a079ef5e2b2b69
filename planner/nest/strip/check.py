"""An exact second opinion on a strip packing, with shapely alone: `verify` on one long bed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.nest.model import Bed, PackedPlate, Packing
from planner.nest.verify import verify

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Item
    from planner.nest.strip.model import StripPacking


def check_strip(
    strip: StripPacking,
    items: Sequence[Item],
    *,
    depth_mm: float,
    clearance_mm: float,
    edge_mm: float,
) -> tuple[str, ...]:
    """Return everything that is wrong with a strip packing, in words; nothing if it is good."""
    bed = Bed(id="strip", width_mm=strip.length_mm, depth_mm=depth_mm)
    plate = PackedPlate(bed="strip", placements=strip.placements, fill=strip.density)
    one = Packing(plates=(plate,), unplaced=(), lower_bound=1, bound_by="area")
    return verify(one, items, [bed], clearance_mm, edge_mm)
