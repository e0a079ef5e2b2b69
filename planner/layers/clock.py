"""Seconds of the paths of a layering: every move by look-ahead, ways between layers apart."""

from __future__ import annotations

from math import inf, isinf
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.route import RETRACT_OVER_MM, by_kind, kind_of_point, vectors_mm
from planner.layers.strokes import TRAVEL
from planner.motion.corner import CornerSpeed, JunctionDeviation
from planner.motion.legs import legs_of
from planner.motion.limits import Limits as MachineLimits
from planner.motion.limits import cap_by_axis
from planner.motion.lookahead import run
from planner.motion.trapezoid import seconds

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.layers.limits import Limits
    from planner.layers.model import Paths

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]
    Ints = NDArray[np.int64]


def kind_seconds(paths: Paths, holds: Sequence[Limits]) -> Floats:
    """Seconds of each feature in each kind of layer under each of some limits, from rest to rest.

    Returns [limits, kind, feature]; all limits are walked in one go, one after the other.
    """
    count, ways = len(paths.code), len(holds)
    flat = np.zeros(ways * count)
    vectors = np.tile(vectors_mm(paths).T, ways)
    moving = np.flatnonzero(vectors.any(axis=0))
    chain = np.cumsum(np.tile(_breaks(paths), ways))[moving]
    legs = legs_of(
        vectors[:, moving],
        speed_mm_s=np.concatenate([_speeds(paths, hold) for hold in holds])[moving],
        acceleration_mm_s2=np.concatenate([_gains(paths, hold) for hold in holds])[moving],
        limits=_machine(holds, count, moving),
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


def _gains(paths: Paths, hold: Limits) -> Floats:
    """Acceleration of each move; where plastic is laid the strand must keep up."""
    gain = np.array(hold.acceleration_mm_s2)[paths.code]
    if isinf(hold.strand_mm3_s2):
        return gain
    strand = (hold.strand_mm3_s2 / paths.section_mm2)[kind_of_point(paths)]
    slower: Floats = np.where(paths.code == TRAVEL, gain, np.minimum(gain, strand))
    return slower


def _machine(holds: Sequence[Limits], count: int, moving: Ints) -> MachineLimits:
    """Limits by axis and at corners of each move of `holds`, one after the other."""

    def each(values: Sequence[float]) -> Floats:
        return np.repeat(values, count)[moving]

    def axes(pairs: Sequence[tuple[float, float]]) -> tuple[Floats | float, Floats | float, float]:
        x, y = zip(*pairs, strict=True)
        return (inf if isinf(min(x)) else each(x), inf if isinf(min(y)) else each(y), inf)

    deviations = [hold.deviation_mm for hold in holds if hold.deviation_mm is not None]
    return MachineLimits(
        speed_mm_s=axes([hold.axis_speed_mm_s for hold in holds]),
        acceleration_mm_s2=axes([hold.axis_acceleration_mm_s2 for hold in holds]),
        corner=JunctionDeviation(deviation_mm=each(deviations))
        if deviations
        else CornerSpeed(speed_mm_s=each([hold.corner_mm_s for hold in holds])),
    )


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
    away = (entry[full[1:]] - leave[full[:-1]]).T
    spent = np.zeros((len(holds), len(entry)))
    lift = np.array([[hold.lift_s] for hold in holds])
    spent[:, full[1:]] = lift + np.stack([_way_seconds(away, hold) for hold in holds])
    return spent


def _way_seconds(away_mm: Floats, hold: Limits) -> Floats:
    return way_seconds(
        away_mm,
        speed_mm_s=hold.speed_mm_s[TRAVEL],
        acceleration_mm_s2=hold.acceleration_mm_s2[TRAVEL],
        axis_speed_mm_s=hold.axis_speed_mm_s,
        axis_acceleration_mm_s2=hold.axis_acceleration_mm_s2,
        pause_s=hold.pause_s,
    )


def way_seconds(
    away_mm: Floats,
    *,
    speed_mm_s: float,
    acceleration_mm_s2: float,
    axis_speed_mm_s: tuple[float, float],
    axis_acceleration_mm_s2: tuple[float, float],
    pause_s: float,
) -> Floats:
    """Seconds of travels `away_mm`, (2, n), from rest to rest; long ones draw the strand back."""
    length = np.hypot(*away_mm)
    directions = away_mm / np.where(length > 0.0, length, 1.0)
    spent = seconds(
        length,
        speed_mm_s=cap_by_axis(np.full(len(length), speed_mm_s), directions, axis_speed_mm_s),
        acceleration_mm_s2=cap_by_axis(
            np.full(len(length), acceleration_mm_s2), directions, axis_acceleration_mm_s2
        ),
    )
    return spent + np.where(length > RETRACT_OVER_MM, pause_s, 0.0)
