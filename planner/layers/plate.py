"""Time of several copies printed together, layer by layer.

A layer must last its minimum only once for all parts on the plate, so whole-part times
must not be added: small parts would be counted far too long.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.layers.model import FEATURES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.layers.model import PrintTime
    from planner.settings.model import Feature

    Floats = NDArray[np.float64]

HOP_S = 0.5
"""Way from one part to the next in a layer: about 60 mm at 150 mm/s and a retraction.

A constant of our own, for plates of which only the copies are known and not their places
(`planner.layers.placed` counts the true ways); spent once per part and layer.
"""


def lasting_s(layer_s: Floats, least_s: float | Floats) -> float:
    """Sum of layer times, none of them under `least_s` unless it is empty."""
    return float(slowed(layer_s, least_s).sum())


def slowed(layer_s: Floats, least_s: float | Floats) -> Floats:
    """Layer times, none of them under `least_s` unless it is empty."""
    return np.where(layer_s > 0.0, np.maximum(layer_s, least_s), 0.0)


def waiting_s(time: PrintTime) -> float:
    """Time that the head of a part alone stands still: layers too short even at the floor speed."""
    if time.slowest_s is None:
        return 0.0
    layer_s = time.by_layer_s.sum(axis=1)
    wait = np.where(layer_s > 0.0, time.layer_time_min_s - time.slowest_s, 0.0)
    return float(np.maximum(wait, 0.0).sum())


def plate_seconds(pairs: Sequence[tuple[PrintTime, int]]) -> float:
    """Time of a plate with so many copies of each part, from first layer to last.

    Parts may differ in height; heating and cooling are not in it. An empty plate takes 0 s,
    one copy alone exactly its own `middle_s`.
    """
    present = [(time, count) for time, count in pairs if count > 0]
    layers = max((len(time.by_layer_s) for time, _ in present), default=0)
    busy, least, copies, arrival = (np.zeros(layers) for _ in range(4))
    for time, count in present:
        own = slice(len(time.by_layer_s))
        layer_s = time.by_layer_s.sum(axis=1)
        busy[own] += count * layer_s
        least[own] = np.maximum(least[own], time.layer_time_min_s)
        copies[own] += count * (layer_s > 0.0)
        arrival[own] += count * arrivals_s(time)
    hops = np.where(copies > 1, HOP_S * copies - arrival, 0.0)
    return lasting_s(busy + hops, least)


def arrivals_s(time: PrintTime) -> Floats:
    """Return the part of each layer's time that is the way from the layer below."""
    return np.zeros(len(time.by_layer_s)) if time.ends is None else time.ends.arrival_s


def plate_range(pairs: Sequence[tuple[PrintTime, int]]) -> tuple[float, float]:
    """Bracket `plate_seconds` by the shares of its parts' own ranges, weighed by their time.

    What a profile has wrong it has wrong for every part alike, so errors do not average out.
    """
    middle_s = sum(count * time.middle_s for time, count in pairs)
    if middle_s <= 0.0:
        return (0.0, 0.0)
    whole_s = plate_seconds(pairs)
    low, high = (sum(count * time.range_s[end] for time, count in pairs) for end in (0, 1))
    return (whole_s * low / middle_s, whole_s * high / middle_s)


def by_feature_s(time: PrintTime) -> dict[Feature, float]:
    """Seconds per feature of a part alone; they add up to its `middle_s`.

    Layers that are too short are taken as slowed down evenly to their minimum, with any wait.
    """
    layer_s = time.by_layer_s.sum(axis=1)
    gain = np.divide(
        slowed(layer_s, time.layer_time_min_s),
        layer_s,
        out=np.zeros_like(layer_s),
        where=layer_s > 0.0,
    )
    totals = (time.by_layer_s * gain[:, None]).sum(axis=0)
    return dict(zip(FEATURES, totals.tolist(), strict=True))
