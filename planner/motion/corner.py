"""How fast a corner may be taken: three models in use, one class each, all vectorised.

Directions are unit vectors by axis, shape (k, n): rows x, y, z and, where known, the strand
(mm of filament per mm of path). Results have n - 1 values, one for each corner between
neighbours: the square of the highest speed, in mm2/s2. The parameter of a model is a number,
or an array with one value per move, of which that of the move after the corner counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CornerSpeed:
    """A right-angled corner is taken at `speed_mm_s`; other angles as a rounded corner would be.

    The rounding is the circle of `JunctionDeviation`, sized for the right angle, so
    v^2 = c^2 (sqrt 2 - 1) s / (1 - s) with s = sin(t / 2); acceleration drops out.
    """

    speed_mm_s: float | Floats

    def squared(self, directions: Floats, acceleration_mm_s2: Floats) -> Floats:
        """Highest speed squared at each corner, in mm2/s2, shape (n - 1,)."""
        _ = acceleration_mm_s2
        return _times(np.square(_after(self.speed_mm_s)) * (sqrt(2.0) - 1.0), directions)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JunctionDeviation:
    """The corner is rounded by a circle that leaves it by `deviation_mm`.

    R = d s / (1 - s), v^2 = a R, with s = sin(t / 2) and t the angle between the two moves
    (180 degrees: straight on). Source: S. K. Jeon, note on a cornering algorithm,
    24 September 2011. The lower acceleration of the two moves counts.
    """

    deviation_mm: float | Floats

    def squared(self, directions: Floats, acceleration_mm_s2: Floats) -> Floats:
        """Highest speed squared at each corner, in mm2/s2, shape (n - 1,)."""
        gain = np.minimum(acceleration_mm_s2[1:], acceleration_mm_s2[:-1])
        return _times(gain * _after(self.deviation_mm), directions)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpeedStep:
    """No axis may change its speed at a corner by more than its step, in mm/s.

    One step (or array of steps) per row of the directions; rows without a step are free.
    """

    step_mm_s: tuple[float | Floats, ...]

    def squared(self, directions: Floats, acceleration_mm_s2: Floats) -> Floats:
        """Highest speed squared at each corner, in mm2/s2, shape (n - 1,)."""
        _ = acceleration_mm_s2
        least = np.full(directions.shape[1] - 1, np.inf)
        for axis, step in zip(directions, self.step_mm_s, strict=False):
            change = np.abs(np.diff(axis))
            change[change == 0.0] = np.nan  # no turn, no limit: fmin passes over NaN
            np.fmin(least, _after(step) / change, out=least)
        return np.square(least)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strictest:
    """Several models at once: at each corner the lowest speed counts."""

    models: tuple[CornerSpeed | JunctionDeviation | SpeedStep, ...]

    def squared(self, directions: Floats, acceleration_mm_s2: Floats) -> Floats:
        """Highest speed squared at each corner, in mm2/s2, shape (n - 1,)."""
        least = np.full(directions.shape[1] - 1, np.inf)
        for model in self.models:
            np.minimum(least, model.squared(directions, acceleration_mm_s2), out=least)
        return least


Corner = CornerSpeed | JunctionDeviation | SpeedStep | Strictest


def roundness(directions: Floats) -> Floats:
    """Return s / (1 - s) at each corner: infinite straight on, 0 in a reversal.

    With s = |p + q| / 2 for unit vectors p, q the quotient is s (1 + s) / (|p - q|^2 / 4): no
    difference of nearly equal numbers, so nearly straight corners keep all their digits.
    """
    total = np.zeros(directions.shape[1] - 1)
    change = np.zeros(directions.shape[1] - 1)
    for axis in directions[:3]:
        before, after = axis[:-1], axis[1:]
        total += np.square(before + after)
        change += np.square(before - after)
    half = 0.5 * np.sqrt(total)
    with np.errstate(divide="ignore"):
        return np.asarray(4.0 * half * (1.0 + half) / change, dtype=np.float64)


def _after(value: float | Floats) -> float | Floats:
    return value[1:] if isinstance(value, np.ndarray) else value


def _times(own: float | Floats, directions: Floats) -> Floats:
    """Return own x roundness; a model that allows no speed (0) allows none straight on either."""
    with np.errstate(invalid="ignore"):
        return np.fmax(own * roundness(directions), 0.0)
