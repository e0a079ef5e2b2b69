"""Turn a solid so that its build direction points up, and set it down on the plate."""

from __future__ import annotations

from math import atan2, degrees, hypot, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from planner.solid.footprint import silhouette
from planner.solid.measure import centre_of_mass, facet_vectors, middle, signed_volume
from planner.solid.model import Posed

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices, Solid

CONTACT_BAND_MM = 0.02
"""Surface lower than this lies on the plate: a tenth of a usual first layer (invented)."""

OVERHANG_DEG = 45.0
"""Surfaces leaning out farther than this from the vertical count as overhang: up to 45 deg
printed unsupported in Mazlan, Abdul Kadir, Yusof, Wahab, J. Adv. Ind. Technol. Appl. (2020)
38-47."""

EXACTLY = 1e-9
"""A direction this near to an axis is that axis: rotations then hold 0, 1 and -1 only."""


def pose(solid: Solid, up: tuple[float, float, float] = (0.0, 0.0, 1.0)) -> Posed:
    """Return the solid turned so that `up`, a direction in its own frame, is +z.

    The lowest corner of the turned shape is the origin. Raises ValueError for a direction of
    no length.

    contact: downward surface within `CONTACT_BAND_MM` of the plate, projected on it.
    overhang: surface leaning out more than `OVERHANG_DEG`, that on the plate left out;
    bridges and ceilings count. tip: the tilt about the nearest edge of the contact's convex
    hull that brings the centre of mass over that edge, for a solid of even density. For a
    solid that is not closed all three are as good as the facing of its triangles.
    """
    rotation = rotation_to_up(up)
    turned = solid.vertices_mm @ rotation.T
    vertices = turned - turned.min(axis=0)
    size = vertices.max(axis=0)
    return Posed(
        solid=solid,
        up=up,
        rotation=rotation,
        vertices_mm=vertices,
        size_mm=(float(size[0]), float(size[1]), float(size[2])),
        contact_mm2=_contact_mm2(vertices, solid.triangles),
        overhang_mm2=_overhang_mm2(vertices, solid.triangles, OVERHANG_DEG),
        tip_deg=_tip_deg(vertices, _balance_point(solid, vertices)),
        footprint=silhouette(vertices, solid.triangles, closed=solid.closed),
    )


def overhang_mm2(posed: Posed, overhang_deg: float) -> float:
    """Return the area of surface that leans out more than an angle from the vertical.

    A vertical wall leans 0 deg, a ceiling 90 deg. What lies on the plate is left out.
    """
    return _overhang_mm2(posed.vertices_mm, posed.solid.triangles, overhang_deg)


def rotation_to_up(up: tuple[float, float, float]) -> Floats:
    """Return the (3, 3) rotation of least angle that takes `up` to +z.

    -z is turned about x. Rodrigues' formula with axis up x z = (y, -x, 0).

    >>> rotation_to_up((1, 0, 0)) @ [1.0, 0.0, 0.0]
    array([0., 0., 1.])
    """
    length = float(np.linalg.norm(up))
    if not (np.isfinite(length) and length > 0):
        raise ValueError(f"up is {up}; expected a direction")
    x, y, z = (0.0 if abs(part) < EXACTLY * length else part / length for part in up)
    level = x * x + y * y
    if level == 0 and z < 0:
        return np.diag([1.0, -1.0, -1.0])
    scale = 1 / (1 + z) if z >= 0 else (1 - z) / level  # equal; each where it is accurate
    return np.array(
        [
            [1 - x * x * scale, -x * y * scale, -x],
            [-x * y * scale, 1 - y * y * scale, -y],
            [x, y, z],
        ]
    )


def _downward(vertices: Floats, triangles: Indices) -> tuple[Floats, Floats, Floats]:
    """Return per triangle: its area, the downward part of its normal, its highest point."""
    vectors = facet_vectors(vertices, triangles)
    doubled = np.linalg.norm(vectors, axis=1)
    down = -vectors[:, 2] / np.where(doubled > 0, doubled, 1)
    return doubled / 2, down, vertices[triangles, 2].max(axis=1)


def _contact_mm2(vertices: Floats, triangles: Indices) -> float:
    area, down, top = _downward(vertices, triangles)
    return float((area * down)[(top <= CONTACT_BAND_MM) & (down > 0)].sum())


def _overhang_mm2(vertices: Floats, triangles: Indices, angle_deg: float) -> float:
    area, down, top = _downward(vertices, triangles)
    leans = down > sin(radians(angle_deg)) + 1e-6  # exactly at the angle is still allowed
    return float(area[leans & (top > CONTACT_BAND_MM)].sum())


def _balance_point(solid: Solid, vertices: Floats) -> Floats:
    """Return the centre of mass; of a mesh too open to have one, the middle of its box."""
    by_facets = signed_volume(vertices, solid.triangles)
    trusted = abs(by_facets - solid.volume_mm3) < 0.1 * solid.volume_mm3
    return centre_of_mass(vertices, solid.triangles) if trusted else middle(vertices)


def _tip_deg(vertices: Floats, centre: Floats) -> float:
    """Return atan(distance from the hull's nearest edge / height) of the centre of mass."""
    x, y, z = centre.tolist()
    hull = convex_hull(vertices[vertices[:, 2] <= CONTACT_BAND_MM][:, :2])
    if len(hull) < 3:
        return 0.0
    nearest = min(
        ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / hypot(bx - ax, by - ay)
        for (ax, ay), (bx, by) in zip(hull, hull[1:] + hull[:1], strict=True)
    )
    return max(0.0, degrees(atan2(nearest, z)))


def convex_hull(points: Floats) -> list[tuple[float, float]]:
    """Return the corners of the convex hull of (n, 2) points, counter-clockwise.

    Andrew's monotone chain (Inf. Proc. Letters 9 (1979) 216-219, from memory); points on an
    edge are left out; one or two points come back as they are.
    """
    ordered = [(float(x), float(y)) for x, y in np.unique(points, axis=0)]
    if len(ordered) < 3:
        return ordered
    return _half_hull(ordered)[:-1] + _half_hull(ordered[::-1])[:-1]


def _half_hull(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
    chain: list[tuple[float, float]] = []
    for x, y in ordered:
        while len(chain) > 1:
            (ax, ay), (bx, by) = chain[-2:]
            if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                break
            chain.pop()
        chain.append((x, y))
    return chain
