"""The answer written as plain data for JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.nest.model import Packing, Placement

SCHEMA = "platewright/nest/1"


def nest_document(packing: Packing) -> dict[str, Any]:
    """Return the packing as plain data for JSON.

    A placement says: turn the outline counter-clockwise about its own origin (0, 0) by
    `rotation_deg`, then move that origin to (`x_mm`, `y_mm`), from the bed's front left.  On a
    plate that is printed one part after the other, `order` counts from 1.  `gap` is by how many
    plates the answer may be improved at most; `proven` says that it is none.
    """
    gap = len(packing.plates) - packing.lower_bound
    return {
        "schema": SCHEMA,
        "plates": [
            {
                "bed": plate.bed,
                "placements": [_placement(place) for place in plate.placements],
                "fill": plate.fill,
            }
            for plate in packing.plates
        ],
        "unplaced": [
            {"id": name, "quantity": count, "why": why} for name, count, why in packing.unplaced
        ],
        "lower_bound": packing.lower_bound,
        "bound_by": packing.bound_by,
        "gap": gap,
        "proven": gap == 0,
    }


def _placement(place: Placement) -> dict[str, Any]:
    told = {
        "id": place.id,
        "x_mm": place.x_mm,
        "y_mm": place.y_mm,
        "rotation_deg": place.rotation_deg,
    }
    return told if place.order is None else {**told, "order": place.order}
