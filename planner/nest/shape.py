"""Footprints as the engine sees them: grown by half the clearance, cut into slabs.

Two parts keep the clearance exactly when their outlines, each grown by half of it, do not
overlap.  A grown outline is cut into horizontal slabs; per slab its extent along x is kept as
exact intervals ("runs").  Every step here errs one way only: the runs cover the shape, so what
is free of runs is free of the shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import blake2b
from math import ceil, cos, pi, radians, sin
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import shapely
from shapely import affinity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.solid.model import Footprint

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Region: TypeAlias = shapely.Polygon | shapely.MultiPolygon

SLABS = 2
"""Slabs per grid step: finer slabs follow slanted edges more closely, at more work per pair."""
SNAP = 1e-8
"""Lengths (mm) closer than this are one: a tenth of what the exact check lets pass, or less."""
_ARC_SEGMENTS = 16  # per quarter turn: the polygon stands out by 0.3 % of the radius


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bands:
    """Rectangles of slabs start .. end - 1 and x from low_mm to high_mm, each array (n,)."""

    start: Ints
    end: Ints
    low_mm: Floats
    high_mm: Floats

    def key(self) -> bytes:
        """Return the same bytes for the same shape, to a hundred-millionth of a millimetre."""
        rounded = np.rint(np.column_stack([self.low_mm, self.high_mm]) / SNAP).astype(np.int64)
        return self.start.tobytes() + self.end.tobytes() + rounded.tobytes()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Runs:
    """Extents along x, slab by slab: row (n,) int64, low_mm and high_mm (n,) float64.

    Sorted by row, then by x; runs of one row do not touch.
    """

    row: Ints
    low_mm: Floats
    high_mm: Floats

    def bands(self) -> Bands:
        """Join equal runs of consecutive slabs."""
        if len(self.row) == 0:
            return Bands(start=self.row, end=self.row, low_mm=self.low_mm, high_mm=self.high_mm)
        order = np.lexsort((self.row, self.high_mm, self.low_mm))
        row, low, high = self.row[order], self.low_mm[order], self.high_mm[order]
        fresh = np.ones(len(row), dtype=bool)
        fresh[1:] = (low[1:] != low[:-1]) | (high[1:] != high[:-1]) | (row[1:] != row[:-1] + 1)
        first = np.flatnonzero(fresh)
        last = np.append(first[1:], len(row)) - 1
        return Bands(start=row[first], end=row[last] + 1, low_mm=low[first], high_mm=high[first])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Turned:
    """A footprint at one turn, its grown bounding box moved to the origin.

    `grown` are the bands of the outline grown by half the clearance, `bare` those of the outline
    itself (None if nobody asks for them), both in the same frame.  `origin_mm` is where the
    footprint's own origin then lies.  Shapes of one `digest` are equal.
    """

    width_mm: float
    depth_mm: float
    origin_mm: tuple[float, float]
    grown: Bands
    bare: Bands | None
    digest: bytes

    def key(self) -> bytes:
        """Return the same bytes for the same shape, noise aside."""
        return self.grown.key() + (self.bare.key() if self.bare else b"")

    def size_bytes(self) -> int:
        """Return roughly what it takes up in memory."""
        return 1000 + 32 * (len(self.grown.start) + (len(self.bare.start) if self.bare else 0))


def region(footprint: Footprint) -> Region:
    """Return the footprint as one shapely region; raises ValueError if it has no area."""
    parts = [
        shapely.Polygon(rings[0], [hole for hole in rings[1:] if len(hole) > 2])
        for rings in footprint.polygons_mm
    ]
    valid = [part if part.is_valid else shapely.make_valid(part) for part in parts]
    joined = surface(shapely.union_all(valid))
    if joined.area <= 0:
        raise ValueError("the footprint has no area")
    return joined


def turned_region(shape: Region, rotation_deg: float) -> Region:
    """Turn a region counter-clockwise about the origin; quarter turns are exact."""
    cosine, sine = cos_sin(rotation_deg)
    return affinity.affine_transform(shape, [cosine, -sine, sine, cosine, 0.0, 0.0])


def cos_sin(rotation_deg: float) -> tuple[float, float]:
    """Return cosine and sine of an angle, exact at quarter turns.

    >>> cos_sin(270.0)
    (0.0, -1.0)
    """
    quarters = rotation_deg / 90.0
    if quarters == int(quarters):
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]
    return cos(radians(rotation_deg)), sin(radians(rotation_deg))


def grown_region(shape: Region, radius_mm: float) -> Region:
    """Grow a region by a distance, never by less; straight edges move by exactly that much.

    The intersection of three supersets of the true growth: with mitred corners (exact along
    straight edges), with arcs replaced by polygons round them, and the grown bounding box.
    Each candidate is measured; where GEOS falls short, a plainer one is taken.
    """
    if radius_mm <= 0:
        return shape
    mitred = shape.buffer(radius_mm, join_style="mitre", mitre_limit=4.0)
    rounded = rounded_outside(shape, radius_mm)
    low_x, low_y, high_x, high_y = shape.bounds
    frame = shapely.box(
        low_x - radius_mm, low_y - radius_mm, high_x + radius_mm, high_y + radius_mm
    )
    for parts in ([mitred, rounded, frame], [rounded, frame]):
        grown = surface(shapely.intersection_all(parts))
        if shape.distance(grown.boundary) >= radius_mm - SNAP and grown.covers(shape):
            return grown
    return rounded_outside(shape, 1.01 * radius_mm)


def rounded_outside(shape: Region, radius_mm: float) -> Region:
    """Grow a region with round corners, arcs replaced by polygons that lie outside them.

    GEOS rounds the number of chords of an arc to the nearest, so that a chord may span up to
    one and a half times the nominal angle.
    """
    half_angle = 1.5 * (pi / 2 / _ARC_SEGMENTS) / 2
    return surface(shape.buffer(radius_mm / cos(half_angle), quad_segs=_ARC_SEGMENTS))


def turn(
    shape: Region,
    rotation_deg: float,
    *,
    clearance_mm: float,
    step_mm: float,
    keep_outs: bool = True,
    rough: bool = False,
) -> Turned:
    """Turn a region, grow it, cut it into slabs; see `Turned` for the frame.

    `bare` is left out unless there are `keep_outs`.  `rough` grows with round corners only,
    which is quicker.
    """
    placed = turned_region(shape, rotation_deg)
    if rough and clearance_mm:
        grown = _rounded_in_frame(placed, clearance_mm / 2)
    else:
        grown = grown_region(placed, clearance_mm / 2)
    low_x, low_y, high_x, high_y = grown.bounds
    slab_mm = step_mm / SLABS
    bands = outer_runs(affinity.translate(grown, -low_x, -low_y), slab_mm).bands()
    bare = (
        outer_runs(affinity.translate(placed, -low_x, -low_y), slab_mm).bands()
        if keep_outs
        else None
    )
    return Turned(
        width_mm=high_x - low_x,
        depth_mm=high_y - low_y,
        origin_mm=(-low_x, -low_y),
        grown=bands,
        bare=bare,
        digest=_digest(bands, bare),
    )


def _digest(*bands: Bands | None) -> bytes:
    whole = blake2b(digest_size=16)
    for own in bands:
        if own is not None:
            for column in (own.start, own.end, own.low_mm + 0.0, own.high_mm + 0.0):
                whole.update(column.tobytes())
    return whole.digest()


def _rounded_in_frame(shape: Region, radius_mm: float) -> Region:
    low_x, low_y, high_x, high_y = shape.bounds
    return surface(
        shapely.clip_by_rect(
            rounded_outside(shape, radius_mm),
            low_x - radius_mm,
            low_y - radius_mm,
            high_x + radius_mm,
            high_y + radius_mm,
        )
    )


def outer_runs(shape: Region, slab_mm: float) -> Runs:
    """Return, per slab, the exact extent along x of the part of the shape inside the slab.

    The extent of a region is the extent of its boundary, which inside a slab consists of pieces
    of edges and of the stretches where the slab's two border lines cross the shape.
    """
    start, end = _edges(shape, slab_mm)
    pieces = [_edge_pieces(start, end), *_border_stretches(start, end)]
    row, low, high = (np.concatenate(columns) for columns in zip(*pieces, strict=True))
    return merged(row, low, high)


def inner_runs(shape: Region, slab_mm: float) -> Runs:
    """Return, per slab, where the shape covers the slab's whole height: never too much."""
    start, end = _edges(shape, slab_mm)
    edges = merged(*_edge_pieces(start, end))
    stretches = merged(*_border_stretches(start, end)[0])
    same = edges.row[:-1] == edges.row[1:]
    low, high, row = edges.high_mm[:-1][same], edges.low_mm[1:][same], edges.row[:-1][same]
    span = 4.0 * (1.0 + float(np.abs(np.concatenate([edges.low_mm, edges.high_mm])).max()))
    middle = row * span + (low + high) / 2
    at = np.searchsorted(stretches.row * span + stretches.low_mm, middle) - 1
    inside = (at >= 0) & ((stretches.row * span + stretches.high_mm)[np.maximum(at, 0)] > middle)
    return Runs(row=row[inside], low_mm=low[inside], high_mm=high[inside])


