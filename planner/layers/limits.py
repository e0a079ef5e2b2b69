"""What holds the head back: speeds per feature, acceleration, corners, melt, retraction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.layers.model import FEATURES
from planner.motion.trapezoid import seconds
from planner.settings.model import Feature

if TYPE_CHECKING:
    from planner.settings.model import Printer, Settings

RETRACT_MM_S = 40.0
"""Speed of pulling filament back and pushing it on: common practice, no source."""

BRIDGE_MM_S = 30.0
"""Highest speed of lines over air: common practice, no source."""

LIFT_MM_S = 10.0
"""Speed up and down: to the next layer, and of the raised head. Common practice, no source."""

LIFT_MM_S2 = 100.0
"""Acceleration of raising and lowering the head: common practice, no source."""

FLOOR_MM_S = 10.0
"""A layer that is too short is slowed down to this speed, then waits: common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The least of what settings, printer and filament allow.

    Speeds are in the order of `FEATURES`, with bridges as the last. `pause_s` is what
    drawing the strand back, raising the head, lowering it and pushing the strand on takes;
    `raise_s` is its share of up and down. `lift_s` is the step to the next layer.
    """

    speed_mm_s: tuple[float, ...]
    acceleration_mm_s2: float
    corner_mm_s: float
    flow_mm3_s: float
    pause_s: float
    lift_s: float = 0.0
    raise_s: float = 0.0


def limits(settings: Settings, printer: Printer, filament_flow_max_mm3_s: float) -> Limits:
    """Join what the three say."""
    wanted = [settings.speed_mm_s[feature] for feature in FEATURES]
    bridge = min(settings.speed_mm_s[Feature.SOLID_FILL], BRIDGE_MM_S)
    gain = min(settings.acceleration_mm_s2, printer.acceleration_max_mm_s2)
    raise_s = 2.0 * _upright_s(settings.lift_mm, gain)
    return Limits(
        speed_mm_s=tuple(min(speed, printer.speed_max_mm_s) for speed in [*wanted, bridge]),
        acceleration_mm_s2=gain,
        corner_mm_s=printer.corner_speed_mm_s,
        flow_mm3_s=min(settings.flow_max_mm3_s, printer.flow_max_mm3_s, filament_flow_max_mm3_s),
        pause_s=2.0 * settings.retract_mm / RETRACT_MM_S + raise_s,
        lift_s=settings.layer_mm / LIFT_MM_S,
        raise_s=raise_s,
    )


def _upright_s(length_mm: float, gain_mm_s2: float) -> float:
    """Seconds of a move straight up or down, from rest to rest."""
    gain = min(LIFT_MM_S2, gain_mm_s2)
    return float(seconds(length_mm, speed_mm_s=LIFT_MM_S, acceleration_mm_s2=gain))
