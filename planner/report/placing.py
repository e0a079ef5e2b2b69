"""Where a placed part lies: one turn, then one move; drawing and 3MF both ask here."""

from __future__ import annotations

from math import cos, radians, sin
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.nest.model import Placement

QUARTERS = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}


def turn(rotation_deg: float) -> tuple[float, float]:
    """Return (cos, sin) of a turn, exact for quarter turns.

    >>> turn(90.0), turn(-90.0)
    ((0.0, 1.0), (0.0, -1.0))
    """
    quarter = QUARTERS.get(rotation_deg % 360)
    return quarter or (cos(radians(rotation_deg)), sin(radians(rotation_deg)))


def bed_matrix(placement: Placement) -> tuple[float, float, float, float, float, float]:
    """Return (a, b, c, d, e, f) with x' = a x + c y + e and y' = b x + d y + f.

    (x, y) is in the footprint's frame, (x', y') on the bed from its front left, both in mm,
    y to the back; the turn is counter-clockwise seen from above.
    """
    c, s = turn(placement.rotation_deg)
    return c, s, -s, c, placement.x_mm, placement.y_mm


def screen_matrix(
    placement: Placement, depth_mm: float
) -> tuple[float, float, float, float, float, float]:
    """Return the same for a drawing whose y runs down from the back of a bed `depth_mm` deep."""
    a, b, c, d, e, f = bed_matrix(placement)
    return a, -b, c, -d, e, depth_mm - f
