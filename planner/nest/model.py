"""The packing problem and its answer; lengths in mm, turns in degrees, counter-clockwise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.settings.model import Rectangle
    from planner.solid.model import Footprint


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Item:
    """A shape to be laid `quantity` times; `seconds` and `grams` are per copy.

    `priority`: lower goes on earlier plates (the part's stage). `height_mm` is carried for
    beds with a lower roof.
    """

    id: str
    footprint: Footprint
    quantity: int
    rotations_deg: tuple[float, ...] = (0.0, 90.0, 180.0, 270.0)
    seconds: float = 0.0
    grams: float = 0.0
    height_mm: float = 0.0
    priority: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """A kind of plate. `count` is how many there are, None for as many as needed.

    `limit_s` and `limit_g` cap the summed seconds and grams of one plate.
    """

    id: str
    width_mm: float
    depth_mm: float
    keep_out: tuple[Rectangle, ...] = ()
    count: int | None = None
    height_mm: float = float("inf")
    limit_s: float = float("inf")
    limit_g: float = float("inf")


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """One copy on a plate: turn the footprint about its own origin, then move it.

    (x, y) is where the footprint's origin (its own 0, 0) lands, from the bed's front left.
    """

    id: str
    x_mm: float
    y_mm: float
    rotation_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedPlate:
    """One plate: which bed, what lies where, and the share of the bed it covers (0-1)."""

    bed: str
    placements: tuple[Placement, ...]
    fill: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """The whole answer. `unplaced` maps an item to (copies left over, why).

    `lower_bound` is a number of plates that no packing can beat; `bound_by` says which
    argument gave it.
    """

    plates: tuple[PackedPlate, ...]
    unplaced: tuple[tuple[str, int, str], ...]
    lower_bound: int
    bound_by: str
