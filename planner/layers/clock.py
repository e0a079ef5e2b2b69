"""Seconds of the paths of a layering: every move by look-ahead, ways between layers apart."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.route import RETRACT_OVER_MM, by_kind, kind_of_point, vectors_mm
from planner.layers.strokes import TRAVEL
from planner.motion.corner import CornerSpeed
from planner.motion.limits import Limits as MachineLimits
from planner.motion.lookahead import move_seconds
from planner.motion.trapezoid import seconds

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.layers.limits import Limits
    from planner.layers.model import Paths

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]


def kind_seconds(paths: Paths, hold: Limits) -> Floats:
    """Seconds of each feature in each kind of layer, [kind, feature], from rest to rest."""
    if not len(paths.code):
        return by_kind(np.empty(0), paths)
    spent = move_seconds(
        vectors_mm(paths),
        speed_mm_s=_speeds(paths, hold),
        acceleration_mm_s2=hold.acceleration_mm_s2,
        limits=MachineLimits(
            speed_mm_s=(inf, inf, inf),
            acceleration_mm_s2=(inf, inf, inf),
            corner=CornerSpeed(speed_mm_s=hold.corner_mm_s),
        ),
        chain=np.cumsum(_breaks(paths)),
    )
    spent[paths.rests] += hold.pause_s
    return by_kind(spent, paths)


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


def arrival_seconds(paths: Paths, hold: Limits) -> Floats:
    """Seconds from each layer's end to the next one's begin, (layers,); 0 for the first.

    Empty layers are passed over: the way is counted where plastic is laid again.
    """
    entry, leave = paths.entry_mm, paths.exit_mm
    full = np.flatnonzero(~np.isnan(entry[:, 0]))
    spent = np.zeros(len(entry))
    away = entry[full[1:]] - leave[full[:-1]]
    spent[full[1:]] = hold.lift_s + way_seconds(np.hypot(*away.T), hold)
    return spent


def way_seconds(length_mm: Floats, hold: Limits) -> Floats:
    """Seconds of travels from rest to rest; long ones draw the strand back."""
    spent = seconds(
        length_mm,
        speed_mm_s=hold.speed_mm_s[TRAVEL],
        acceleration_mm_s2=hold.acceleration_mm_s2,
    )
    return spent + np.where(length_mm > RETRACT_OVER_MM, hold.pause_s, 0.0)
