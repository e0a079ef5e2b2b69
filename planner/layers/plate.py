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

A constant of our own, coarse; it is spent once per part and layer when there are several.
"""


def lasting_s(layer_s: Floats, least_s: float | Floats) -> float:
    """Sum of layer times, none of them under `least_s` unless it is empty."""
    return float(_slowed(layer_s, least_s).sum())


def plate_seconds(pairs: Sequence[tuple[PrintTime, int]]) -> float:
    """Time of a plate with so many copies of each part, from first layer to last.

    Parts may differ in height; heating and cooling are not in it. An empty plate takes 0 s,
    one copy alone exactly its own `middle_s`.
    """
    present = [(time, count) for time, count in pairs if count > 0]
    layers = max((len(time.by_layer_s) for time, _ in present), default=0)
    busy, least, copies = np.zeros(layers), np.zeros(layers), np.zeros(layers)
    for time, count in present:
        own = slice(len(time.by_layer_s))
        busy[own] += count * time.by_layer_s.sum(axis=1)
        least[own] = np.maximum(least[own], time.layer_time_min_s)
        copies[own] += count
    hops = np.where(copies > 1, copies, 0)
    return lasting_s(busy + HOP_S * hops, least)


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

    Layers that are too short are taken as slowed down evenly to their minimum.
    """
    layer_s = time.by_layer_s.sum(axis=1)
    slowed = np.divide(
        _slowed(layer_s, time.layer_time_min_s),
        layer_s,
        out=np.zeros_like(layer_s),
        where=layer_s > 0.0,
    )
    totals = (time.by_layer_s * slowed[:, None]).sum(axis=0)
    return dict(zip(FEATURES, totals.tolist(), strict=True))


def _slowed(layer_s: Floats, least_s: float | Floats) -> Floats:
    return np.where(layer_s > 0.0, np.maximum(layer_s, least_s), 0.0)
