"""Speeds, flow, temperatures and fan, weighed by what is laid under them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.audit.measure.harvest import weighted
from planner.audit.measure.model import Figure, unknown

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from planner.audit.measure.harvest import Events, Harvest, Lines
    from planner.audit.measure.levels import Levels

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

STEADY_MM = 1.0
"""Shorter moves do not reach their speed: they say nothing of the flow."""


def flow_figures(lines: Lines, mm3_per_mm: float) -> dict[str, Figure]:
    """Return peak and mean flow in mm3/s at the speeds asked for."""
    ok = np.isfinite(lines.speed_mm_s) & (lines.speed_mm_s > 0)
    if not ok.any():
        return {key: unknown("no speeds") for key in ("flow_peak_mm3_s", "flow_mean_mm3_s")}
    own = lines.some(ok)
    section = own.strand_mm.astype(np.float64) * mm3_per_mm / own.length_mm
    flow = section * own.speed_mm_s
    seconds = own.length_mm / own.speed_mm_s
    long = own.length_mm >= STEADY_MM
    steady = long if long.any() else np.ones(len(own), bool)
    # joined to the last digits written, a few moves lie a little higher than all others
    peak = weighted(flow[steady], seconds[steady].astype(np.float64), 0.999)
    place = np.flatnonzero(steady & (flow >= peak * (1 - 1e-6)))
    mean = float((flow * seconds).sum() / seconds.sum())
    return {
        "flow_peak_mm3_s": Figure(
            value=peak,
            evidence=f"at the speed asked for, 99.9 % of the time; line {own.number[place[0]]}",
            spread=(float(flow[steady].min()), float(flow[steady].max())),
        ),
        "flow_mean_mm3_s": Figure(value=mean, evidence="all that is laid over all its time"),
    }


def heat_figures(found: Harvest, levels: Levels) -> dict[str, Figure]:
    """Return the nozzle's and the bed's temperature, of the first layer and of the others."""
    first = levels.of_line == 0
    return {
        "nozzle_c": _held(found.lines, found.nozzle, ~first, "nozzle"),
        "first_layer_nozzle_c": _held(found.lines, found.nozzle, first, "nozzle"),
        "bed_c": _held(found.lines, found.bed, ~first, "bed"),
        "first_layer_bed_c": _held(found.lines, found.bed, first, "bed"),
    }


def fan_figures(found: Harvest, levels: Levels) -> dict[str, Figure]:
    """Return the fan's share from the fourth layer of each run on, and in the first layers."""
    lowest = np.searchsorted(levels.run, levels.run)
    number = (np.arange(len(levels)) - lowest)[levels.of_line]
    return {
        "fan": _held(found.lines, found.fan, number >= 3, "fan", otherwise=0.0),
        "first_layer_fan": _held(found.lines, found.fan, number == 0, "fan", otherwise=0.0),
    }


def _held(
    lines: Lines, events: Events, where: Bools, what: str, *, otherwise: float | None = None
) -> Figure:
    """Return what is in force for most of the strand laid in some lines."""
    if not where.any():
        return unknown("there are no such layers")
    values = np.append(np.nan if otherwise is None else otherwise, events[1])
    held = values[np.searchsorted(events[0], lines.number[where])]
    strand = lines.strand_mm[where].astype(np.float64)
    known = ~np.isnan(held)
    if not known.any():
        return unknown(f"the {what} is never set")
    amounts: dict[float, float] = {}
    kinds, index = np.unique(held[known], return_inverse=True)
    for kind, amount in zip(kinds.tolist(), np.bincount(index, strand[known]), strict=True):
        amounts[kind] = float(amount)
    best = max(amounts, key=lambda kind: amounts[kind])
    share = amounts[best] / sum(amounts.values())
    return Figure(
        value=best,
        evidence=f"in force for {100 * share:.0f} % of what is laid there",
        spread=(min(amounts), max(amounts)),
    )


def speed_figures(
    found: Harvest, levels: Levels, rows: Mapping[str, Sequence[tuple[int, NDArray[np.int64]]]]
) -> dict[str, Figure]:
    """Return the middle speed of each feature; `rows` are (layer, rows in it) per feature."""
    figures = {}
    for name, places in sorted(rows.items()):
        chosen = [levels.lines_of(level)[own] for level, own in places if len(own)]
        index = np.concatenate([np.empty(0, np.int64), *chosen])
        figures[f"speed_mm_s.{name}"] = _speed(found.lines, index, "none was found")
    figures["speed_mm_s.first_layer"] = _speed(found.lines, levels.lines_of(0), "nothing laid")
    travel = found.travel_speed_mm_s
    figures["speed_mm_s.travel"] = (
        Figure(value=travel, evidence="middle of all ways, by length")
        if np.isfinite(travel)
        else unknown("no ways with a speed")
    )
    return figures


def _speed(lines: Lines, index: NDArray[np.int64], why: str) -> Figure:
    index = index[np.isfinite(lines.speed_mm_s[index])]
    if not len(index):
        return unknown(why)
    speed = lines.speed_mm_s[index].astype(np.float64)
    length = lines.length_mm[index].astype(np.float64)
    return Figure(
        value=weighted(speed, length, 0.5),
        evidence="middle by length, as asked for",
        spread=(float(speed.min()), float(speed.max())),
    )
