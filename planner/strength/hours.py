"""How long a part prints in any build direction, by a rule of thumb: to compare, not to plan.

The part is taken as points: surface with its area and facing, inside with its volume. Sorted
by height they give, slab by slab, the girth of the layers, their area and what of it lies
bare above or below. Walls follow the girth, solid layers what lies bare, filling the rest; a
line of fill is as long as the mean chord of its layer (pi area / girth, Cauchy's formula, from
memory) and is run from rest to rest. Corners of walls, ways between islands and lines over air
are left out. A layer takes at least the settings' least time.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi
from typing import TYPE_CHECKING

import numpy as np

from planner.settings.model import Feature
from planner.solid.measure import facet_vectors
from planner.strength.grid import fitted_grid
from planner.strength.occupancy import octant_fill

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.settings.model import Printer, Settings
    from planner.solid.model import Solid

    Floats = NDArray[np.float64]

SUPPORT_DENSITY = 0.15
"""Share of a column of support that is plastic: common practice, no source."""

LAYER_S = 0.6
"""The step up, the seam and the ways on a layer (invented)."""

LEFT_OUT = 1.18
"""What corners, ways and lines cut short add: fitted, with the sample's 22 parts in 7
directions each on the open frame printer, to the hours of the layers themselves."""

OFF = 0.12
"""Share by which the hours then were off at most in nine of ten cases; the worst by 0.24."""

_BRICKS = 4000
_EACH = 4
_POINTS = 8000
_SLABS = 48


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """What of settings and printer decides the time; lengths in mm, speeds in mm/s."""

    layer_mm: float
    line_mm: float
    walls: int
    top_layers: int
    bottom_layers: int
    infill: float
    layer_time_min_s: float
    outer_mm_s: float
    inner_mm_s: float
    solid_mm_s: float
    sparse_mm_s: float
    support_mm_s: float
    acceleration_mm_s2: float


def pace(settings: Settings, printer: Printer, filament_flow_max_mm3_s: float = inf) -> Pace:
    """Return the pace of these settings on this printer, melt and machine included."""
    flow = min(settings.flow_max_mm3_s, printer.flow_max_mm3_s, filament_flow_max_mm3_s)
    most_mm_s = min(printer.speed_max_mm_s, flow / (settings.layer_mm * settings.line_width_mm))

    def speed(feature: Feature) -> float:
        return min(most_mm_s, settings.speed_mm_s[feature])

    return Pace(
        layer_mm=settings.layer_mm,
        line_mm=settings.line_width_mm,
        walls=settings.walls,
        top_layers=settings.top_layers,
        bottom_layers=settings.bottom_layers,
        infill=settings.infill,
        layer_time_min_s=settings.layer_time_min_s,
        outer_mm_s=speed(Feature.OUTER_WALL),
        inner_mm_s=speed(Feature.INNER_WALLS),
        solid_mm_s=speed(Feature.SOLID_FILL),
        sparse_mm_s=speed(Feature.SPARSE_FILL),
        support_mm_s=speed(Feature.SUPPORT),
        acceleration_mm_s2=min(settings.acceleration_mm_s2, printer.acceleration_max_mm_s2),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Points:
    """Surface: (p, 3) places and normals, (p,) areas. Inside: (q, 3) places, (q,) volumes."""

    surface_mm: Floats
    normals: Floats
    area_mm2: Floats
    inside_mm: Floats
    volume_mm3: Floats


def rough_seconds(solid: Solid, ups: Floats, support_mm3: Floats, own: Pace) -> Floats:
    """Return (k,) seconds for (k, 3) build directions; `support_mm3` (k,) is printed as well.

    The solid must be closed. Start and end of a print are not in it.
    """
    points = _points(solid)
    return np.array(
        [
            _seconds(solid, points, up, float(support), own)
            for up, support in zip(ups, support_mm3, strict=True)
        ]
    )


def _points(solid: Solid) -> _Points:
    size = np.ptp(solid.vertices_mm, axis=0)
    brick_mm = float(max(size.prod(), 1e-9) / _BRICKS) ** (1 / 3)
    grid = fitted_grid(solid, np.eye(3), brick_mm)
    fill = octant_fill(solid, grid).mean(axis=3)
    low = [lines[:-1] for lines in grid.lines_mm]
    widths = grid.widths_mm
    i, j, k = np.argwhere(fill > 0).T
    size = np.stack([width[n] for width, n in zip(widths, (i, j, k), strict=True)], axis=1)
    first = np.stack([line[n] for line, n in zip(low, (i, j, k), strict=True)], axis=1)
    # Anywhere in the brick: middles in rows would leave slabs between them empty.
    luck = np.random.default_rng(0)
    surface, normals, area = _on_surface(solid, luck)
    return _Points(
        surface_mm=surface,
        normals=normals,
        area_mm2=area,
        inside_mm=np.concatenate([first + size * luck.random(size.shape) for _ in range(_EACH)]),
        volume_mm3=np.tile(fill[i, j, k] * size.prod(axis=1) / _EACH, _EACH),
    )


def _on_surface(solid: Solid, luck: np.random.Generator) -> tuple[Floats, Floats, Floats]:
    """Return places, normals and areas of points strewn over the surface, by area."""
    corners = solid.vertices_mm[solid.triangles]
    vectors = facet_vectors(solid.vertices_mm, solid.triangles)
    area = np.linalg.norm(vectors, axis=1) / 2
    count = np.maximum(1, np.round(_POINTS * area / area.sum())).astype(np.int64)
    of = np.repeat(np.arange(len(area)), count)
    a, b = luck.random((2, len(of)))
    a, b = np.where(a + b > 1, [1 - a, 1 - b], [a, b])
    first = corners[of, 0]
    places = first + a[:, None] * (corners[of, 1] - first) + b[:, None] * (corners[of, 2] - first)
    normals = vectors / np.maximum(2 * area, 1e-12)[:, None]
    return places, normals[of], (area / count)[of]


def _seconds(solid: Solid, points: _Points, up: Floats, support_mm3: float, own: Pace) -> float:
    heights = solid.vertices_mm @ up
    floor, top = float(heights.min()), float(heights.max())
    layers = max(1, round((top - floor) / own.layer_mm))
    slabs = min(_SLABS, layers)
    tall_mm = (top - floor) / slabs

    def by_slab(places: Floats, amounts: Floats) -> Floats:
        number = np.clip(((places @ up - floor) / tall_mm).astype(np.int64), 0, slabs - 1)
        return np.bincount(number, weights=amounts, minlength=slabs).astype(np.float64)

    facing = points.normals @ up
    steep = np.sqrt(np.maximum(1.0 - facing**2, 0.0))
    girth = by_slab(points.surface_mm, points.area_mm2 * steep) / tall_mm
    level = np.abs(facing) > 1e-6
    bare = np.zeros(slabs)
    for below in range(own.top_layers):
        upward = points.area_mm2 * np.maximum(facing, 0.0)
        shift = (below + 0.5) * own.layer_mm * up
        bare += by_slab(points.surface_mm[level] - shift, upward[level])
    for above in range(own.bottom_layers):
        downward = points.area_mm2 * np.maximum(-facing, 0.0)
        shift = (above + 0.5) * own.layer_mm * up
        bare += by_slab(points.surface_mm[level] + shift, downward[level])
    area = by_slab(points.inside_mm, points.volume_mm3) / tall_mm
    each = layers / slabs
    layer_s = _layer_seconds(girth, area, bare / each, own)
    total = float(each * np.maximum(layer_s, own.layer_time_min_s)[area > 0].sum())
    bead_mm2 = own.layer_mm * own.line_mm
    return total + support_mm3 * SUPPORT_DENSITY / bead_mm2 / own.support_mm_s


def _layer_seconds(girth_mm: Floats, area_mm2: Floats, bare_mm2: Floats, own: Pace) -> Floats:
    """Return (slabs,): seconds of one layer; `bare_mm2` is what of a layer must be solid."""
    room_mm = area_mm2 / own.line_mm
    outer = np.minimum(girth_mm if own.walls else 0.0 * girth_mm, room_mm)
    inner = np.minimum(max(0, own.walls - 1) * girth_mm, room_mm - outer)
    inside = np.maximum(area_mm2 - (outer + inner) * own.line_mm, 0.0)
    share = inside / np.maximum(area_mm2, 1e-9)
    solid = inside if own.infill >= 1.0 else np.minimum(share * bare_mm2, inside)
    chord = pi * np.maximum(inside, 1e-9) / np.maximum(girth_mm, 1e-9)
    chord = np.maximum(chord, own.line_mm)
    fill = _rest_to_rest(solid / own.line_mm, chord, own.solid_mm_s, own)
    sparse = _rest_to_rest((inside - solid) * own.infill / own.line_mm, chord, own.sparse_mm_s, own)
    drawn = outer / own.outer_mm_s + inner / own.inner_mm_s + fill + sparse
    return LEFT_OUT * drawn + LAYER_S


def _rest_to_rest(length_mm: Floats, each_mm: Floats, speed_mm_s: float, own: Pace) -> Floats:
    """Return seconds for so much line in pieces, each run up to speed and down again."""
    full = each_mm / speed_mm_s + speed_mm_s / own.acceleration_mm_s2
    short = 2.0 * np.sqrt(each_mm / own.acceleration_mm_s2)
    reaches = each_mm >= speed_mm_s**2 / own.acceleration_mm_s2
    return length_mm / each_mm * np.where(reaches, full, short)
