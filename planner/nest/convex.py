"""Convex pieces of a shape, and the half-planes of offsets that keep two pieces apart.

Two open regions meet exactly when a piece of one meets a piece of the other, however the
pieces were cut.  Two convex pieces do not meet exactly when the offset between them lies
beyond one edge of the polygon "first piece plus the second one mirrored" (Minkowski sum).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.shape import Floats, Region

_LEVEL = 1e-9
"""Turns whose sine times squared length is below this share count as straight."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walls:
    """Edges of the forbidden offsets of one shape against another, piece by piece.

    `normal` (pieces, edges, 2) points outwards and has length 1; the pieces are apart by s mm
    if normal . offset - far_mm is s for some edge.  Rows are filled up with walls at infinity,
    so that `far_mm` (pieces, edges) may hold inf.
    """

    normal: Floats
    far_mm: Floats


def convex_pieces(shape: Region) -> tuple[Floats, ...]:
    """Cut a region into convex polygons, corners (n, 2) counter-clockwise.

    Triangles are joined over their longest common sides for as long as they stay convex
    (after Hertel and Mehlhorn 1983, "Fast triangulation of simple polygons"): at most four
    times as many pieces as there could be.
    """
    return tuple(
        piece
        for part in shapely.get_parts(shape)
        for piece in _pieces(shapely.geometry.polygon.orient(part))
    )


def walls_between(fixed: Sequence[Floats], moving: Sequence[Floats]) -> Walls:
    """Return the walls of the moving shape's offsets against the fixed one."""
    pairs = [_walls(one, other) for one in fixed for other in moving]
    most = max(len(far) for _, far in pairs)
    normal = np.zeros((len(pairs), most, 2))
    far_mm = np.full((len(pairs), most), np.inf)
    for number, (own, far) in enumerate(pairs):
        normal[number, : len(far)], far_mm[number, : len(far)] = own, far
    return Walls(normal=normal, far_mm=far_mm)


def _walls(fixed: Floats, moving: Floats) -> tuple[Floats, Floats]:
    sides = np.concatenate([np.roll(fixed, -1, 0) - fixed, moving - np.roll(moving, -1, 0)])
    normal = np.column_stack([sides[:, 1], -sides[:, 0]])
    normal /= np.hypot(normal[:, 0], normal[:, 1])[:, None]
    normal = normal[np.lexsort((normal[:, 1], normal[:, 0]))]
    fresh = np.ones(len(normal), dtype=bool)
    fresh[1:] = np.abs(normal[1:] - normal[:-1]).sum(axis=1) > _LEVEL
    normal = normal[fresh]
    return normal, (fixed @ normal.T).max(axis=0) - (moving @ normal.T).min(axis=0)


def _pieces(polygon: shapely.Polygon) -> list[Floats]:
    from manifold3d import triangulate  # noqa: PLC0415  (only strips need it)

    rings = [np.array(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    points = np.concatenate(rings)
    triangles = [[int(corner) for corner in row] for row in triangulate(rings)]
    return [_bare(points[corners]) for corners in _joined(points, triangles)]


def _joined(points: Floats, triangles: Sequence[list[int]]) -> list[list[int]]:
    """Join polygons (lists of corners) over common sides, the longest first."""
    polygons = dict(enumerate(triangles))
    owner = {side: number for number, corners in polygons.items() for side in _sides(corners)}
    inner = [side for side in owner if side[0] < side[1] and side[::-1] in owner]
    length = {(a, b): float(np.hypot(*(points[a] - points[b]))) for a, b in inner}
    for a, b in sorted(inner, key=lambda side: (-length[side], side)):
        one, other = owner[a, b], owner[b, a]
        if one == other:
            continue
        corners = _started(polygons[one], b) + _started(polygons[other], a)[1:-1]
        if len(set(corners)) == len(corners) and _is_convex(points[corners]):
            polygons[one] = corners
            del polygons[other]
            owner.update(dict.fromkeys(_sides(corners), one))
    return list(polygons.values())


def _sides(corners: Sequence[int]) -> list[tuple[int, int]]:
    return list(zip(corners, [*corners[1:], corners[0]], strict=True))


def _started(corners: list[int], first: int) -> list[int]:
    place = corners.index(first)
    return corners[place:] + corners[:place]


def _turns(corners: Floats) -> Floats:
    """Return the cross product of the sides before and after each corner, scaled."""
    after = np.roll(corners, -1, 0) - corners
    before = corners - np.roll(corners, 1, 0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    scaled: Floats = cross / np.abs(after).max() ** 2
    return scaled


def _is_convex(corners: Floats) -> bool:
    return bool((_turns(corners) >= -_LEVEL).all())


def _bare(corners: Floats) -> Floats:
    """Leave out corners at which nothing turns."""
    kept = corners[_turns(corners) > _LEVEL]
    return kept if len(kept) > 2 else corners
