"""Several closed bodies in one mesh: which are voids, which overlap, which are inside out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from planner.solid.kernel import Manifold, build, surface
from planner.solid.model import Repair
from planner.solid.orient import Bodies, body_volumes
from planner.solid.weld import drop_unused

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices

SAME_VOLUME = 1e-6
"""Bodies whose union keeps this share of their summed volume only touch; float noise is
1e-12, a fillet that sinks in by a micrometre changes more."""

MANY = 2000
"""Beyond so many bodies their boxes are not compared in pairs: all go through one union."""


def settle(vertices: Floats, bodies: Bodies) -> tuple[Floats, Indices, tuple[Repair, ...]]:
    """Return one outward surface of all bodies, and what was done to them.

    A body of negative volume inside another is a void and stays; one that lies free is
    inside out and is turned. Overlapping bodies are united, others are left untouched.
    """
    shells, repairs = _face_outwards(_shells(vertices, bodies))
    if not _any_overlap(shells):
        return vertices, shells.triangles, repairs
    united = _unite(shells)
    before = float(shells.volumes.sum())
    if united is None or abs(united.volume() - before) <= SAME_VOLUME * before:
        return vertices, shells.triangles, repairs
    text = (
        f"united overlapping bodies ({bodies.count} in the file): the volume counted "
        f"{before:.6g} mm3 before and is {united.volume():.6g} mm3 now"
    )
    return *surface(united), (*repairs, Repair(kind="union", text=text))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Shells:
    """Bodies with their signed volumes (b,) and boxes `low` and `high` (b, 3)."""

    vertices: Floats
    triangles: Indices
    body: Indices
    volumes: Floats
    low: Floats
    high: Floats

    def rows(self, body: int) -> Indices:
        """Return the triangles of one body."""
        own: Indices = self.triangles[self.body == body]
        return own


def _shells(vertices: Floats, bodies: Bodies) -> _Shells:
    corners = vertices[bodies.triangles]
    low = np.full((bodies.count, 3), np.inf)
    high = np.full((bodies.count, 3), -np.inf)
    np.minimum.at(low, bodies.body, corners.min(axis=1))
    np.maximum.at(high, bodies.body, corners.max(axis=1))
    return _Shells(
        vertices=vertices,
        triangles=bodies.triangles,
        body=bodies.body,
        volumes=body_volumes(vertices, bodies),
        low=low,
        high=high,
    )


def _face_outwards(shells: _Shells) -> tuple[_Shells, tuple[Repair, ...]]:
    """Turn bodies that are inside out; all of them first if the whole volume is negative."""
    count = len(shells.volumes)
    sign = np.full(count, -1 if shells.volumes.sum() < 0 else 1)
    whole = _turned(shells, sign)
    for body in np.flatnonzero(whole.volumes < 0).tolist():
        if _enclosing(whole, body) is None:
            sign[body] *= -1
    turned = int((sign < 0).sum())
    if turned == 0:
        return shells, ()
    which = "the surface" if count == 1 else f"{turned} of {count} bodies"
    text = f"{which} faced inwards (the volume was negative) and was turned inside out"
    return _turned(shells, sign), (Repair(kind="inside-out", text=text),)


def _turned(shells: _Shells, sign: Indices) -> _Shells:
    """Turn over the bodies with a negative sign."""
    over = (sign < 0)[shells.body][:, None]
    return replace(
        shells,
        triangles=np.where(over, shells.triangles[:, ::-1], shells.triangles),
        volumes=shells.volumes * sign,
    )


def _enclosing(shells: _Shells, void: int) -> int | None:
    """Return the smallest body of positive volume around a body of negative volume."""
    point = shells.vertices[shells.rows(void)[0]].mean(axis=0)
    fits = (shells.low <= point) & (point <= shells.high)
    larger = shells.volumes >= -shells.volumes[void]
    around = [
        body
        for body in np.flatnonzero(fits.all(axis=1) & larger).tolist()
        if winding_number(point, shells.vertices, shells.rows(body)) > 0.5
    ]
    return min(around, key=lambda body: (shells.volumes[body], body), default=None)


def winding_number(point: Floats, vertices: Floats, triangles: Indices) -> float:
    """Return how often a closed surface winds round a point: 1 inside, 0 outside.

    Sum of signed solid angles over 4 pi: Van Oosterom and Strackee, IEEE Trans. Biomed. Eng.
    BME-30 (1983) 125-126 (from memory).
    """
    a, b, c = (vertices[triangles[:, corner]] - point for corner in range(3))
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    triple = np.einsum("ij,ij->i", a, np.cross(b, c))
    dots = [np.einsum("ij,ij->i", p, q) * r for p, q, r in ((a, b, lc), (b, c, la), (c, a, lb))]
    angles = 2 * np.arctan2(triple, la * lb * lc + np.sum(dots, axis=0))
    return float(angles.sum() / (4 * np.pi))


def _any_overlap(shells: _Shells) -> bool:
    """Tell whether the boxes of any two bodies of positive volume meet."""
    solid = np.flatnonzero(shells.volumes > 0)
    if len(solid) > MANY:
        return True
    low, high = shells.low[solid], shells.high[solid]
    meet = (low[:, None] <= high[None]).all(axis=2) & (high[:, None] >= low[None]).all(axis=2)
    return int(meet.sum()) > len(solid)


def _unite(shells: _Shells) -> Manifold | None:
    """Unite all bodies, each with its own voids; None if one of them will not build."""
    members = {body: [body] for body in np.flatnonzero(shells.volumes > 0).tolist()}
    for void in np.flatnonzero(shells.volumes < 0).tolist():
        owner = _enclosing(shells, void)
        if owner is not None:
            members[owner].append(void)
    built = []
    for own in members.values():
        rows = shells.triangles[np.isin(shells.body, own)]
        body = build(*drop_unused(shells.vertices, rows))
        if body is None:
            return None
        built.append(body)
    return Manifold.batch_boolean(built, manifold3d.OpType.Add)
