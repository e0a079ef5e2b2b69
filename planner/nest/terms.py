"""What holds on plates besides the shapes: who may share one, and what lies there already.

The search knows nothing of it.  A plate with pinned copies is a bed of its own to it: one that
is there once, with less room, and with smaller limits.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.nest.shape import Region


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """A pinned copy: where it lies on its bed (mm from the front left), and how tall it is."""

    region: Region
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Terms:
    """Items and beds go by their numbers.

    `rivals` maps an item to those that must not share a plate with it, `standing` a bed to the
    copies pinned on it; `barred` are (item, bed) that do not go together.
    """

    rivals: Mapping[int, frozenset[int]] = field(default_factory=dict)
    standing: Mapping[int, tuple[Standing, ...]] = field(default_factory=dict)
    barred: frozenset[tuple[int, int]] = frozenset()


NO_TERMS = Terms()
