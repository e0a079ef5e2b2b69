"""Laying a part in layers: cut, group, fill; then one row of amounts per distinct layer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error
from planner.layers import support as supports
from planner.layers.alike import groups
from planner.layers.areas import inside
from planner.layers.bead import line_of
from planner.layers.brim import brim, brim_mm2
from planner.layers.fills import fills, picked
from planner.layers.islands import islands
from planner.layers.kinds import kinds
from planner.layers.middle import middle_mm
from planner.layers.model import FEATURES, Layering
from planner.layers.order import order
from planner.layers.pattern import pattern_of
from planner.layers.route import by_kind, route, vectors_mm
from planner.layers.stack import stack
from planner.layers.stand_in import stand_ins
from planner.layers.strokes import BRIM, INNER, OUTER, SOLID, SPARSE, SUPPORT, joined
from planner.layers.thinnest import thinnest_mm
from planner.layers.walls import shells
from planner.settings.model import Bead
from planner.solid.cut import areas_mm2, cut

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from planner.layers.areas import Inside
    from planner.layers.bead import Line
    from planner.layers.kinds import Kinds
    from planner.layers.model import Paths
    from planner.layers.stack import Stack
    from planner.layers.walls import Shells
    from planner.settings.model import Settings
    from planner.solid.model import Posed

    Floats = NDArray[np.float64]
    Groups = NDArray[np.int64]
    Bools = NDArray[np.bool_]

THIN_LINES = 4.0
"""Walls of this many line widths and more do not count as thin."""

_SIMPLIFY_MM = 0.01
"""Detail under a hundredth of a millimetre is dropped from the cuts, after their area is taken."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Cuts:
    """The distinct cuts of a part: `group` numbers each layer's, areas are exact."""

    group: Groups
    regions: Sequence[CrossSection]
    area_mm2: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Drawn:
    """What every kind of layer takes, [kind, feature], and its paths."""

    area_mm2: Floats
    length_mm: Floats
    moves: Floats
    paths: Paths


def lay(posed: Posed, settings: Settings) -> Layering:
    """Lay `posed` in layers as `settings` ask.

    Filament is accounted by area: at full infill with rectangular lines it equals cut area
    times thickness exactly. Lengths and moves are those of the paths drawn.
    Raises InputError if the part has no layers, far too many, or the lines cannot be laid.
    """
    _check(settings)
    levels = stack(posed, settings)
    cuts = _cut_once(posed, levels)
    found = kinds(cuts.group, settings, _columns(posed, settings, levels, cuts))
    drawn = _drawn(settings, levels, cuts, found)
    return Layering(
        z_mm=levels.top_mm,
        height_mm=levels.thick_mm,
        area_mm2=cuts.area_mm2[cuts.group],
        length_mm=drawn.length_mm[found.kind],
        volume_mm3=drawn.area_mm2[found.kind] * levels.thick_mm[:, None],
        moves=drawn.moves[found.kind],
        thinnest_mm=thinnest_mm(
            cuts.regions,
            cuts.group,
            layer_mm=settings.layer_mm,
            below_mm=THIN_LINES * settings.line_width_mm,
        ),
        paths=replace(drawn.paths, points_mm=drawn.paths.points_mm + middle_mm(posed)),
    )


def _cut_once(posed: Posed, levels: Stack) -> _Cuts:
    """Cut each group of equal layers once, at its lowest plane."""
    group = groups(posed.vertices_mm, posed.solid.triangles, levels.cut_mm)
    _, first = np.unique(group, return_index=True)
    x_mm, y_mm = middle_mm(posed)
    regions = [region.translate((-x_mm, -y_mm)) for region in cut(posed, levels.cut_mm[first])]
    return _Cuts(
        group=group,
        area_mm2=np.array([region.area() for region in regions]),
        regions=[region.simplify(_SIMPLIFY_MM) for region in regions],
    )


def _columns(
    posed: Posed, settings: Settings, levels: Stack, cuts: _Cuts
) -> Sequence[CrossSection] | None:
    """Return the support of each layer, or None if none is wanted or needed."""
    if not settings.support or not supports.overhangs(
        posed.vertices_mm,
        posed.solid.triangles,
        limit_deg=settings.overhang_deg,
        above_mm=float(levels.top_mm[0]),
    ):
        return None
    step_mm = supports.step_out_mm(settings.layer_mm, settings.overhang_deg)
    return supports.columns(cuts.regions, cuts.group.tolist(), step_mm=step_mm)


