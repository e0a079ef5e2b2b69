"""Time of a straight move: speed up, cruise, slow down, all at one acceleration.

Pure kinematics, vectorised: scalars or arrays of one common (broadcast) shape. The same
relations stand in the planning notes of open CNC motion planners (distance to change
speed (v1^2 - v0^2) / 2a; peak speed of a move too short to cruise).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

_SLACK = 1e-9
"""Relative rounding allowed before a change of speed counts as impossible."""


def seconds(
    length_mm: ArrayLike,
    *,
    speed_mm_s: ArrayLike,
    acceleration_mm_s2: ArrayLike,
    entry_mm_s: ArrayLike = 0.0,
    exit_mm_s: ArrayLike = 0.0,
) -> Floats:
    """Time of moves of `length_mm`, in s, in the broadcast shape of the arguments.

    Entry and exit speeds are cut down to `speed_mm_s`. Lengths of 0 take no time.
    Raises ValueError where entry and exit speeds differ by more than the length allows.

    >>> float(seconds(100, speed_mm_s=100, acceleration_mm_s2=1000))
    1.1
    """
    length, speed, gain, entry, leave = np.broadcast_arrays(
        *(
            np.asarray(value, dtype=np.float64)
            for value in (length_mm, speed_mm_s, acceleration_mm_s2, entry_mm_s, exit_mm_s)
        )
    )
    entry, leave = np.minimum(entry, speed), np.minimum(leave, speed)
    _refuse_impossible(length, gain, entry, leave)
    peak = np.minimum(speed, peak_mm_s(length, gain, entry, leave))
    ramps_s = (2.0 * peak - entry - leave) / gain
    ramps_mm = (2.0 * peak**2 - entry**2 - leave**2) / (2.0 * gain)
    cruise_mm = np.maximum(length - ramps_mm, 0.0)
    return np.where(length > 0.0, ramps_s + cruise_mm / peak, 0.0)


def peak_mm_s(
    length_mm: Floats, acceleration_mm_s2: Floats, entry_mm_s: Floats, exit_mm_s: Floats
) -> Floats:
    """Highest speed a move could reach: sqrt(a L + (v0^2 + v1^2) / 2), never under either end.

    A length of 0 from rest to rest gives the smallest positive number, so that it can divide.
    """
    peak = np.sqrt(acceleration_mm_s2 * length_mm + (entry_mm_s**2 + exit_mm_s**2) / 2.0)
    return np.maximum(np.maximum(peak, np.maximum(entry_mm_s, exit_mm_s)), np.finfo(float).tiny)


def _refuse_impossible(length: Floats, gain: Floats, entry: Floats, leave: Floats) -> None:
    change = np.abs(entry**2 - leave**2)
    room = 2.0 * gain * length
    if np.any((length > 0.0) & (change > room * (1.0 + _SLACK))):
        raise ValueError("entry and exit speeds differ by more than the length allows")
