"""Moves under their limits, ready for the look-ahead: length, speed, acceleration, corner."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.limits import cap_by_axis, cap_by_flow

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.limits import Limits

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Legs:
    """Moves as the look-ahead sees them: arrays (n,), lengths above 0.

    `corner_squared` is the limit on the squared speed at the start of each move, in mm2/s2;
    the first is the speed of arrival, 0 from rest.
    """

    length_mm: Floats
    speed_mm_s: Floats
    acceleration_mm_s2: Floats
    corner_squared: Floats

    def __len__(self) -> int:
        return len(self.length_mm)

    def then(self, later: Legs) -> Legs:
        """Return these moves followed by others."""
        return Legs(
            length_mm=np.append(self.length_mm, later.length_mm),
            speed_mm_s=np.append(self.speed_mm_s, later.speed_mm_s),
            acceleration_mm_s2=np.append(self.acceleration_mm_s2, later.acceleration_mm_s2),
            corner_squared=np.append(self.corner_squared, later.corner_squared),
        )

    def part(self, start: int, stop: int | None = None) -> Legs:
        """Return moves from `start` up to `stop`, as views."""
        return Legs(
            length_mm=self.length_mm[start:stop],
            speed_mm_s=self.speed_mm_s[start:stop],
            acceleration_mm_s2=self.acceleration_mm_s2[start:stop],
            corner_squared=self.corner_squared[start:stop],
        )


def legs_of(
    travel_mm: Floats,
    *,
    speed_mm_s: Floats,
    acceleration_mm_s2: Floats,
    limits: Limits,
    rests: Bools | None = None,
) -> Legs:
    """Apply limits to moves that all go somewhere; `rests`, (n,), marks starts from standstill.

    `travel_mm` is (2 to 4, n), by axis: x, y, z and the strand's feed. A move of the strand
    alone is as long as the strand it moves, and starts and ends at rest.
    """
    if not travel_mm.shape[1]:
        return Legs(**dict.fromkeys(Legs.__slots__, np.empty(0)))
    length, directions, alone = _directions(travel_mm)
    gain = cap_by_axis(
        acceleration_mm_s2,
        directions,
        (*limits.acceleration_mm_s2, limits.strand_acceleration_mm_s2),
    )
    speed = cap_by_axis(speed_mm_s, directions, (*limits.speed_mm_s, limits.strand_speed_mm_s))
    if len(directions) == 4:
        speed = cap_by_flow(speed, directions, limits.flow_max_mm3_s, limits.strand_mm2)
    corner = np.zeros(len(length))
    corner[1:] = limits.corner.squared(directions, gain)
    np.minimum(corner[1:], np.square(np.minimum(speed[1:], speed[:-1])), out=corner[1:])
    if alone is not None:
        corner[alone] = 0.0
        corner[1:][alone[:-1]] = 0.0
    if rests is not None:
        corner[rests] = 0.0
    return Legs(length_mm=length, speed_mm_s=speed, acceleration_mm_s2=gain, corner_squared=corner)


def _directions(travel: Floats) -> tuple[Floats, Floats, Bools | None]:
    """Length (n,), unit vectors (k, n), and which moves are of the strand alone (None: none)."""
    length = np.square(travel[0])
    for axis in travel[1:3]:
        length += np.square(axis)
    np.sqrt(length, out=length)
    if len(travel) < 4:
        return length, travel / length, None
    alone = length == 0.0
    if not alone.any():
        return length, travel / length, None
    length[alone] = np.abs(travel[3][alone])
    return length, travel / length, alone
