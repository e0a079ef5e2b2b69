"""Seconds of the paths of a layering: every move by look-ahead, ways between layers apart."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.route import RETRACT_OVER_MM, by_kind, kind_of_point, vectors_mm
from planner.layers.strokes import TRAVEL
from planner.motion.corner import CornerSpeed
from planner.motion.legs import legs_of
from planner.motion.limits import Limits as MachineLimits
from planner.motion.lookahead import run
from planner.motion.trapezoid import seconds

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.layers.limits import Limits
    from planner.layers.model import Paths

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]


def kind_seconds(paths: Paths, holds: Sequence[Limits]) -> Floats:
    """Seconds of each feature in each kind of layer under each of some limits, from rest to rest.

    Returns [limits, kind, feature]; all limits are walked in one go, one after the other.
    """
    count, ways = len(paths.code), len(holds)
    flat = np.zeros(ways * count)
    vectors = np.tile(vectors_mm(paths).T, ways)
    moving = np.flatnonzero(vectors.any(axis=0))
    chain = np.cumsum(np.tile(_breaks(paths), ways))[moving]
    gain, corner = (
        np.repeat([getattr(hold, name) for hold in holds], count)[moving]
        for name in ("acceleration_mm_s2", "corner_mm_s")
    )
    legs = legs_of(
        vectors[:, moving],
        speed_mm_s=np.concatenate([_speeds(paths, hold) for hold in holds])[moving],
        acceleration_mm_s2=gain,
        limits=MachineLimits(
            speed_mm_s=(inf, inf, inf),
            acceleration_mm_s2=(inf, inf, inf),
            corner=CornerSpeed(speed_mm_s=corner),
        ),
        rests=np.diff(chain, prepend=-1) != 0,
    )
    flat[moving] = run(legs)
    spent = flat.reshape(ways, count)
    spent[:, paths.rests] += np.array([hold.pause_s for hold in holds])[:, None]
    return np.stack([by_kind(spent[way], paths) for way in range(ways)])


def _speeds(paths: Paths, hold: Limits) -> Floats:
    """Wanted speed of each move, cut down to flow over section where plastic is laid."""
    speed = np.array(hold.speed_mm_s)[paths.code]
    melt = (hold.flow_mm3_s / paths.section_mm2)[kind_of_point(paths)]
    slower: Floats = np.where(paths.code == TRAVEL, speed, np.minimum(speed, melt))
    return slower


def _breaks(paths: Paths) -> Bools:
    """Mark moves before which the head rests: around a retraction, and in a new layer."""
    breaks = paths.rests.copy()
    breaks[1:] |= paths.rests[:-1]
    starts = paths.start[:-1][np.diff(paths.start) > 0]
    breaks[starts] = True
    return breaks


def arrival_seconds(paths: Paths, holds: Sequence[Limits]) -> Floats:
    """Seconds from each layer's end to the next one's begin, [limits, layer]; 0 for the first.

    Empty layers are passed over: the way is counted where plastic is laid again.
    """
    entry, leave = paths.entry_mm, paths.exit_mm
    full = np.flatnonzero(~np.isnan(entry[:, 0]))
    away = np.hypot(*(entry[full[1:]] - leave[full[:-1]]).T)
    spent = np.zeros((len(holds), len(entry)))
    lift = np.array([[hold.lift_s] for hold in holds])
    spent[:, full[1:]] = lift + _way_seconds(away, holds)
    return spent


def _way_seconds(length_mm: Floats, holds: Sequence[Limits]) -> Floats:
    """Seconds of travels from rest to rest; long ones draw the strand back."""
    speed, gain, pause = (
        np.array([[value] for value in values])
        for values in zip(
            *((hold.speed_mm_s[TRAVEL], hold.acceleration_mm_s2, hold.pause_s) for hold in holds),
            strict=True,
        )
    )
    spent = seconds(length_mm, speed_mm_s=speed, acceleration_mm_s2=gain)
    return spent + np.where(length_mm > RETRACT_OVER_MM, pause, 0.0)