def merged(row: Ints, low: Floats, high: Floats) -> Runs:
    """Join intervals of one row that overlap or touch; ends are rounded to 1e-9 mm.

    Rounding makes equal runs equal in spite of noise, so that they join into bands.
    """
    low, high = low.round(9), high.round(9)
    if len(row) == 0:
        return Runs(row=row, low_mm=low, high_mm=high)
    order = np.lexsort((high, low, row))
    row, low, high = row[order], low[order], high[order]
    span = 4.0 * (1.0 + float(np.abs(low).max()) + float(np.abs(high).max()))
    reach = np.maximum.accumulate(high + row * span)
    fresh = np.ones(len(row), dtype=bool)
    fresh[1:] = low[1:] + row[1:] * span > reach[:-1] + SNAP
    first = np.flatnonzero(fresh)
    return Runs(row=row[first], low_mm=low[first], high_mm=np.maximum.reduceat(high, first))


def joined(bands: Sequence[Bands]) -> Bands:
    """Return the bands of several shapes as those of one; they may overlap."""
    return Bands(
        start=np.concatenate([own.start for own in bands]),
        end=np.concatenate([own.end for own in bands]),
        low_mm=np.concatenate([own.low_mm for own in bands]),
        high_mm=np.concatenate([own.high_mm for own in bands]),
    )


