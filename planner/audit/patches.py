"""The places where a posed part hangs over air, each with its size and span."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from planner.solid.measure import facet_vectors
from planner.solid.pose import CONTACT_BAND_MM, convex_hull

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.solid.model import Posed

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """One connected stretch of overhanging surface, seen from above.

    `area_mm2` is of the surface itself. `span_mm` is the least width between two parallel
    lines that hold it: what a bridge would have to cross. `ledge_mm` is twice the area of its
    shadow over the length of its edge: the width of a long strip, half the side of a square.
    """

    area_mm2: float
    span_mm: float
    ledge_mm: float


def patches(posed: Posed, overhang_deg: float) -> tuple[Patch, ...]:
    """Return the patches that lean out farther than an angle from the vertical, largest first.

    A vertical wall leans 0 degrees, a ceiling 90; what lies on the plate is left out.
    Triangles belong together where they share a corner.
    """
    vertices = posed.vertices_mm
    hanging = _hanging(vertices, posed.solid.triangles.astype(np.int64), overhang_deg)
    if len(hanging) == 0:
        return ()
    labels = _labels(hanging, len(vertices))
    ordered = hanging[np.argsort(labels, kind="stable")]
    groups = np.split(ordered, np.cumsum(np.bincount(labels))[:-1])
    found = [_patch(vertices, group) for group in groups]
    return tuple(sorted(found, key=lambda patch: (-patch.area_mm2, patch.span_mm)))


def _hanging(vertices: Floats, triangles: Ints, overhang_deg: float) -> Ints:
    vectors = facet_vectors(vertices, triangles)
    doubled = np.linalg.norm(vectors, axis=1)
    down = -vectors[:, 2] / np.where(doubled > 0, doubled, 1)
    leans = down > sin(radians(overhang_deg)) + 1e-6  # exactly at the angle is still allowed
    lifted = vertices[triangles, 2].max(axis=1, initial=0.0) > CONTACT_BAND_MM
    chosen: Ints = triangles[leans & lifted]
    return chosen


def _labels(triangles: Ints, corners: int) -> Ints:
    """Return the number of the connected group that each triangle belongs to, (t,)."""
    from scipy.sparse import coo_array  # noqa: PLC0415 (slow to import, and often not needed)
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415 (as above)

    rows = np.concatenate([triangles[:, 0], triangles[:, 1]])
    columns = np.concatenate([triangles[:, 1], triangles[:, 2]])
    links = coo_array((np.ones(len(rows)), (rows, columns)), shape=(corners, corners))
    _, of_corner = connected_components(links, directed=False)
    _, labels = np.unique(of_corner[triangles[:, 0]], return_inverse=True)
    return labels.astype(np.int64)


def _patch(vertices: Floats, triangles: Ints) -> Patch:
    vectors = facet_vectors(vertices, triangles)
    edge = _edge_mm(vertices[:, :2], triangles)
    shadow = float(-vectors[:, 2].sum()) / 2
    return Patch(
        area_mm2=float(np.linalg.norm(vectors, axis=1).sum()) / 2,
        span_mm=_least_width(convex_hull(vertices[np.unique(triangles), :2])),
        ledge_mm=2 * shadow / edge if edge > 0 else float("inf"),
    )


def _edge_mm(flat: Floats, triangles: Ints) -> float:
    """Length, seen from above, of the sides that belong to one triangle only."""
    sides = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    once, counts = np.unique(sides, axis=0, return_counts=True)
    border = flat[once[counts == 1]]
    return float(np.linalg.norm(border[:, 1] - border[:, 0], axis=1).sum())


def _least_width(hull: list[tuple[float, float]]) -> float:
    """Least distance between parallel lines that hold a convex polygon.

    One of the two lines runs along a side of it (Houle and Toussaint, IEEE Trans. Pattern
    Analysis 10 (1988) 761-765, from memory).
    """
    if len(hull) < 3:
        return 0.0
    points = np.array(hull)
    return min(
        float(np.max((points[:, 1] - ay) * (bx - ax) - (points[:, 0] - ax) * (by - ay)))
        / hypot(bx - ax, by - ay)
        for (ax, ay), (bx, by) in zip(hull, [*hull[1:], hull[0]], strict=True)
    )
