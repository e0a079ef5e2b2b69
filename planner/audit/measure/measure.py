"""The story of a toolpath's measuring, from the file to its figures."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from planner.audit.measure import figures as of_parts
from planner.audit.measure.bodies import bodies_of
from planner.audit.measure.brim import brim_figure
from planner.audit.measure.faults import faults_of
from planner.audit.measure.harvest import harvest
from planner.audit.measure.layer import cut, parts_in
from planner.audit.measure.levels import levels_of, sampled
from planner.audit.measure.mesh import mesh_figures
from planner.audit.measure.model import Figure, Measured, MeasuredPart, Status, unknown
from planner.audit.measure.plate import (
    filled_mm,
    first_layer_figures,
    plate_figures,
    raft_levels,
)
from planner.audit.measure.rates import fan_figures, flow_figures, heat_figures, speed_figures
from planner.audit.measure.skins import columns_of
from planner.audit.measure.spacing import UNITS, VOLUME, Bead, bead_of, spacings
from planner.audit.measure.watch import Limits
from planner.motion.toolpath.clock import Machine
from planner.motion.toolpath.read import facts_of, machine_of
from planner.progress import silent
from planner.settings.model import Bead as BeadModel

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from planner.audit.measure.bodies import Bodies
    from planner.audit.measure.harvest import Harvest
    from planner.audit.measure.layer import PartLayer
    from planner.audit.measure.levels import Levels
    from planner.audit.measure.skins import Columns
    from planner.progress import Progress
    from planner.settings.model import Filament, Printer
    from planner.solid.model import Posed

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

FARTHEST_MM = 3000.0
"""No bed of this trade is so large: our choice."""
LEAST_SPACING_MM = 0.1
"""Half the spacing of the finest nozzles; less would be looked along without end: our choice."""
LEAST_HEIGHT_MM = 1e-3
"""What a height counts as where a file lays plastic at z 0 (or below)."""
MOST_SPACED_LINES = 12_000
"""Lines of a layer among which spacings are looked for."""
MOST_SAMPLED_LINES = 200_000
"""Lines in the layers that are taken apart: some 4 s of work on one core."""

PLAIN_MACHINE = Machine(speed_mm_s=500.0, acceleration_mm_s2=1500.0, corner_mm_s=8.5)
"""Where no printer is given: what an open printer of the trade does; common practice."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Survey:
    """What all later measures stand on."""

    found: Harvest
    levels: Levels
    bead: Bead
    bead_model: BeadModel | None
    raft: int
    heights_mm: Floats


def measure_toolpath(
    path: Path,
    *,
    printer: Printer | None = None,
    filament: Filament | None = None,
    bead: BeadModel | None = None,
    mesh: Posed | None = None,
    progress: Progress = silent,
) -> Measured:
    """Measure a toolpath file from its geometry alone; comments decide nothing.

    A printer gives the bed, its keep-outs and limits of motion; a filament its diameter and
    density; `bead` says how the lines' section is meant (both are told where it is None, unless
    the posed `mesh` of a part on the plate settles it).
    Raises InputError, with the line, for a file that cannot be read or followed.
    """
    found = _near(harvest(path, _machine(printer), Limits(printer=printer), progress=progress))
    if not len(found.lines):
        return _nothing_laid(path, found)
    levels = levels_of(found.lines)
    beside = _bead(found, levels, filament)
    scale = _strand_unit(beside, filament)
    if scale != 1.0:
        # ways of the strand alone are shorter than they were taken for: read it again
        found = _near(
            harvest(
                path,
                _machine(printer),
                Limits(printer=printer),
                strand_unit=scale,
                progress=progress,
            )
        )
        beside = replace(beside, volume_mm3=beside.volume_mm3 / scale)
    raft = raft_levels(found.lines, levels, beside)
    if raft:
        # its lines are of another width than the parts'
        unit = beside
        beside = _bead(found, levels, filament, raft)
        beside = replace(beside, unit=unit.unit, volume_mm3=unit.volume_mm3)
    survey = _Survey(
        found=found,
        levels=levels,
        bead=beside,
        bead_model=bead,
        raft=raft,
        heights_mm=filled_mm(found.lines, levels, beside, raft),
    )
    return _measured(path, survey, printer, filament, mesh)


