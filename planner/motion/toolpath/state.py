"""What holds from one piece of a file to the next: modes, positions, limits, tallies."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf, nan
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

AXES = ("X", "Y", "Z", "E")

_START: dict[str, float] = {
    "motion": nan,  # G0 to G3; NaN: none yet
    "relative": 0.0,  # G90, G91
    "unit": 1.0,  # mm per unit: G20, G21
    "plane": 17.0,
    "strand relative": 0.0,  # M82, M83
    "strand follows": 0.0,  # 1 after G91 until G90 or M82
    "strand unit": 1.0,  # mm of strand per unit of E, beside inch
    "feed": nan,  # mm/s
    "feed share": 1.0,  # M220
    "flow share": 1.0,  # M221
    "gain laying": inf,
    "gain travel": inf,
    "gain strand": inf,
    "deviation": inf,
    "pulled": 0.0,  # G10, G11
    "pull length": nan,
    "pull speed": nan,
    "rest": 1.0,  # the next move starts from standstill
    **dict.fromkeys(("X", "Y", "Z", "E", "X origin", "Y origin", "Z origin"), 0.0),
    **{f"{what} {axis}": inf for what in ("gain", "speed", "step") for axis in AXES},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """Registers by name, the strand's position and furthest position so far, and tallies.

    `tally` counts words that are not understood, with the first line of each; `notes` maps an
    assumption to the first line where it mattered; `facts` holds single numbers (temperatures,
    counts). A lenient reader notes the lines of moves without a feed (fact "no feed") and lets
    them run free, where a strict one refuses them.
    """

    registers: Mapping[str, float] = field(default_factory=lambda: dict(_START))
    strand_mm: float = 0.0
    furthest_mm: float = 0.0
    tally: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    notes: Mapping[str, int] = field(default_factory=dict)
    facts: Mapping[str, float] = field(default_factory=dict)
    tools: frozenset[int] = frozenset()
    lenient: bool = False
