"""What one feature takes in one layer, before its thickness is multiplied in."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Plastic of one feature in one layer: covered area, length of line, straight moves."""

    area_mm2: float = 0.0
    length_mm: float = 0.0
    moves: float = 0.0


NONE = Amount()
