"""The answer of a strip packing; lengths in mm, turns in degrees, counter-clockwise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.nest.model import Placement


@dataclass(frozen=True, slots=True, kw_only=True)
class StripPacking:
    """All copies in a strip: x runs along it from 0 to `length_mm`, y from 0 to the depth.

    `density` is the share of the strip that the parts cover (0-1); no packing is shorter than
    `lower_bound_mm`.
    """

    length_mm: float
    placements: tuple[Placement, ...]
    density: float
    lower_bound_mm: float
