"""The packing problem and its answer; lengths in mm, turns in degrees, counter-clockwise."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from planner.settings.model import Head, Patch, Rectangle
    from planner.solid.model import Footprint


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Item:
    """A shape to be laid `quantity` times; `seconds` and `grams` are per copy.

    `priority`: lower goes on earlier plates (the part's stage). `height_mm` is carried for
    beds with a lower roof, and for printing one part after the other.  With `free_turns` any
    turn is allowed and `rotations_deg` are merely those that the search tries, so no bound may
    rest on them.  `parts` is how many parts a copy counts for on a plate.
    """

    id: str
    footprint: Footprint
    quantity: int
    rotations_deg: tuple[float, ...] = (0.0, 90.0, 180.0, 270.0)
    seconds: float = 0.0
    grams: float = 0.0
    height_mm: float = 0.0
    priority: int = 0
    free_turns: bool = False
    parts: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """A kind of plate. `count` is how many there are, None for as many as needed.

    `limit_s`, `limit_g` and `limit_parts` cap the summed seconds and grams and the number of
    parts of one plate.  With a `head` parts are printed one after the other, and the head must
    reach each without touching those that are finished (see `planner.nest.sequence`).
    `preferred_mm` is the point that parts shall be near if there is a choice; None: the middle.
    """

    id: str
    width_mm: float
    depth_mm: float
    keep_out: tuple[Rectangle, ...] = ()
    count: int | None = None
    height_mm: float = inf
    limit_s: float = inf
    limit_g: float = inf
    limit_parts: float = inf
    keep_out_patches: tuple[Patch, ...] = ()
    head: Head | None = None
    preferred_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """One copy on a plate: turn the footprint about its own origin, then move it.

    (x, y) is where the footprint's origin (its own 0, 0) lands, from the bed's front left.
    `order` is its turn, from 1, on a plate that is printed one part after the other.
    """

    id: str
    x_mm: float
    y_mm: float
    rotation_deg: float
    order: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A copy that a person has laid: it stays where it is, and the rest is packed around it.

    Pins of the same `plate`, a number from 1, lie on one plate, which keeps that number if
    there are so many.  x, y and turn are as in `Placement`.
    """

    plate: int
    bed: str
    id: str
    x_mm: float
    y_mm: float
    rotation_deg: float


Placing = Literal["compact", "centre", "spread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What a person asks for besides few plates; groups are of item ids.

    All copies of the items `together` lie on one plate, whichever it is; no two items of a
    group `apart` share a plate, though copies of one of them may.  `placing` never costs a
    plate: compact leaves parts as close as they were packed, centre draws them to the
    preferred point of the bed, spread sets them as far from each other as there is room.
    """

    together: tuple[tuple[str, ...], ...] = ()
    apart: tuple[tuple[str, ...], ...] = ()
    pins: tuple[Pin, ...] = ()
    placing: Placing = "compact"


NO_WISHES = Wishes()


@dataclass(frozen=True, slots=True, kw_only=True)
class NestProblem:
    """All that a packing starts from."""

    items: tuple[Item, ...]
    beds: tuple[Bed, ...]
    clearance_mm: float
    edge_mm: float
    wishes: Wishes = NO_WISHES


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
