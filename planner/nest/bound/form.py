"""Items as the weighing of ground sees them: filled up, with their holes as places of their own."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from planner.nest.memory import Store
from planner.nest.outline import shrunk_growth
from planner.nest.shape import surface, turned_region

if TYPE_CHECKING:
    from planner.nest.outline import Outline
    from planner.nest.shape import Region

HOLES_MOST = 3
"""Kinds of hole that are looked at, for each item: the largest by their sum."""
TURNS_MOST = 16
"""An item of more turns is taken by a disc inside it, which looks the same in all of them."""
_INSIDE = 0.999  # the inscribed circle is found to a tolerance
_FINE_MM = 1e-6
_SHALLOW, _NOISE = 0.02, 1e-5
_ARC_SEGMENTS = 32  # per quarter turn, inside the arc: short of its area by 0.04 %

_known: Store[tuple[bytes, float], Form] = Store(16_000_000)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hole:
    """A hole in a grown item, its low corner at (0, 0), and how many of them a copy has."""

    region: Region
    copies: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Form:
    """An item in one piece, grown by less than half the clearance.

    `bare` and `filled` (grown, holes and all) lie in one frame.  Of an item in several pieces
    only those count that growth joins into the largest, since others may reach into holes.
    `area_mm2` is that of `filled`, `least_mm2` that without holes, and `disc` is the circle
    inside it: centre and radius.
    """

    bare: Region
    filled: Region
    holes: tuple[Hole, ...]
    area_mm2: float
    least_mm2: float
    disc: tuple[float, float, float]


def form_of(outline: Outline, radius_mm: float) -> Form:
    """Return the form of an outline that is grown by a radius."""
    key = (outline.key, radius_mm)
    found = _known.get(key)
    if found is None:
        found = _form(outline, radius_mm)
        size = 40 * shapely.get_num_coordinates(found.filled) + 3000
        _known.put(key, found, size)
    return found


def _form(outline: Outline, radius_mm: float) -> Form:
    grown = _largest(_grown_inside(outline, radius_mm))
    pieces = [part for part in shapely.get_parts(outline.shape) if grown.intersects(part)]
    bare = surface(shapely.union_all(pieces))
    classes = _classes(grown)
    filled = surface(shapely.union_all([grown, *(hole for same in classes for hole in same)]))
    circle = shapely.maximum_inscribed_circle(_largest(filled))
    centre = shapely.get_point(circle, 0)
    radius = _INSIDE * float(centre.distance(_largest(filled).boundary))
    return Form(
        bare=bare,
        filled=filled,
        holes=tuple(Hole(region=_at_origin(same[0]), copies=len(same)) for same in classes),
        area_mm2=float(filled.area),
        least_mm2=float(grown.area),
        disc=(float(centre.x), float(centre.y), radius),
    )


def _grown_inside(outline: Outline, radius_mm: float) -> Region:
    """Grow an outline by no more than a radius.

    GEOS drops corners of dents shallower than a hundredth of the distance (from memory of its
    source), which lets the growth stand out: with such dents a smaller radius is taken.
    """
    shape = outline.shape
    if radius_mm <= 0:
        return shape
    rings = [ring for part in shapely.get_parts(shape) for ring in (part.exterior, *part.interiors)]
    if min(_shallowest_mm(ring) for ring in rings) > _SHALLOW * radius_mm:
        grown = surface(shape.buffer(radius_mm * (1 - _NOISE), quad_segs=_ARC_SEGMENTS))
        if _stands_out_mm(shape, grown) <= radius_mm:
            return grown
    return shrunk_growth(outline, outline.cover, radius_mm) or shape


def _shallowest_mm(ring: shapely.LinearRing) -> float:
    """Return how far the flattest inward corner of a ring is from the line past it."""
    points = shapely.get_coordinates(
        shapely.geometry.polygon.orient(shapely.Polygon(ring)).exterior
    )
    middle = points[:-1]
    before, behind = np.roll(middle, 1, axis=0), np.roll(middle, -1, axis=0)
    past, along = behind - before, middle - before
    turn = past[:, 0] * along[:, 1] - past[:, 1] * along[:, 0]
    depth = np.abs(turn) / np.maximum(np.hypot(past[:, 0], past[:, 1]), 1e-12)
    return float(np.min(depth, initial=np.inf, where=turn != 0))


def _stands_out_mm(shape: Region, grown: Region) -> float:
    """Return how far corners and middles of edges of a grown region are from the region."""
    points = shapely.get_coordinates(grown.boundary)
    tried = np.concatenate([points, (points[:-1] + points[1:]) / 2])
    shapely.prepare(shape)
    return float(shapely.distance(shape, shapely.points(tried)).max())


def _largest(shape: Region) -> shapely.Polygon:
    return max(shapely.get_parts(shape), key=lambda part: part.area)


def _classes(grown: shapely.Polygon) -> list[list[Region]]:
    """Sort the holes of a polygon into sets of equal ones; return those of the most area."""
    classes: dict[bytes, list[Region]] = defaultdict(list)
    for ring in grown.interiors:
        hole = surface(shapely.Polygon(ring).buffer(0))
        if hole.area > 0:
            same = shapely.set_precision(_at_origin(hole), _FINE_MM).normalize()
            classes[shapely.to_wkb(same)].append(hole)
    ordered = sorted(classes.items(), key=lambda one: (-len(one[1]) * one[1][0].area, one[0]))
    return [holes for _, holes in ordered[:HOLES_MOST]]


def _at_origin(region: Region) -> Region:
    return affinity.translate(region, -region.bounds[0], -region.bounds[1])


def turned_about_low(
    form: Form, angle: float, *, bare: bool, low_mm: tuple[float, float]
) -> Region:
    """Turn a form, and move it so that a point of the turned frame lies at (0, 0)."""
    shape = turned_region(form.bare if bare else form.filled, angle)
    return affinity.translate(shape, -low_mm[0], -low_mm[1])
