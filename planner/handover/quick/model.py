"""A quick estimate: ranges, since no plate has been packed and no printer chosen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

Range = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartEstimate:
    """All copies of one part, spares included.

    `per_plate` is how many surely lie on the best bed in rows; 0 if it lies on none. Hours are
    those of full plates of this part alone, heating and the wait for cooling shared out.
    """

    part: str
    copies: int
    material: str
    colour: str | None
    grams: float
    grams_range: Range
    print_s: float
    print_range_s: Range
    per_plate: int
    cost: float
    cost_range: Range


@dataclass(frozen=True, slots=True, kw_only=True)
class QuickEstimate:
    """Sums over the parts. `plates` is (least possible, likely, enough for one kind each).

    `print_s` adds up all printers' hours: the weekend is shorter with several of them.
    `reasons` say what the ranges come from; `not_counted` parts that no printer takes.
    """

    parts: tuple[PartEstimate, ...]
    filament_g: float
    filament_range_g: Range
    filament_g_by_material: Mapping[str, float]
    print_s: float
    print_range_s: Range
    plates: tuple[int, int, int]
    cost: float
    cost_range: Range
    currency: str
    reasons: tuple[str, ...]
    not_counted: tuple[str, ...]
