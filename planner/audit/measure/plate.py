"""Figures of the plate as a whole: layers, lines, strand, time, what stands on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.audit.measure.harvest import weighted
from planner.audit.measure.model import Figure, Status, unknown
from planner.audit.measure.spacing import spacings
from planner.settings.model import Bead as BeadModel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.audit.measure.bodies import Bodies
    from planner.audit.measure.harvest import Harvest, Lines
    from planner.audit.measure.levels import Levels
    from planner.audit.measure.model import MeasuredPart
    from planner.audit.measure.spacing import Bead
    from planner.settings.model import Filament, Printer

    Floats = NDArray[np.float64]

STADIUM = 0.2146
"""1 - pi / 4: how much wider, in heights, a line with round edges is than a rectangle alike."""
AIR = 0.3
"""Share of a layer's height that stays empty under the first layer on a raft: our choice."""
MOST_RAFT = 12
IRON = 0.35
"""Share of a full line's section that ironing stays under: our choice."""


def raft_levels(lines: Lines, levels: Levels, bead: Bead) -> int:
    """Count the layers under a gap of air that goes all through, near the plate; 0 for none.

    Such a layer rises by more than its plastic fills.
    """
    if levels.spiral:
        return 0
    heights = levels.heights_mm()
    usual = float(np.median(heights[1:])) if len(heights) > 2 else float(heights[0])
    for level in range(1, min(MOST_RAFT, len(levels) - 1)):
        if levels.run[level] != 0:
            break
        own = lines.some(levels.lines_of(level))
        fed = _full_mm(own, bead)
        if fed < heights[level] - AIR * min(usual, fed) and fed > 0.3 * usual:
            return level
    return 0


def filled_mm(lines: Lines, levels: Levels, bead: Bead, raft: int) -> Floats:
    """Height that each layer fills: its rise, but for first layers and those over air."""
    heights = levels.heights_mm()
    usual = float(np.median(heights[1:])) if len(heights) > 2 else float(heights[0])
    firsts = np.flatnonzero(np.append(True, np.diff(levels.run) != 0))
    for level in (*firsts.tolist(), *([raft] if raft else [])):
        fed = fed_mm(lines.some(levels.lines_of(level)), bead, float(heights[level]))
        if fed is not None and 0.5 * usual < fed[0] < heights[level]:
            heights[level] = fed[0]
    return heights


def fed_mm(own: Lines, bead: Bead, rise_mm: float) -> tuple[float, float] | None:
    """Return the height that a layer's plastic fills, and the spacing of its lines.

    None if none lie side by side, or the layer lies no higher than the ground.
    """
    if rise_mm <= 0:
        return None
    found = [s for s in spacings(own) if s.section_mm > 0]
    if not found:
        return None
    volume, flow = bead.volume_mm3, bead.flow
    best = min(
        found,
        key=lambda s: (
            abs(np.log(s.section_mm * volume / (s.spacing_mm * rise_mm * flow))) - s.weight
        ),
    )
    return best.section_mm * volume / (best.spacing_mm * flow), best.spacing_mm


def _full_mm(own: Lines, bead: Bead) -> float:
    """Height that a layer's plastic fills at the usual spacing, by its full lines."""
    section = own.strand_mm / own.length_mm * bead.volume_mm3
    # sparse lines over several layers are thicker, ironing and wipes thinner
    return weighted(section, own.length_mm, 0.5) / (bead.spacing_mm * bead.flow)


def first_layer_figures(
    lines: Lines, levels: Levels, bead: Bead, model: BeadModel | None
) -> dict[str, Figure]:
    """Return the first layer's height as commanded and as fed, and its lines' width."""
    z = float(levels.z_mm[0])
    own = lines.some(levels.lines_of(0))
    commanded = Figure(value=z, evidence="lowest height at which plastic is laid")
    found = fed_mm(own, bead, z)
    if found is None:
        return {"first_layer_mm": commanded, "first_layer_fed_mm": unknown("no lines side by side")}
    fed, spacing = found
    width, evidence = _width(spacing, fed, model)
    return {
        "first_layer_mm": commanded,
        "first_layer_fed_mm": Figure(
            value=fed, evidence=f"what is laid fills it at a spacing of {spacing:.3f} mm"
        ),
        "first_layer_width_mm": Figure(
            value=width,
            evidence=evidence,
            status=Status.FIRM if model else Status.AMBIGUOUS,
            spread=(spacing, spacing + STADIUM * fed),
        ),
    }


def _width(spacing: float, height: float, model: BeadModel | None) -> tuple[float, str]:
    """Width by the bead's section: the spacing for a rectangle, 0.2146 h more for a stadium."""
    if model is BeadModel.STADIUM:
        return spacing + STADIUM * height, f"spacing {spacing:.3f} mm, round edges"
    told = "" if model else f"; {spacing + STADIUM * height:.3f} mm if its edges are round"
    return spacing, f"spacing {spacing:.3f} mm, lines taken as rectangles{told}"


