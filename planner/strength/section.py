"""The formula for bars on every layer plane: F / A + M c / I, a second opinion.

It is right for slender parts and costs milliseconds. It knows nothing of inner corners and
thin walls, and of a plane only if it parts the load from what is held.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.solid.kernel import as_manifold
from planner.solid.pose import rotation_to_up
from planner.strength.faces import centroid_mm, select
from planner.strength.model import SectionCheck

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.model import LoadCase
    from planner.solid.model import Solid

    Floats = NDArray[np.float64]

_PLANES = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Area, centroid, and second moments about axes through the centroid; mm, mm2, mm4."""

    area_mm2: float
    x_mm: float
    y_mm: float
    ixx_mm4: float
    iyy_mm4: float
    ixy_mm4: float


def section_of(rings: Sequence[Floats]) -> Section:
    """Return the properties of a region bounded by (n, 2) rings, holes clockwise.

    Green's theorem on polygons (e.g. Bourke 1988, from memory). Area 0 for no region.
    """
    if not rings:
        return Section(area_mm2=0.0, x_mm=0.0, y_mm=0.0, ixx_mm4=0.0, iyy_mm4=0.0, ixy_mm4=0.0)
    shift = np.concatenate(rings).mean(axis=0)  # near the middle, so that little cancels
    a = np.concatenate(rings) - shift
    b = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings]) - shift
    cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
    area = cross.sum() / 2
    if abs(area) < 1e-9:
        return section_of([])
    x, y = (cross @ (a + b)) / (6 * area)
    square = a * a + a * b + b * b
    ixx = cross @ square[:, 1] / 12 - area * y * y
    iyy = cross @ square[:, 0] / 12 - area * x * x
    mixed = a[:, 0] * b[:, 1] + 2 * (a * np.flip(a, axis=1))[:, 0]
    mixed = mixed + 2 * b[:, 0] * b[:, 1] + b[:, 0] * a[:, 1]
    return Section(
        area_mm2=float(area),
        x_mm=float(x + shift[0]),
        y_mm=float(y + shift[1]),
        ixx_mm4=float(ixx),
        iyy_mm4=float(iyy),
        ixy_mm4=float(cross @ mixed / 24 - area * x * y),
    )


def section_check(
    solid: Solid, cases: Sequence[LoadCase], up: tuple[float, float, float]
) -> SectionCheck:
    """Return the largest tension that the formula finds on any layer plane, over all cases.

    A part's own weight is left out.
    """
    found = [_one_case(solid, case, up) for case in cases]
    worst = max(found, key=lambda check: check.tension_mpa)
    return SectionCheck(
        tension_mpa=worst.tension_mpa,
        height_mm=worst.height_mm,
        planes=sum(check.planes for check in found),
    )


def _one_case(solid: Solid, case: LoadCase, up: tuple[float, float, float]) -> SectionCheck:
    turn = rotation_to_up(up)
    force, moment = turn @ np.array(case.force_n), turn @ np.array(case.moment_nmm)
    loaded, held = (select(solid, face, where=case.where) for face in (case.on, case.held))
    place = turn @ centroid_mm(solid, loaded)
    heights = solid.vertices_mm @ turn[2]
    load_z, held_z = (heights[solid.triangles[chosen]] for chosen in (loaded, held))
    if load_z.min() > held_z.max():
        low, high, side = held_z.max(), load_z.min(), 1.0
    elif held_z.min() > load_z.max():
        low, high, side = load_z.max(), held_z.min(), -1.0
    else:
        return SectionCheck(tension_mpa=0.0, height_mm=0.0, planes=0)
    body = as_manifold(solid).transform(np.hstack([turn, np.zeros((3, 1))]))
    steps = low + (high - low) * (np.arange(_PLANES) + 0.5) / _PLANES
    tensions = [
        _tension_mpa(
            body.slice(float(z)).to_polygons(), float(z), place, side * force, side * moment
        )
        for z in steps
    ]
    worst = int(np.argmax(tensions))
    return SectionCheck(
        tension_mpa=float(tensions[worst]), height_mm=float(steps[worst]), planes=_PLANES
    )


def _tension_mpa(
    rings: Sequence[Floats], z: float, place: Floats, force: Floats, moment: Floats
) -> float:
    """Return the largest tension on the plane at z; force and moment are on the part above it.

    Bending about both axes of an unsymmetric section (any handbook, e.g. Roark chapter 8).
    """
    section = section_of(rings)
    points = np.concatenate(rings) if rings else np.empty((0, 2))
    determinant = section.ixx_mm4 * section.iyy_mm4 - section.ixy_mm4**2
    if section.area_mm2 <= 1e-6 or determinant <= 1e-9:
        return 0.0
    arm = place - np.array([section.x_mm, section.y_mm, z])
    about_x, about_y, _ = np.cross(arm, force) + moment
    x, y = points[:, 0] - section.x_mm, points[:, 1] - section.y_mm
    by_x = about_x * section.iyy_mm4 + about_y * section.ixy_mm4
    by_y = about_y * section.ixx_mm4 + about_x * section.ixy_mm4
    bending = (by_x * y - by_y * x) / determinant
    return float((force[2] / section.area_mm2 + bending).max())
