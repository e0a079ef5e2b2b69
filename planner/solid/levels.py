"""Keep cutting planes off the heights at which vertices lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from planner.solid.model import Floats

NUDGE_MM = 1e-3
"""A plane nearer than 1 um to a vertex level is moved to 1 um above it. A flat face in the
cutting plane belongs to no cut, and cutters differ in what they make of it."""


def off_levels(heights_mm: Floats, levels_mm: Floats) -> Floats:
    """Return heights moved off the sorted, distinct `levels_mm`: up, at the very top down.

    Where levels lie closer than 2 um together the plane goes half way to the next one.

    >>> off_levels(np.array([0.0, 0.5, 10.0]), np.array([0.0, 10.0]))
    array([1.000e-03, 5.000e-01, 9.999e+00])
    """
    if len(levels_mm) < 2:
        return heights_mm
    after = np.clip(np.searchsorted(levels_mm, heights_mm), 1, len(levels_mm) - 1)
    below, above = levels_mm[after - 1], levels_mm[after]
    nearest = np.where(heights_mm - below <= above - heights_mm, after - 1, after)
    gaps = np.minimum(np.diff(levels_mm) / 2, NUDGE_MM)
    step = np.append(gaps, -gaps[-1])[nearest]
    level = levels_mm[nearest]
    return np.where(np.abs(heights_mm - level) < NUDGE_MM, level + step, heights_mm)
