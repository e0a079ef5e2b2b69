"""Arcs in the xy plane, cut into chords that leave them by no more than a stated height."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

SAGITTA_MM = 0.005
"""Greatest height of an arc over its chord: well under what a printer can show; our choice."""
MOST_CHORDS = 2000
"""In one arc: enough for a full circle of 4 m radius; more is a fault of the file."""

_SAME_MM = 1e-9
"""Ends this near to each other are one point: the arc is a full circle."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arcs:
    """Arcs by centre (2, n), radius at start and end, start angle and signed sweep, in radians."""

    centre_mm: Floats
    radius_mm: Floats
    end_radius_mm: Floats
    angle_rad: Floats
    sweep_rad: Floats

    @property
    def chords(self) -> Ints:
        """Number of chords of each arc; at least 1."""
        radius = np.maximum(np.maximum(self.radius_mm, self.end_radius_mm), SAGITTA_MM)
        most = 2.0 * np.arccos(1.0 - SAGITTA_MM / radius)
        return np.maximum(np.ceil(np.abs(self.sweep_rad) / most - 1e-9), 1.0).astype(np.int64)

    def at(self, index: Ints, share: Floats) -> Floats:
        """Points (2, m) at a share of the way (0 to 1) along the arcs of the given index."""
        radius = self.radius_mm[index]
        radius = radius + share * (self.end_radius_mm[index] - radius)
        angle = self.angle_rad[index] + share * self.sweep_rad[index]
        around = radius * np.stack([np.cos(angle), np.sin(angle)])
        return np.asarray(self.centre_mm[:, index] + around)


def by_centre(start: Floats, end: Floats, offset: Floats, clockwise: Bools) -> Arcs:
    """Arcs from centres `offset` (2, n) away from their start; same ends are a full circle."""
    centre = start + offset
    first, second = start - centre, end - centre
    angle = np.arctan2(first[1], first[0])
    turn = np.mod(np.arctan2(second[1], second[0]) - angle, 2.0 * np.pi)
    turn[(np.abs(end - start) <= _SAME_MM).all(axis=0)] = 2.0 * np.pi
    turn[clockwise & (turn < 2.0 * np.pi)] -= 2.0 * np.pi
    turn[clockwise & (turn == 2.0 * np.pi)] = -2.0 * np.pi
    return Arcs(
        centre_mm=centre,
        radius_mm=np.hypot(*first),
        end_radius_mm=np.hypot(*second),
        angle_rad=angle,
        sweep_rad=turn,
    )


def centre_of(start: Floats, end: Floats, radius: Floats, clockwise: Bools) -> Floats:
    """Offset (2, n) of the centre for a given radius; NaN where the ends are too far apart.

    A positive radius means the shorter way round, a negative one the longer (NISTIR 6556). The
    centre lies beside the middle of the chord, by sqrt(r^2 - chord^2 / 4).
    """
    chord = end - start
    length = np.hypot(*chord)
    room = np.square(radius) - np.square(length) / 4.0
    room[(room < 0.0) & (room > -1e-3 * np.square(radius))] = 0.0  # a half circle, rounded
    with np.errstate(invalid="ignore", divide="ignore"):
        aside = np.sqrt(room) / length
        left = np.where(clockwise == (radius < 0.0), aside, -aside)
        return np.asarray(chord / 2.0 + left * np.stack([-chord[1], chord[0]]))