def _drawn(settings: Settings, levels: Stack, cuts: _Cuts, found: Kinds) -> _Drawn:
    """Lay out every kind of layer, and draw it or its stand-in."""
    base, layer_of_base = _bases(cuts.group, found)
    lines = [line_of(settings, float(levels.thick_mm[layer])) for layer in layer_of_base.tolist()]
    which = cuts.group[layer_of_base]
    own = base[found.cell]
    stand = stand_ins(_corners(cuts, found))
    drawn = stand == np.arange(len(stand))
    shell = shells(
        [cuts.regions[n] for n in which.tolist()],
        cuts.area_mm2[which],
        lines=lines,
        count=settings.walls,
        wanted=np.isin(np.arange(len(lines)), own[drawn]),
    )
    within = inside(
        cuts.regions,
        found,
        [shell.inside[n] for n in base.tolist()],
        group=cuts.group.tolist(),
        settings=settings,
    )
    first = cuts.regions[int(cuts.group[0])]
    strokes = joined(
        [
            brim(first, width_mm=settings.brim_mm, line=lines[0]),
            picked(shell.strokes, np.where(drawn, own, -1), np.arange(len(own))),
            fills(within, _only(found, drawn), settings, _each(lines, own, "spacing_mm")),
        ]
    )
    island = islands(strokes, cuts.regions, cuts.group[found.layer_of_kind])
    paths = route(
        strokes,
        order(strokes, island),
        kind=stand[found.kind],
        section_mm2=_each(lines, own, "section_mm2"),
        remarks=_remarks(settings, drawn),
    )
    area = _areas(settings, found, own, shell, within)
    area[0, BRIM] = brim_mm2(first, settings.brim_mm)
    length = np.hypot(*vectors_mm(paths).T)
    return _Drawn(
        area_mm2=area,
        length_mm=by_kind(length, paths)[stand],
        moves=by_kind((length > 0.0).astype(np.float64), paths)[stand],
        paths=paths,
    )


def _corners(cuts: _Cuts, found: Kinds) -> Groups:
    """Count the corners of each kind's cut."""
    count = np.array([region.num_vert() for region in cuts.regions], dtype=np.int64)
    corners: Groups = count[cuts.group[found.layer_of_kind]]
    return corners


def _only(found: Kinds, drawn: Bools) -> Kinds:
    """Leave cell and support of the kinds that are not drawn out (-1)."""
    cell, held = (np.where(drawn, number, -1) for number in (found.cell, found.held))
    return replace(found, cell=cell, held=held)


def _each(lines: Sequence[Line], own: Groups, name: str) -> Floats:
    """Return a measure of each kind's line."""
    return np.array([getattr(line, name) for line in lines])[own]


def _bases(group: Groups, found: Kinds) -> tuple[Groups, Groups]:
    """Tell the distinct walls apart: those of the first layer, and of every other cut.

    Returns the number for each cell, and the first layer that has each.
    """
    cut_of_cell = group[found.layer_of_cell]
    keys = np.where(found.layer_of_cell == 0, -1, cut_of_cell)
    _, first, base = np.unique(keys, return_index=True, return_inverse=True)
    return base.ravel(), found.layer_of_cell[first]


def _areas(settings: Settings, found: Kinds, own: Groups, shell: Shells, within: Inside) -> Floats:
    """Covered area per kind and feature; `own` is each kind's place among the shells."""
    area = np.zeros((len(found.cell), len(FEATURES)))
    solid, bridge, sparse = (
        areas_mm2(list(regions)) for regions in (within.solid, within.bridge, within.sparse)
    )
    area[:, OUTER], area[:, INNER] = shell.outer_mm2[own], shell.inner_mm2[own]
    area[:, SOLID] = (solid + bridge)[found.cell]
    area[:, SPARSE] = settings.infill * sparse[found.cell]
    held = np.append(areas_mm2(list(found.columns)), 0.0)
    area[:, SUPPORT] = supports.DENSITY * held[found.held]
    return area


def _remarks(settings: Settings, drawn: Bools) -> tuple[str, ...]:
    """Say in words what the paths leave out."""
    remarks = []
    if 0.0 < settings.infill < 1.0 and not pattern_of(settings.infill_pattern)[1]:
        remarks.append(f"infill pattern {settings.infill_pattern!r} is not known: timed as a grid")
    if not drawn.all():
        remarks.append(
            f"intricate part: paths drawn for {drawn.sum()} of {len(drawn)} kinds of layer, "
            "the others timed as the nearest of them"
        )
    return tuple(remarks)


def _check(settings: Settings) -> None:
    """Refuse lines that are higher than wide where their ends are to be round."""
    highest = max(settings.layer_mm, settings.first_layer_mm)
    if settings.bead is Bead.STADIUM and settings.line_width_mm < highest:
        raise input_error(
            settings.origin.get("line_width_mm", settings.name),
            place="line_width_mm",
            found=f"{settings.line_width_mm:g} mm",
            expected=f"at least the layer height, {highest:g} mm, for a round-ended bead",
            remedy="widen the line or lower the layer",
        )
