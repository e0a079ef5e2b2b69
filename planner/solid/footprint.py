"""The silhouette of a posed part seen from above, holes kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from planner.solid.kernel import Region, build
from planner.solid.measure import facet_vectors
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices

PLAIN = 64
"""A silhouette of no more vertices is left exactly as it is."""

GROW_MM, DROP_MM = 0.004, 0.003
"""A finer outline is grown by the first and thinned by the second, so it never loses area:
it covers the true silhouette and lies within 0.01 mm of it (mitres reach twice `GROW_MM`)."""

SPECK_MM2 = 1e-4
"""Holes and islands below this are rounding of the projection, not shape."""

BATCH = 256
"""Triangles united at a time; the unions are then united in turn, which keeps them quick."""


def silhouette(vertices: Floats, triangles: Indices, *, closed: bool) -> Footprint:
    """Return the union of all triangles projected on the plate, as polygons with holes."""
    body = build(vertices, triangles) if closed else None
    shadow = body.project() if body is not None else _union(vertices, triangles)
    return as_footprint(shadow)


def as_footprint(region: Region) -> Footprint:
    """Return a region as polygons; one of many vertices is thinned outwards (`GROW_MM`)."""
    pieces = [_rings(piece) for piece in region.decompose()]
    pieces = [rings for rings in pieces if _area(rings[0]) > SPECK_MM2]
    if sum(len(ring) for rings in pieces for ring in rings) > PLAIN:
        pieces = _thinned(pieces)
    return Footprint(polygons_mm=tuple(sorted(pieces, key=lambda rings: rings[0].tolist())))


def _rings(piece: Region) -> tuple[Floats, ...]:
    """Return the outer ring, then the holes, of a region in one piece; specks left out."""
    rings = sorted((_from_lowest(ring) for ring in piece.to_polygons()), key=_area, reverse=True)
    return (rings[0], *(ring for ring in rings[1:] if _area(ring) < -SPECK_MM2))


def _from_lowest(ring: Floats) -> Floats:
    """Start a ring at its leftmost, then lowest point, so that equal shapes read equally."""
    ring = np.array(ring, dtype=np.float64)
    return np.roll(ring, -int(np.lexsort((ring[:, 1], ring[:, 0]))[0]), axis=0)


def _area(ring: Floats) -> float:
    return Footprint(polygons_mm=((ring,),)).area_mm2


def _thinned(pieces: list[tuple[Floats, ...]]) -> list[tuple[Floats, ...]]:
    """Grow by `GROW_MM`, then drop vertices that matter less than `DROP_MM`."""
    import shapely  # noqa: PLC0415  kept out of the start-up path

    shape = shapely.union_all([shapely.Polygon(outer, holes) for outer, *holes in pieces])
    grown = shape.buffer(GROW_MM, join_style="mitre", mitre_limit=2.0).simplify(DROP_MM)
    polygons = shapely.get_parts(shapely.orient_polygons(grown))
    return [
        tuple(
            _from_lowest(shapely.get_coordinates(ring)[:-1])
            for ring in (polygon.exterior, *polygon.interiors)
        )
        for polygon in polygons
    ]


def _union(vertices: Floats, triangles: Indices) -> Region:
    """Unite the triangles themselves, neighbours first: the way of a mesh with no body."""
    doubled = facet_vectors(vertices, triangles)[:, 2]
    flat = vertices[triangles][:, :, :2]
    flat = np.where((doubled < 0)[:, None, None], flat[:, ::-1], flat)[np.abs(doubled) > 1e-9]
    flat = flat[np.lexsort(flat.min(axis=1).T)]
    parts = [
        Region(list(flat[start : start + BATCH]), manifold3d.FillRule.NonZero)
        for start in range(0, len(flat), BATCH)
    ]
    while len(parts) > 1:
        parts = [
            Region.batch_boolean(parts[start : start + BATCH], manifold3d.OpType.Add)
            for start in range(0, len(parts), BATCH)
        ]
    return parts[0] if parts else Region()
