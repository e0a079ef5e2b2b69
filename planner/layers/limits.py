"""What holds the head back: speeds per feature, acceleration, corners, melt, retraction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.layers.model import FEATURES
from planner.settings.model import Feature

if TYPE_CHECKING:
    from planner.settings.model import Printer, Settings

RETRACT_MM_S = 40.0
"""Speed of pulling filament back and pushing it on: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The least of what settings, printer and filament allow; speeds in order of `FEATURES`."""

    speed_mm_s: tuple[float, ...]
    acceleration_mm_s2: float
    corner_mm_s: float
    flow_mm3_s: float
    retraction_s: float


def limits(settings: Settings, printer: Printer, filament_flow_max_mm3_s: float) -> Limits:
    """Join what the three say."""
    return Limits(
        speed_mm_s=tuple(
            min(settings.speed_mm_s[feature], printer.speed_max_mm_s) for feature in FEATURES
        ),
        acceleration_mm_s2=min(settings.acceleration_mm_s2, printer.acceleration_max_mm_s2),
        corner_mm_s=printer.corner_speed_mm_s,
        flow_mm3_s=min(settings.flow_max_mm3_s, printer.flow_max_mm3_s, filament_flow_max_mm3_s),
        retraction_s=2.0 * settings.retract_mm / RETRACT_MM_S,
    )


TRAVEL = FEATURES.index(Feature.TRAVEL)
"""Column of travel in every [layer, feature] array."""