def _near(found: Harvest) -> Harvest:
    """Leave out lines that lie or lead where no bed is: faults, and endless to look along."""
    lines = found.lines
    ends = (lines.x0, lines.y0, lines.x1, lines.y1)
    kept = np.logical_and.reduce([np.abs(end) < FARTHEST_MM for end in ends])
    kept &= lines.length_mm < FARTHEST_MM
    if kept.all():
        return found
    some = lines.some(kept)
    follows = np.append(False, kept[:-1])[kept]
    return replace(found, lines=replace(some, joined=some.joined & follows))


def _machine(printer: Printer | None) -> Machine:
    return PLAIN_MACHINE if printer is None else machine_of(printer)


def _bead(found: Harvest, levels: Levels, filament: Filament | None, raft: int = 0) -> Bead:
    """Return spacing, unit of E and flow; by the section alone where no lines lie side by side."""
    heights = levels.heights_mm()
    count = len(levels)
    chosen = {*sampled(raft, count), *range(raft + 1, raft + 4), *range(count - 3, count)}
    units = _units(found, filament)
    bead = None
    for some in (sorted(chosen & set(range(raft + 1, count))), [raft]):
        # the first layer may have lines of its own width
        pairs = [
            (spacing, max(float(heights[level]), LEAST_HEIGHT_MM))
            for level in some
            for spacing in spacings(found.lines.some(levels.lines_of(level)[:MOST_SPACED_LINES]))
        ]
        bead = bead or bead_of(pairs, units)
    if bead is not None:
        return bead
    lines = found.lines
    section = lines.strand_mm / lines.length_mm / np.maximum(heights[levels.of_line], 1e-3)
    middle = float(np.median(section))
    # a line of some 0.5 mm is the likeliest
    name, volume = min(units, key=lambda unit: abs(np.log(max(middle, 1e-9) * unit[1] / 0.5)))
    spacing_mm = max(middle * volume, LEAST_SPACING_MM)
    return Bead(unit=name, volume_mm3=volume, spacing_mm=spacing_mm, flow=1.0)


def _strand_unit(bead: Bead, filament: Filament | None) -> float:
    """Return mm of strand per unit of E as first read: 1, unless E counts something else."""
    if bead.unit.endswith("not inches"):
        return 1.0 / 25.4
    if bead.unit != VOLUME:
        return 1.0
    return 1.0 / (filament.area_mm2 if filament else np.pi * 1.75**2 / 4)


def _units(found: Harvest, filament: Filament | None) -> tuple[tuple[str, float], ...]:
    """Return what E may count: what the file says (M200), else strand or volume."""
    own = found.state.registers["strand unit"]
    if own != 1.0:
        return (("mm³, as M200 says", 1.0 / own),)
    units: tuple[tuple[str, float], ...] = UNITS
    if filament is not None:
        name = f"mm of {filament.diameter_mm:g} mm strand"
        units = ((name, filament.area_mm2), (VOLUME, 1.0))
    if found.state.registers["unit"] != 1.0:
        units += tuple((f"{name}, not inches", volume / 25.4) for name, volume in units)
    return units


def _measured(
    path: Path,
    survey: _Survey,
    printer: Printer | None,
    filament: Filament | None,
    mesh: Posed | None,
) -> Measured:
    found, levels, bead = survey.found, survey.levels, survey.bead
    spans = _spans(levels, survey.raft)
    keep = {level for low, high in spans for level in sampled(low, high)}
    keep = _affordable(sorted(keep), levels)
    bodies = bodies_of(
        found.lines,
        levels,
        spacing_mm=bead.spacing_mm,
        full_mm=1.25 * bead.spacing_mm * bead.flow / bead.volume_mm3 * survey.heights_mm,
        raft_levels=survey.raft,
        keep=keep,
    )
    columns = columns_of(bodies, survey.heights_mm, mm3_per_mm=bead.volume_mm3, flow=bead.flow)
    layers = _layers(survey, bodies, columns, keep)
    parts = _parts(survey, bodies, columns, layers, mesh)
    survey = replace(survey, bead_model=survey.bead_model or _settled(parts))
    figures = plate_figures(
        found,
        levels,
        bead=bead,
        model=survey.bead_model,
        bodies=bodies,
        parts=parts,
        filament=filament,
        printer=printer,
    )
    figures |= _common(parts)
    figures["brim_mm"] = brim_figure(
        found.lines, levels, 0, spacing_mm=bead.spacing_mm, raft=survey.raft > 0
    )
    figures |= first_layer_figures(found.lines, levels, bead, survey.bead_model)
    figures |= flow_figures(found.lines, bead.volume_mm3)
    figures |= heat_figures(found, levels) | fan_figures(found, levels)
    figures |= speed_figures(found, levels, _rows(layers))
    facts = facts_of(found.state)
    return Measured(
        figures=MappingProxyType(figures),
        parts=parts,
        faults=faults_of(path, found, levels, bead),
        assumptions=facts.assumptions,
        not_understood=tuple(word for word, _, _ in facts.not_understood),
    )


