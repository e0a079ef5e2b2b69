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

BRIDGE_MM_S = 30.0
"""Highest speed of lines over air: common practice, no source."""

LIFT_MM_S = 10.0
"""Speed of the step up to the next layer: common practice, no source."""

FLOOR_MM_S = 10.0
"""A layer that is too short is slowed down to this speed, then waits: common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The least of what settings, printer and filament allow.

    Speeds are in the order of `FEATURES`, with bridges as the last. `pause_s` is what
    drawing the strand back and pushing it on takes, `lift_s` the step to the next layer.
    """

    speed_mm_s: tuple[float, ...]
    acceleration_mm_s2: float
    corner_mm_s: float
    flow_mm3_s: float
    pause_s: float
    lift_s: float = 0.0


def limits(settings: Settings, printer: Printer, filament_flow_max_mm3_s: float) -> Limits:
    """Join what the three say."""
    wanted = [settings.speed_mm_s[feature] for feature in FEATURES]
    bridge = min(settings.speed_mm_s[Feature.SOLID_FILL], BRIDGE_MM_S)
    return Limits(
        speed_mm_s=tuple(min(speed, printer.speed_max_mm_s) for speed in [*wanted, bridge]),
        acceleration_mm_s2=min(settings.acceleration_mm_s2, printer.acceleration_max_mm_s2),
        corner_mm_s=printer.corner_speed_mm_s,
        flow_mm3_s=min(settings.flow_max_mm3_s, printer.flow_max_mm3_s, filament_flow_max_mm3_s),
        pause_s=2.0 * settings.retract_mm / RETRACT_MM_S,
        lift_s=settings.layer_mm / LIFT_MM_S,
    )
