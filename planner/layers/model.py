"""What comes of laying a posed part in layers; per layer and feature, so plates can add up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.settings.model import Feature

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FEATURES: tuple[Feature, ...] = tuple(Feature)
"""Column order of every [layer, feature] array."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layering:
    """One part in layers, as its settings ask, on no printer in particular.

    Arrays are [layer] or [layer, feature] with features in the order of `FEATURES`:
    z_mm (top of each layer), area_mm2 (region of the cut), length_mm, volume_mm3,
    moves (straight moves between corners: an estimate, so not whole; for travel, the number
    of travels). `thinnest_mm` is the thinnest upright wall met in the cuts looked at (an
    upper estimate), or infinity where none is under a few line widths.
    """

    z_mm: Floats
    height_mm: Floats
    area_mm2: Floats
    length_mm: Floats
    volume_mm3: Floats
    moves: Floats
    thinnest_mm: float

    @property
    def layers(self) -> int:
        """Number of layers."""
        return len(self.z_mm)

    @property
    def filament_mm3(self) -> float:
        """Plastic that leaves the nozzle."""
        return float(self.volume_mm3.sum())

    @property
    def layer_area_sum_mm2(self) -> float:
        """Sum of the cut areas."""
        return float(self.area_mm2.sum())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintTime:
    """A layering timed on one printer; `by_layer_s` is [layer, feature].

    `layer_time_min_s` has not been applied to `by_layer_s`: it acts on whole plates
    (see `plate_seconds`). `middle_s` is for the part alone on a plate; `range_s` brackets it,
    `reasons` says why it is wide. Neither holds the printer's start and end.
    """

    by_layer_s: Floats
    layer_time_min_s: float
    middle_s: float
    range_s: tuple[float, float]
    reasons: tuple[str, ...]