def layer_figure(levels: Levels) -> Figure:
    """Return the commonest rise from layer to layer."""
    heights = levels.heights_mm()
    first = np.append(True, np.diff(levels.run) != 0)
    rest = heights[~first] if (~first).any() else heights
    rounded = np.round(rest, 2)  # inches are written to 0.0001: 0.0025 mm
    values, counts = np.unique(rounded, return_counts=True)
    common = float(values[np.argmax(counts)])
    own = rest[rounded == common]
    low, high = float(rest.min()), float(rest.max())
    varies = counts.max() < 0.9 * len(rest)
    return Figure(
        value=float(np.mean(own)),
        evidence=f"{counts.max()} of {len(rest)} layers" + (", heights vary" if varies else ""),
        spread=(low, high),
    )


def plate_figures(
    found: Harvest,
    levels: Levels,
    *,
    bead: Bead,
    model: BeadModel | None,
    bodies: Bodies,
    parts: Sequence[MeasuredPart],
    filament: Filament | None,
    printer: Printer | None,
) -> dict[str, Figure]:
    """Return everything about the plate that is no matter of one layer or part."""
    layer = layer_figure(levels)
    assert isinstance(layer.value, float)
    width, evidence = _width(bead.spacing_mm, layer.value, model)
    return {
        "layer_mm": layer,
        "layers": Figure(value=len(levels), evidence="heights at which plastic is laid"),
        "line_width_mm": Figure(
            value=width,
            evidence=evidence,
            status=Status.FIRM if model else Status.AMBIGUOUS,
            spread=(bead.spacing_mm, bead.spacing_mm + STADIUM * layer.value),
        ),
        "strand_unit": Figure(value=bead.unit, evidence="lines fill what lies between them"),
        "flow_share": Figure(value=bead.flow, evidence="laid volume over spacing x height"),
        **_strand(found, bead, filament),
        **_time(found, printer),
        "parts": Figure(value=len(parts), evidence="what hangs together, seen from above"),
        "sequence": _sequence(levels),
        "spiral": Figure(value=levels.spiral, evidence="whether the head climbs while it lays"),
        "support": _support(bodies),
        "raft": Figure(
            value=bodies.raft_levels > 0,
            evidence=f"air over layer {bodies.raft_levels}"
            if bodies.raft_levels
            else "no air between the lowest layers",
        ),
        "ironing": _ironing(found.lines, levels, bead),
    }


def _strand(found: Harvest, bead: Bead, filament: Filament | None) -> dict[str, Figure]:
    volume = found.strand_mm * bead.volume_mm3
    area = filament.area_mm2 if filament else bead.volume_mm3
    figures = {
        "filament_mm3": Figure(value=volume, evidence=f"E counts {bead.unit}"),
        "filament_mm": Figure(value=float(volume / area), evidence=f"E counts {bead.unit}"),
        "filament_g": unknown("no filament is given, so no density"),
    }
    if filament is not None:
        figures["filament_g"] = Figure(
            value=filament.mass_g(volume), evidence=f"density of {filament.name}"
        )
    return figures


def _time(found: Harvest, printer: Printer | None) -> dict[str, Figure]:
    whose = f"limits of {printer.name}" if printer else "no printer given: 1500 mm/s², 8.5 mm/s"
    own = "gain" in found.state.facts
    return {
        "moves_s": Figure(
            value=float(found.seconds.sum()),
            evidence=f"look-ahead over all moves, {whose}",
            status=Status.FIRM if printer or own else Status.AMBIGUOUS,
        ),
        "dwell_s": Figure(value=found.dwell_s, evidence="waits that the file asks for"),
    }


def _sequence(levels: Levels) -> Figure:
    runs = int(levels.run.max()) + 1
    if runs > 1:
        return Figure(value="one after another", evidence=f"{runs} times up from the plate")
    return Figure(value="all at once", evidence="the head never comes down again")


def _support(bodies: Bodies) -> Figure:
    if not bodies.support:
        return Figure(value=False, evidence="no body ends under another")
    return Figure(
        value=True,
        evidence=f"{len(bodies.support)} bodies end under others",
    )


def _ironing(lines: Lines, levels: Levels, bead: Bead) -> Figure:
    """Tell whether thin lines lie close together."""
    heights = levels.heights_mm()
    full = bead.spacing_mm * bead.flow / bead.volume_mm3 * heights[levels.of_line]
    thin = (lines.strand_mm < IRON * full * lines.length_mm) & (lines.length_mm > 1.0)
    if float(lines.length_mm[thin].sum()) < 100.0:
        return Figure(value=False, evidence="no area of thin lines")
    level = int(np.argmax(np.bincount(levels.of_line[thin], lines.length_mm[thin])))
    own = lines.some(np.flatnonzero(thin & (levels.of_line == level)))
    close = [s for s in spacings(own) if s.spacing_mm < 0.7 * bead.spacing_mm]
    if not close:
        return Figure(value=False, evidence="thin lines, but not side by side")
    return Figure(
        value=True,
        evidence=f"thin lines {close[0].spacing_mm:.2f} mm apart, such as in layer {level + 1}",
    )
