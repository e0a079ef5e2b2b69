"""What a machine allows each move: speed and acceleration along its own direction."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isinf
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.corner import CornerSpeed, JunctionDeviation

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.motion.corner import Corner
    from planner.settings.model import Filament, Printer

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Limits:
    """Limits of one machine: numbers, or arrays with one value per move; infinite is no limit.

    Tuples are per axis (x, y, z). The strand is the filament before it melts:
    `strand_speed_mm_s` and `strand_acceleration_mm_s2` limit how it is driven,
    `flow_max_mm3_s` how fast it melts; `strand_mm2` is its cross-section.
    """

    speed_mm_s: tuple[float | Floats, float | Floats, float | Floats]
    acceleration_mm_s2: tuple[float | Floats, float | Floats, float | Floats]
    corner: Corner
    strand_speed_mm_s: float | Floats = inf
    strand_acceleration_mm_s2: float | Floats = inf
    flow_max_mm3_s: float = inf
    strand_mm2: float = 1.0


def cap_by_axis(wanted: Floats, directions: Floats, per_axis: Sequence[float | Floats]) -> Floats:
    """Return `wanted`, shape (n,), cut down so that no axis gets more than its own limit.

    `directions` is (k, n): units of axis travel per unit of path; 0 is no limit.
    """
    capped = np.array(wanted, dtype=np.float64)
    for axis, limit in zip(directions, per_axis, strict=False):
        if isinstance(limit, np.ndarray) or not isinf(limit):
            with np.errstate(divide="ignore"):
                np.minimum(capped, limit / np.abs(axis), out=capped)
    return capped


def cap_by_flow(
    speed_mm_s: Floats, directions: Floats, flow_mm3_s: float, strand_mm2: float
) -> Floats:
    """Return `speed_mm_s` cut down so that what is laid along a path melts no faster than the flow.

    Only moves that travel and feed are laying; pushing a retracted strand back melts nothing.
    """
    if isinf(flow_mm3_s):
        return speed_mm_s
    laying = (directions[3] > 0.0) & directions[:3].any(axis=0)
    most = np.divide(
        flow_mm3_s / strand_mm2, directions[3], out=np.full_like(speed_mm_s, np.inf), where=laying
    )
    return np.asarray(np.minimum(speed_mm_s, most))


def limits_of(printer: Printer, filament: Filament | None = None) -> Limits:
    """Return what a printer's profile says of motion, axis by axis where it does.

    An axis without a limit of its own has that of the path. A profile means its highest speed
    and acceleration along the path: ask for no more than these.
    With a filament the flow cap is the lower of the printer's and the filament's; without one
    feeds are taken as mm3 (a strand of 1 mm2), so the strand's own limits do not hold.
    """
    speed, gain = printer.speed_max_mm_s, printer.acceleration_max_mm_s2
    flow = printer.flow_max_mm3_s
    return Limits(
        speed_mm_s=printer.axis_speed_mm_s or (speed, speed, speed),
        acceleration_mm_s2=printer.axis_acceleration_mm_s2 or (gain, gain, gain),
        corner=corner_of(printer),
        strand_speed_mm_s=inf if filament is None else printer.strand_speed_mm_s or inf,
        strand_acceleration_mm_s2=(
            inf if filament is None else printer.strand_acceleration_mm_s2 or inf
        ),
        flow_max_mm3_s=flow if filament is None else min(flow, filament.flow_max_mm3_s),
        strand_mm2=1.0 if filament is None else filament.area_mm2,
    )


def corner_of(printer: Printer) -> Corner:
    """Return how the profile wants corners to be taken."""
    if printer.corner_deviation_mm is not None:
        return JunctionDeviation(deviation_mm=printer.corner_deviation_mm)
    return CornerSpeed(speed_mm_s=printer.corner_speed_mm_s)
