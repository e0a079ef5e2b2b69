"""Seconds of a layering on one printer: every straight move as a trapezoid of speed.

A feature's moves in one layer are taken as equally long and as starting and ending at the
speed of a corner; no move is faster than the settings, the printer or the melt allow.
Travel starts and ends at rest and carries one retraction. Lifting is not timed, the first
layer runs at the speeds of the others, and heating and cooling are the printer's.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.limits import TRAVEL, limits
from planner.layers.model import PrintTime
from planner.layers.plate import by_feature_s, lasting_s, plate_range, plate_seconds
from planner.layers.spread import spread
from planner.motion.trapezoid import seconds

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.layers.limits import Limits
    from planner.layers.model import Layering
    from planner.settings.model import Printer, Settings

    Floats = NDArray[np.float64]

__all__ = ["by_feature_s", "by_layer", "plate_range", "plate_seconds", "time_on"]


def time_on(
    layering: Layering,
    settings: Settings,
    printer: Printer,
    *,
    filament_flow_max_mm3_s: float = inf,
) -> PrintTime:
    """Time `layering` on `printer`; `settings` are those it was laid with.

    The melt is limited by the least of the settings, the printer and the filament. The
    range comes from timing again with the limits that a profile is likely to have wrong.
    """
    known = limits(settings, printer, filament_flow_max_mm3_s)
    by_layer_s = by_layer(layering, known)
    least_s = settings.layer_time_min_s

    def total_s(guess: Limits) -> float:
        return lasting_s(by_layer(layering, guess).sum(axis=1), least_s)

    middle_s = lasting_s(by_layer_s.sum(axis=1), least_s)
    range_s, reasons = spread(middle_s, known, total_s)
    return PrintTime(
        by_layer_s=by_layer_s,
        layer_time_min_s=least_s,
        middle_s=middle_s,
        range_s=range_s,
        reasons=reasons,
    )


def by_layer(layering: Layering, hold: Limits) -> Floats:
    """Seconds of each feature in each layer, [layer, feature], without a minimum per layer."""
    length, moves = layering.length_mm, np.maximum(layering.moves, 1.0)
    corner = np.full(length.shape[1], hold.corner_mm_s)
    corner[TRAVEL] = 0.0
    each = seconds(
        length / moves,
        speed_mm_s=_speeds(layering, hold),
        acceleration_mm_s2=hold.acceleration_mm_s2,
        entry_mm_s=corner,
        exit_mm_s=corner,
    )
    total = moves * each
    total[:, TRAVEL] += hold.retraction_s * layering.moves[:, TRAVEL]
    return total


def _speeds(layering: Layering, hold: Limits) -> Floats:
    """Wanted speed, cut down to flow over section where plastic is laid."""
    speed = np.broadcast_to(hold.speed_mm_s, layering.length_mm.shape)
    section = np.divide(
        layering.volume_mm3,
        layering.length_mm,
        out=np.zeros_like(layering.length_mm),
        where=layering.length_mm > 0.0,
    )
    melt = np.divide(hold.flow_mm3_s, section, out=np.full_like(section, inf), where=section > 0.0)
    slower: Floats = np.minimum(speed, melt)
    return slower
