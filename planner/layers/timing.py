"""Seconds of a layering on one printer: look-ahead along its paths, layer by layer.

No move is faster than the settings, the printer or the melt allow; corners are taken at the
printer's corner speed, or on the circle that its deviation allows. Layers begin and end at
rest, and so does every way on which the strand is drawn back; raising and lowering the head
there counts as travel. The part stands alone on its plate: ways between parts are in
`planner.layers.plate`. Heating and cooling are the printer's. Limits by axis hold for the
part as it was laid: a copy turned on the bed counts the same.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.clock import arrival_seconds, kind_seconds
from planner.layers.limits import FLOOR_MM_S, limits
from planner.layers.model import Ends, PrintTime
from planner.layers.plate import by_feature_s, lasting_s, plate_range, plate_seconds
from planner.layers.sample import sample
from planner.layers.spread import doubts, spread
from planner.layers.strokes import TRAVEL

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.layers.limits import Limits
    from planner.layers.model import Layering, Paths
    from planner.settings.model import Printer, Settings

    Floats = NDArray[np.float64]

__all__ = ["by_feature_s", "plate_range", "plate_seconds", "time_on"]


def time_on(
    layering: Layering,
    settings: Settings,
    printer: Printer,
    *,
    filament_flow_max_mm3_s: float = inf,
    strand_mm2: float | None = None,
) -> PrintTime:
    """Time `layering` on `printer`; `settings` are those it was laid with.

    The melt is limited by the least of the settings, the printer and the filament. The
    printer's limits of the strand hold where its section `strand_mm2` is known. The
    range comes from timing again with the limits that a profile is likely to have wrong.
    Raises ValueError for a layering without paths.
    """
    if layering.paths is None:
        raise ValueError("the layering has no paths to time")
    paths = layering.paths
    known = limits(settings, printer, filament_flow_max_mm3_s, strand_mm2)
    unknown = doubts(known)
    guesses = [hold for doubt in unknown for hold in (doubt.quicker, doubt.slower)]
    few = sample(paths)
    few_s = kind_seconds(few.paths, [known, *guesses])
    own_s = (few_s if few.kinds is None else kind_seconds(paths, [known]))[0][paths.kind]
    arrival_s = arrival_seconds(paths, [known, *guesses])
    by_layer_s = _with_arrivals(own_s, arrival_s[0])
    least_s = settings.layer_time_min_s
    middle_s = lasting_s(by_layer_s.sum(axis=1), least_s)
    totals = [
        lasting_s((own_s * few.gain(few_s[0], kind_s)).sum(axis=1) + way_s, least_s)
        for kind_s, way_s in zip(few_s[1:], arrival_s[1:], strict=True)
    ]
    pairs = list(zip(totals[0::2], totals[1::2], strict=True))
    range_s, reasons = spread(middle_s, unknown, pairs)
    return PrintTime(
        by_layer_s=by_layer_s,
        layer_time_min_s=least_s,
        middle_s=middle_s,
        range_s=range_s,
        reasons=(*reasons, *paths.remarks),
        slowest_s=_slowest(layering, by_layer_s),
        ends=_ends(paths, known, arrival_s[0]),
    )


def _with_arrivals(own_s: Floats, arrival_s: Floats) -> Floats:
    """Add the ways from the layer below to the travel of [layer, feature]."""
    table = own_s.copy()
    table[:, TRAVEL] += arrival_s
    return table


def _slowest(layering: Layering, by_layer_s: Floats) -> Floats:
    """Seconds of each layer if all that is laid is laid no faster than the floor."""
    laid = np.delete(layering.length_mm, TRAVEL, axis=1).sum(axis=1)
    busy_s = np.delete(by_layer_s, TRAVEL, axis=1).sum(axis=1)
    slowest: Floats = np.maximum(busy_s, laid / FLOOR_MM_S) + by_layer_s[:, TRAVEL]
    return slowest


def _ends(paths: Paths, hold: Limits, arrival_s: Floats) -> Ends:
    return Ends(
        entry_mm=paths.entry_mm,
        exit_mm=paths.exit_mm,
        arrival_s=arrival_s,
        speed_mm_s=hold.speed_mm_s[TRAVEL],
        acceleration_mm_s2=hold.acceleration_mm_s2[TRAVEL],
        pause_s=hold.pause_s,
        lift_s=hold.lift_s,
        raise_s=hold.raise_s,
        axis_speed_mm_s=hold.axis_speed_mm_s,
        axis_acceleration_mm_s2=hold.axis_acceleration_mm_s2,
    )
