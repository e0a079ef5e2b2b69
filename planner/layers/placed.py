"""Time of a plate whose copies have their places: the ways between them are the true ones.

Copies are visited in the same order in every layer: from the bed's front left on to the
nearest that is left, by where their first layers begin. Every way between copies begins and
ends at rest, so a layer takes the sum of its copies' own times and those ways: no path has
to be timed again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.clock import way_seconds
from planner.layers.plate import arrivals_s, lasting_s

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.layers.model import Ends, PrintTime

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Copy:
    """One copy of a timed part: turned about its own origin, then moved by (x, y)."""

    time: PrintTime
    x_mm: float
    y_mm: float
    rotation_deg: float = 0.0


def placed_seconds(copies: Sequence[Copy]) -> float:
    """Time of a plate from first layer to last, in s; an empty plate takes none.

    All copies are timed on one printer; their lifts and ways are taken from the first one.
    Raises ValueError for times without ends.
    """
    layers = max((len(copy.time.by_layer_s) for copy in copies), default=0)
    if not layers:
        return 0.0
    busy, least, entries, exits = _stacked(copies, layers)
    way = _ends(copies[0]).lift_s * (np.arange(layers) > 0) * (busy.sum(axis=0) > 0.0)
    here = np.full((layers, 2), np.nan)
    first = np.full((layers, 2), np.nan)
    for copy in visits(copies):
        present = ~np.isnan(entries[copy, :, 0])
        way += np.where(present, _way_s(here, entries[copy], copies[0]), 0.0)
        first = np.where(np.isnan(first), entries[copy], first)
        here = np.where(present[:, None], exits[copy], here)
    full = np.flatnonzero(~np.isnan(first[:, 0]))
    way[full[1:]] += _way_s(here[full[:-1]], first[full[1:]], copies[0])
    return lasting_s(busy.sum(axis=0) + way, least)


def visits(copies: Sequence[Copy]) -> list[int]:
    """Order in which the copies are visited in every layer."""
    begins = [_moved(copy, _ends(copy).entry_mm) for copy in copies]
    middle = np.array([points[np.flatnonzero(~np.isnan(points[:, 0]))[0]] for points in begins])
    here, left, order = np.zeros(2), list(range(len(copies))), []
    while left:
        away = np.square(middle[left] - here).sum(axis=1)
        nearest = left.pop(int(np.argmin(away)))
        order.append(nearest)
        here = middle[nearest]
    return order


def _stacked(copies: Sequence[Copy], layers: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Own seconds (copies, layers), least (layers,), entries and exits (copies, layers, 2)."""
    busy, least = np.zeros((len(copies), layers)), np.zeros(layers)
    entries, exits = (np.full((len(copies), layers, 2), np.nan) for _ in range(2))
    for row, copy in enumerate(copies):
        own = slice(len(copy.time.by_layer_s))
        busy[row, own] = copy.time.by_layer_s.sum(axis=1) - arrivals_s(copy.time)
        least[own] = np.maximum(least[own], copy.time.layer_time_min_s)
        entries[row, own] = _moved(copy, _ends(copy).entry_mm)
        exits[row, own] = _moved(copy, _ends(copy).exit_mm)
    return busy, least, entries, exits


def _ends(copy: Copy) -> Ends:
    if copy.time.ends is None:
        raise ValueError("the time of a copy does not say where its layers begin and end")
    return copy.time.ends


def _moved(copy: Copy, points: Floats) -> Floats:
    angle = np.radians(copy.rotation_deg)
    cosine, sine = np.cos(angle), np.sin(angle)
    x, y = points.T
    return np.stack([x * cosine - y * sine + copy.x_mm, x * sine + y * cosine + copy.y_mm], axis=1)


def _way_s(start: Floats, goal: Floats, copy: Copy) -> Floats:
    """Seconds from each start to each goal; none where one of them is missing."""
    ends = _ends(copy)
    away = (goal - start).T
    known = ~np.isnan(away[0])
    spent = np.zeros(len(known))
    spent[known] = way_seconds(
        away[:, known],
        speed_mm_s=ends.speed_mm_s,
        acceleration_mm_s2=ends.acceleration_mm_s2,
        axis_speed_mm_s=ends.axis_speed_mm_s,
        axis_acceleration_mm_s2=ends.axis_acceleration_mm_s2,
        pause_s=ends.pause_s,
    )
    return spent
