"""What holds the head back: speeds per feature, acceleration, corners, melt, retraction."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
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

    Speeds and accelerations are in the order of `FEATURES`, with bridges as the last.
    `pause_s` is what drawing the strand back, raising the head, lowering it and pushing the
    strand on takes; `raise_s` is its share of up and down. `lift_s` is the step to the next
    layer. Limits by axis are (x, y); infinite is none. `deviation_mm`, where known, counts in
    place of the corner speed. `strand_mm3_s2` is how quickly the stream of plastic may grow.
    """

    speed_mm_s: tuple[float, ...]
    acceleration_mm_s2: tuple[float, ...]
    corner_mm_s: float
    flow_mm3_s: float
    pause_s: float
    lift_s: float = 0.0
    raise_s: float = 0.0
    axis_speed_mm_s: tuple[float, float] = (inf, inf)
    axis_acceleration_mm_s2: tuple[float, float] = (inf, inf)
    deviation_mm: float | None = None
    strand_mm3_s2: float = inf


def limits(
    settings: Settings,
    printer: Printer,
    filament_flow_max_mm3_s: float,
    strand_mm2: float | None = None,
) -> Limits:
    """Join what the three say; the strand's own limits hold where its section is known."""
    wanted = [settings.speed_mm_s[feature] for feature in FEATURES]
    bridge = min(settings.speed_mm_s[Feature.SOLID_FILL], BRIDGE_MM_S)
    gains = [_gain(settings, printer, feature) for feature in (*FEATURES, Feature.SOLID_FILL)]
    lift_mm_s, lift_mm_s2 = _upright(printer, _gain(settings, printer, Feature.TRAVEL))
    raise_s = 2.0 * float(
        seconds(settings.lift_mm, speed_mm_s=lift_mm_s, acceleration_mm_s2=lift_mm_s2)
    )
    section = inf if strand_mm2 is None else strand_mm2
    return Limits(
        speed_mm_s=tuple(min(speed, printer.speed_max_mm_s) for speed in [*wanted, bridge]),
        acceleration_mm_s2=tuple(gains),
        corner_mm_s=printer.corner_speed_mm_s,
        flow_mm3_s=min(
            settings.flow_max_mm3_s,
            printer.flow_max_mm3_s,
            filament_flow_max_mm3_s,
            (printer.strand_speed_mm_s or inf) * section,
        ),
        pause_s=2.0 * settings.retract_mm / min(RETRACT_MM_S, printer.strand_speed_mm_s or inf)
        + raise_s,
        lift_s=settings.layer_mm / lift_mm_s,
        raise_s=raise_s,
        axis_speed_mm_s=(printer.axis_speed_mm_s or (inf, inf))[:2],
        axis_acceleration_mm_s2=(printer.axis_acceleration_mm_s2 or (inf, inf))[:2],
        deviation_mm=printer.corner_deviation_mm,
        strand_mm3_s2=(printer.strand_acceleration_mm_s2 or inf) * section,
    )


def _gain(settings: Settings, printer: Printer, feature: Feature) -> float:
    """Acceleration of a feature: its own where the settings name one, never above the printer's."""
    wanted = settings.feature_acceleration_mm_s2.get(feature, settings.acceleration_mm_s2)
    return min(wanted, printer.acceleration_max_mm_s2)


def _upright(printer: Printer, gain_mm_s2: float) -> tuple[float, float]:
    """Speed and acceleration straight up and down: the z axis's own where the profile has them."""
    speed, gain = LIFT_MM_S, LIFT_MM_S2
    if printer.axis_speed_mm_s is not None:
        speed = min(printer.axis_speed_mm_s[2], printer.speed_max_mm_s)
    if printer.axis_acceleration_mm_s2 is not None:
        gain = printer.axis_acceleration_mm_s2[2]
    return speed, min(gain, gain_mm_s2)
