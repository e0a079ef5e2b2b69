"""Laying a part in layers: cut, group, fill; then one row of amounts per distinct layer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error
from planner.layers import support as supports
from planner.layers.alike import groups
from planner.layers.amount import NONE, Amount
from planner.layers.bead import line_of
from planner.layers.brim import brim
from planner.layers.fill import fill
from planner.layers.model import FEATURES, Layering
from planner.layers.region import NOTHING, common, without
from planner.layers.skins import covers, windows
from planner.layers.stack import stack
from planner.layers.thinnest import thinnest_mm
from planner.layers.travel import travel
from planner.layers.walls import walls
from planner.settings.model import Bead, Feature
from planner.solid.cut import cut

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from planner.layers.bead import Line
    from planner.layers.stack import Stack
    from planner.settings.model import Settings
    from planner.solid.model import Posed

    Floats = NDArray[np.float64]
    Groups = NDArray[np.int64]
    Row = Mapping[Feature, Amount]

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


def lay(posed: Posed, settings: Settings) -> Layering:
    """Lay `posed` in layers as `settings` ask.

    Filament is accounted by area: at full infill with rectangular lines it equals cut area
    times thickness exactly. Lengths, moves and travel are estimated from areas and outlines.
    Raises InputError if the part has no layers, far too many, or the lines cannot be laid.
    """
    _check(settings)
    levels = stack(posed, settings)
    cuts = _cut_once(posed, levels)
    columns = _columns(posed, settings, levels, cuts)
    kind, rows = _rows(settings, levels, cuts, columns)
    amounts = np.array([_as_array(row) for row in rows])[kind]
    return Layering(
        z_mm=levels.top_mm,
        height_mm=levels.thick_mm,
        area_mm2=cuts.area_mm2[cuts.group],
        length_mm=amounts[:, 1],
        volume_mm3=amounts[:, 0] * levels.thick_mm[:, None],
        moves=amounts[:, 2],
        thinnest_mm=thinnest_mm(
            cuts.regions,
            cuts.group,
            layer_mm=settings.layer_mm,
            below_mm=THIN_LINES * settings.line_width_mm,
        ),
    )


def _cut_once(posed: Posed, levels: Stack) -> _Cuts:
    """Cut each group of equal layers once, at its lowest plane."""
    group = groups(posed.vertices_mm, posed.solid.triangles, levels.cut_mm)
    _, first = np.unique(group, return_index=True)
    regions = cut(posed, levels.cut_mm[first])
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


def _rows(
    settings: Settings, levels: Stack, cuts: _Cuts, columns: Sequence[CrossSection] | None
) -> tuple[Groups, list[Row]]:
    """Return the kind of each layer and the amounts of each kind.

    Layers are of one kind if they, their windows, their thickness and support are equal.
    """
    spans = windows(cuts.group, top=settings.top_layers, bottom=settings.bottom_layers)
    held = columns or [NOTHING] * len(cuts.group)
    kinds: dict[tuple[int, ...], int] = {}
    kind = np.empty(len(cuts.group), dtype=np.int64)
    first_of: list[int] = []
    for layer, key in enumerate(_keys(cuts.group, spans, held)):
        if key not in kinds:
            kinds[key] = len(first_of)
            first_of.append(layer)
        kind[layer] = kinds[key]
    interiors = covers(cuts.regions, [tuple(spans[layer].tolist()) for layer in first_of])
    return kind, [
        _row(settings, levels, cuts, layer=layer, interior=interior, held=held[layer])
        for layer, interior in zip(first_of, interiors, strict=True)
    ]


def _keys(group: Groups, spans: Groups, held: Sequence[CrossSection]) -> Iterator[tuple[int, ...]]:
    """Yield what tells the kinds of layers apart; the first layer is a kind of its own."""
    for layer, (low, high) in enumerate(spans.tolist()):
        yield int(layer == 0), low, int(group[layer]), high, id(held[layer])


def _row(
    settings: Settings,
    levels: Stack,
    cuts: _Cuts,
    *,
    layer: int,
    interior: CrossSection,
    held: CrossSection,
) -> Row:
    """Amounts per feature of one layer."""
    line = line_of(settings, float(levels.thick_mm[layer]))
    which = int(cuts.group[layer])
    region = cuts.regions[which]
    shell = walls(region, float(cuts.area_mm2[which]), line=line, count=settings.walls)
    solid, sparse = _split(shell.inside, interior, settings.infill)
    stops = shell.rings + solid.num_contour() + sparse.num_contour() + held.num_contour()
    return {
        Feature.OUTER_WALL: shell.outer,
        Feature.INNER_WALLS: shell.inner,
        Feature.SOLID_FILL: fill(solid, line=line),
        Feature.SPARSE_FILL: fill(sparse, line=line, share=settings.infill),
        Feature.SUPPORT: supports.column_lines(held, line=line),
        Feature.BRIM: _brim(settings, region, line) if layer == 0 else NONE,
        Feature.TRAVEL: travel(region + held, float(stops)),
    }


def _split(
    inside: CrossSection, interior: CrossSection, infill: float
) -> tuple[CrossSection, CrossSection]:
    """Part what the walls leave into solid and sparse; at full infill all of it is solid."""
    if infill >= 1.0 or interior.is_empty():
        return inside, NOTHING
    solid = without(inside, interior)
    return solid, inside if solid.is_empty() else common(inside, interior)


def _brim(settings: Settings, region: CrossSection, line: Line) -> Amount:
    return brim(region, width_mm=settings.brim_mm, line=line)


def _as_array(row: Row) -> list[list[float]]:
    """Return [area, length, moves] x features."""
    amounts = [row[feature] for feature in FEATURES]
    return [
        [amount.area_mm2 for amount in amounts],
        [amount.length_mm for amount in amounts],
        [amount.moves for amount in amounts],
    ]


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
