"""Which layers a part gets: their thicknesses, tops and the heights at which to cut.

A layer is as thick as the settings say (the first has its own height) and stands for the
region cut at its middle. A part has as many layers as have their middle inside it, so the
printed height is the drawn one within half a layer, and the last layer is never thinner.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.settings.model import Settings
    from planner.solid.model import Posed

    Floats = NDArray[np.float64]

MOST_LAYERS = 100_000
"""More than any printer can do (20 m at 0.2 mm): the mesh is in the wrong unit."""

_TOUCH_MM = 1e-6
"""A middle plane this close to the top is taken as on it, hence outside."""

_NEAR_MM = 1e-3
_NUDGE_MM = 1.7e-3
"""Planes that run through vertices cut ambiguously: they are moved by under 2 micrometres."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stack:
    """Layers from the plate up; arrays of one entry per layer, mm."""

    top_mm: Floats
    thick_mm: Floats
    cut_mm: Floats


def stack(posed: Posed, settings: Settings) -> Stack:
    """Return the layers of a part; InputError if there are none, or absurdly many."""
    count = _count(posed.size_mm[2], settings)
    if not 1 <= count <= MOST_LAYERS:
        raise _not_layable(posed, settings, count)
    thick = np.full(count, settings.layer_mm)
    thick[0] = settings.first_layer_mm
    top = settings.first_layer_mm + settings.layer_mm * np.arange(count, dtype=np.float64)
    return Stack(
        top_mm=top, thick_mm=thick, cut_mm=_off_vertices(top - thick / 2.0, posed.vertices_mm)
    )


def _count(height_mm: float, settings: Settings) -> int:
    """Count the middles f/2, f + h/2, f + 3h/2, ... that lie under the top."""
    inside_mm = height_mm - _TOUCH_MM
    if inside_mm <= settings.first_layer_mm / 2.0:
        return 0
    return max(1, ceil((inside_mm - settings.first_layer_mm) / settings.layer_mm + 0.5))


def _off_vertices(planes_mm: Floats, vertices_mm: Floats) -> Floats:
    """Move planes within a micrometre of a vertex by under two: up, but down at the very top."""
    levels = np.unique(vertices_mm[:, 2])
    after = np.clip(np.searchsorted(levels, planes_mm), 1, len(levels) - 1)
    gap = np.minimum(abs(planes_mm - levels[after - 1]), abs(planes_mm - levels[after]))
    way = np.where(planes_mm + _NUDGE_MM < levels[-1], _NUDGE_MM, -_NUDGE_MM)
    return np.where(gap < _NEAR_MM, planes_mm + way, planes_mm)


def _not_layable(posed: Posed, settings: Settings, count: int) -> Exception:
    height_mm = posed.size_mm[2]
    if count < 1:
        return input_error(
            posed.solid.name,
            found=f"a height of {height_mm:.3g} mm as posed",
            expected=f"at least half a first layer ({settings.first_layer_mm / 2:.3g} mm)",
            remedy="check the unit of the mesh and the build direction",
        )
    return input_error(
        posed.solid.name,
        found=f"a height of {height_mm:.6g} mm as posed, {count} layers",
        expected=f"at most {MOST_LAYERS} layers",
        remedy="check the unit of the mesh and layer_mm",
    )