def _spans(levels: Levels, raft: int) -> list[tuple[int, int]]:
    """Ranges of layers to sample from: each run, and the low part of a tall one for low parts."""
    spans = []
    for run in np.unique(levels.run):
        own = np.flatnonzero(levels.run == run)
        low, high = int(own[0]), int(own[-1]) + 1
        low = low + raft if low == 0 else low
        spans.append((min(low + 1, high - 1), high))
        if high - low > 60:
            spans.append((low + 1, low + 40))
    return spans


def _affordable(levels_wanted: list[int], levels: Levels) -> set[int]:
    """Leave out layers, group by group, until their lines are few enough."""
    size = levels.stop - levels.start
    kept = list(levels_wanted)
    while len(kept) > 4 and size[kept].sum() > MOST_SAMPLED_LINES:
        middle = len(kept) // 2 // 4 * 4
        kept = kept[:middle] + kept[middle + 4 :] if len(kept) > 8 else kept[: len(kept) // 2]
    return set(kept)


def _layers(survey: _Survey, bodies: Bodies, columns: Columns, keep: set[int]) -> list[PartLayer]:
    levels, bead = survey.levels, survey.bead
    heights = survey.heights_mm
    cuts = {
        level: cut(
            level,
            survey.found.lines,
            levels,
            bodies,
            spacing_mm=bead.spacing_mm,
            full=bead.spacing_mm * float(heights[level]) * bead.flow / bead.volume_mm3,
        )
        for level in sorted(keep)
    }
    return [
        layer
        for level, one in cuts.items()
        for layer in parts_in(
            one,
            [cuts[k] for k in range(level - 3, level + 4) if k != level and k in cuts],
            columns,
            bodies,
            spacing_mm=bead.spacing_mm,
        )
    ]


def _parts(
    survey: _Survey,
    bodies: Bodies,
    columns: Columns,
    layers: list[PartLayer],
    mesh: Posed | None,
) -> tuple[MeasuredPart, ...]:
    levels, bead, heights = survey.levels, survey.bead, survey.heights_mm
    of_part = defaultdict(list)
    for layer in layers:
        of_part[layer.part].append(layer)
    boxes = _boxes(survey, bodies)
    laid = _laid_mm3(survey, bodies)
    tops = np.array(levels.z_mm) - (levels.z_mm[0] - heights[0] if not survey.raft else 0.0)
    if survey.raft:
        tops -= levels.z_mm[survey.raft] - heights[survey.raft]
    full = bead.flow / bead.volume_mm3
    parts = []
    for part in range(bodies.parts):
        own = of_part[part]
        walls = of_parts.walls_figure(own, spiral=levels.spiral)
        infill = (
            unknown("a spiral has no fill")
            if levels.spiral
            else of_parts.infill_figure(own, heights, walls=walls, full=full)
        )
        solid = of_parts.is_solid(infill)
        figures = {
            "walls": walls,
            **{
                key: unknown("solid all through")
                if solid
                else of_parts.skin_figure(columns, part, of_top=of_top, spiral=levels.spiral)
                for key, of_top in (("top_layers", True), ("bottom_layers", False))
            },
            "infill": infill,
            "laid_mm3": Figure(value=laid[part], evidence="over its shadow, supports included"),
        }
        if mesh is not None:
            figures |= mesh_figures(own, tops, mesh, spacing_mm=bead.spacing_mm, heights_mm=heights)
        parts.append(
            MeasuredPart(
                name=f"part {part + 1}", box_mm=boxes[part], figures=MappingProxyType(figures)
            )
        )
    return tuple(parts)


def _settled(parts: tuple[MeasuredPart, ...]) -> BeadModel | None:
    """Return the section of lines that the mesh showed, if it did so firmly."""
    for part in parts:
        told = part.figures.get("bead")
        if told is not None and told.status is Status.FIRM:
            return BeadModel(str(told.value))
    return None


def _laid_mm3(survey: _Survey, bodies: Bodies) -> list[float]:
    lines = survey.found.lines
    part = _part_of_lines(survey, bodies)
    if survey.raft:
        part = np.where(survey.levels.of_line < survey.raft, -1, part)
    amounts = np.bincount(part + 1, lines.strand_mm, minlength=bodies.parts + 1)
    return [float(amount) * survey.bead.volume_mm3 for amount in amounts[1:]]


def _part_of_lines(survey: _Survey, bodies: Bodies) -> Ints:
    """Return the part over each line: over its middle, or its end (cells at a rim may be bare)."""
    lines = survey.found.lines
    found = np.full(len(lines), -1)
    for share in (0.5, 0.75, 0.25, 1.0, 0.0):
        open_still = np.flatnonzero(found < 0)
        own = lines.some(open_still)
        x, y = own.x0 + share * (own.x1 - own.x0), own.y0 + share * (own.y1 - own.y0)
        found[open_still] = bodies.part[bodies.grid.cells(x, y)]
    return found


def _boxes(
    survey: _Survey, bodies: Bodies
) -> list[tuple[tuple[float, float], tuple[float, float], tuple[float, float]]]:
    """Extents of each part, half a line beyond the middle of its outmost ones."""
    lines, half = survey.found.lines, survey.bead.spacing_mm / 2
    part = _part_of_lines(survey, bodies)
    boxes = []
    for k in range(bodies.parts):
        own = lines.some(part == k)
        x, y, z = (
            (float(np.min(values)), float(np.max(values))) if len(own) else (0.0, 0.0)
            for values in ((own.x0, own.x1), (own.y0, own.y1), (own.z_mm,))
        )
        boxes.append(((x[0] - half, x[1] + half), (y[0] - half, y[1] + half), (0.0, z[1])))
    return boxes


def _common(parts: tuple[MeasuredPart, ...]) -> dict[str, Figure]:
    """Figures that hold for the whole plate: of all parts alike, or ambiguous."""
    return {
        key: _of_all(key, [part.figures[key] for part in parts])
        for key in ("walls", "top_layers", "bottom_layers", "infill")
    }


def _of_all(key: str, found: list[Figure]) -> Figure:
    firm = [figure for figure in found if figure.status is Status.FIRM]
    if not firm:
        weak = [figure for figure in found if figure.value is not None]
        return weak[0] if weak else (found[0] if found else unknown("no parts"))
    values = [float(figure.value) for figure in firm if figure.value is not None]
    low, high = min(values), max(values)
    same = high - low <= (0.05 if key == "infill" else 0.0)
    middle = firm[0].value if len(firm) == 1 or key != "infill" else float(np.median(values))
    return replace(
        firm[0],
        value=middle,
        evidence=firm[0].evidence if len(firm) == 1 else f"{len(firm)} parts",
        status=Status.FIRM if same else Status.AMBIGUOUS,
        spread=(low, high),
    )


def _rows(layers: list[PartLayer]) -> dict[str, list[tuple[int, NDArray[np.int64]]]]:
    names = {
        "outer": "outer_wall",
        "inner": "inner_walls",
        "solid": "solid_fill",
        "sparse": "sparse_fill",
    }
    rows = defaultdict(list)
    for layer in layers:
        for name, own in layer.rows.items():
            rows[names[name]].append((layer.level, own))
    return rows


def _nothing_laid(path: Path, found: Harvest) -> Measured:
    facts = facts_of(found.state)
    figures = {"filament_mm": Figure(value=0.0, evidence="no line of plastic is laid")}
    return Measured(
        figures=MappingProxyType(figures),
        parts=(),
        faults=faults_of(path, found, None, None),
        assumptions=facts.assumptions,
        not_understood=tuple(word for word, _, _ in facts.not_understood),
    )
