"""Stress at the surface of a part, as planes fitted to the bricks around."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.surface import spread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.solid.model import Solid
    from planner.strength.case import Filled

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

AVERAGED = 0.7
"""Stress is fitted over a bead, or over this share of a brick if that is more (invented)."""

OWN = 0.1
"""Weight of the bricks' own slopes in a fit, per that of their middles (invented)."""

_BATCH = 2000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """One place per brick and facing, in the grid frame.

    points_mm (p, 3), normals (p, 3), area_mm2 (p,) of the surface each stands for, brick (p,)
    that it bounds, reach_mm (p,) over which stress is fitted.
    """

    points_mm: Floats
    normals: Floats
    area_mm2: Floats
    brick: Ints
    reach_mm: Floats


def surface_places(solid: Solid, filled: Filled, bead_mm: float) -> Places:
    """Spread places over the whole surface that bounds bricks."""
    turned = solid.vertices_mm @ filled.turn.T
    edge_mm = float(filled.edges_mm.min())
    points = spread(turned[solid.triangles], float(np.median(filled.edges_mm)) / 2)
    brick, _ = filled.lattice.find(points.points_mm - 1e-3 * edge_mm * points.normals)
    facing = np.argmax(np.abs(points.normals), axis=1)
    ahead = points.normals[np.arange(len(facing)), facing] > 0
    used = (brick >= 0) & (points.area_mm2 > 0)
    keys, group = np.unique((brick * 6 + 2 * facing + ahead)[used], return_inverse=True)
    weight = points.area_mm2[used]
    area: Floats = np.bincount(group, weights=weight).astype(np.float64)

    def mean(values: Floats) -> Floats:
        columns = [np.bincount(group, weights=weight * values[used, k]) for k in range(3)]
        return np.stack(columns, axis=1) / area[:, None]

    normals = mean(points.normals)
    normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-9)[:, None]
    return Places(
        points_mm=mean(points.points_mm),
        normals=normals,
        area_mm2=area,
        brick=keys // 6,
        reach_mm=np.maximum(bead_mm, AVERAGED * filled.edges_mm[keys // 6]),
    )


def fitted(filled: Filled, places: Places, stress: Floats, slopes: Floats) -> Floats:
    """Return (c, p, 6): a plane fitted to the stress of the 27 bricks around each place.

    stress: (c, n, 6) of c cases at the bricks' middles, slopes: (c, n, 6, 3) in them.
    Weights fall off as a Gaussian over the reach and with how little a brick holds. The
    bricks' own slopes take part with a tenth of the weight: they decide where only one brick
    goes through a wall and the middles alone say nothing of bending.
    """
    result = np.empty((len(stress), len(places.points_mm), 6))
    fill = filled.fill.mean(axis=1)
    for start in range(0, len(places.points_mm), _BATCH):
        piece = slice(start, start + _BATCH)
        near = filled.lattice.neighbours[places.brick[piece]]
        reach = places.reach_mm[piece]
        apart = (filled.middles_mm[near] - places.points_mm[piece, None]) / reach[:, None, None]
        weight = np.where(near >= 0, fill[near], 0.0) ** 2 * np.exp(-(apart**2).sum(axis=2) / 2)
        share = _shares(weight, apart)
        own = OWN * (share[:, :, 1:] * reach[:, None, None])
        for case in range(len(stress)):
            plain = np.einsum("pk,pkc->pc", share[:, :, 0], stress[case][near])
            result[case, piece] = plain + np.einsum("pka,pkca->pc", own, slopes[case][near])
    return result


def _shares(weight: Floats, apart: Floats) -> Floats:
    """Return (p, 27, 4): what each brick's stress, and its three slopes, count in the fit.

    The plane's value at the place is the first part of the solution of the normal equations
    (left) x = sum of weight x (terms x stress + own slopes), so a row of the inverse is all
    that is wanted.
    """
    terms = np.concatenate([np.ones((*weight.shape, 1)), apart], axis=2)
    left = np.einsum("pk,pki,pkj->pij", weight, terms, terms)
    left[:, [1, 2, 3], [1, 2, 3]] += OWN * weight.sum(axis=1)[:, None]
    row = np.linalg.solve(left, np.broadcast_to(np.eye(4)[:, :1], (len(left), 4, 1)))[..., 0]
    shares = np.empty((*weight.shape, 4))
    shares[..., 0] = weight * np.einsum("pki,pi->pk", terms, row)
    shares[..., 1:] = weight[..., None] * row[:, None, 1:]
    return shares
