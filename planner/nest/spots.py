"""From places on the grid to places in millimetres."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.nest.model import Placement

if TYPE_CHECKING:
    from planner.nest.plate import Spot
    from planner.nest.table import Table


def placement_of(table: Table, spot: Spot) -> Placement:
    """Return where a spot lies on its bed."""
    shift = table.edge_mm - table.clearance_mm / 2
    return Placement(
        id=table.items[spot.item].id,
        x_mm=round(shift + spot.x * table.step_mm + spot.option.origin_mm[0], 9) + 0.0,
        y_mm=round(shift + spot.y * table.step_mm + spot.option.origin_mm[1], 9) + 0.0,
        rotation_deg=spot.option.rotation_deg,
    )