def cells(length_mm: float, step_mm: float) -> int:
    """Return how many grid steps a length takes up.

    >>> cells(49.0, 1.0), cells(49.2, 1.0)
    (49, 50)
    """
    return max(1, ceil(length_mm / step_mm - SNAP))


def surface(shape: shapely.Geometry) -> Region:
    """Keep what has an area: lines and points left by a set operation are no part of it."""
    if isinstance(shape, shapely.Polygon | shapely.MultiPolygon):
        return shape
    parts = [part for part in shapely.get_parts(shape) if part.area > 0]
    return shapely.union_all([surface(part) for part in parts])


def _edges(shape: Region, slab_mm: float) -> tuple[Floats, Floats]:
    """Return the ends of all edges, (n, 2): x in mm, y in slabs, snapped to slab borders."""
    starts, ends = [], []
    for polygon in shapely.get_parts(shape):
        for ring in (polygon.exterior, *polygon.interiors):
            points = shapely.get_coordinates(ring)
            points[:, 1] /= slab_mm
            nearest = np.rint(points[:, 1])
            near = np.abs(points[:, 1] - nearest) * slab_mm < SNAP
            points[near, 1] = nearest[near]
            starts.append(points[:-1])
            ends.append(points[1:])
    return np.concatenate(starts), np.concatenate(ends)


def _edge_pieces(start: Floats, end: Floats) -> tuple[Ints, Floats, Floats]:
    """Cut every edge at the slab borders: (row, lowest x, highest x) of each piece."""
    upward = start[:, 1] <= end[:, 1]
    low = np.where(upward[:, None], start, end)
    high = np.where(upward[:, None], end, start)
    first = np.floor(low[:, 1]).astype(np.int64)
    count = np.ceil(high[:, 1]).astype(np.int64) - first
    edge, row = _spread(first, count)
    bottom = _x_at(low[edge], high[edge], np.maximum(row, low[edge, 1]), low[edge, 0])
    top = _x_at(low[edge], high[edge], np.minimum(row + 1, high[edge, 1]), high[edge, 0])
    return row, np.minimum(bottom, top), np.maximum(bottom, top)


def _border_stretches(
    start: Floats, end: Floats
) -> tuple[tuple[Ints, Floats, Floats], tuple[Ints, Floats, Floats]]:
    """Return where slab borders cross the shape, seen from the slab above and from below."""
    slanted = start[:, 1] != end[:, 1]
    start, end = start[slanted], end[slanted]
    upward = (start[:, 1] < end[:, 1])[:, None]
    low, high = np.where(upward, start, end), np.where(upward, end, start)
    first = np.ceil(low[:, 1]).astype(np.int64)
    bottom = _crossings(low, high, first, np.ceil(high[:, 1]).astype(np.int64) - first)
    first = np.floor(low[:, 1]).astype(np.int64) + 1
    line, left, right = _crossings(
        low, high, first, np.floor(high[:, 1]).astype(np.int64) + 1 - first
    )
    return bottom, (line - 1, left, right)


def _crossings(low: Floats, high: Floats, first: Ints, count: Ints) -> tuple[Ints, Floats, Floats]:
    """Pair the crossings of each border line, left to right: inside lies between a pair."""
    edge, line = _spread(first, count)
    x = _x_at(low[edge], high[edge], line.astype(np.float64), low[edge, 0])
    order = np.lexsort((x, line))
    return line[order][::2], x[order][::2], x[order][1::2]


def _spread(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Write out the ranges first .. first + count - 1: (which range, value)."""
    which = np.repeat(np.arange(len(first)), count)
    before = np.cumsum(count) - count
    return which, first[which] + np.arange(len(which)) - before[which]


def _x_at(low: Floats, high: Floats, y: Floats, level_x: Floats) -> Floats:
    """Return x on each edge at height y; a level edge has no such x and gives `level_x`."""
    rise = high[:, 1] - low[:, 1]
    level = rise == 0
    share = (y - low[:, 1]) / np.where(level, 1.0, rise)
    return np.where(level, level_x, low[:, 0] + share * (high[:, 0] - low[:, 0]))
