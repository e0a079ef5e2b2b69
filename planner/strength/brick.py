"""Stiffness of eight-node bricks that may be partly filled, with incompatible modes.

Each brick is integrated at 2 x 2 x 2 Gauss points, each weighed by what its octant holds.
Nine incompatible modes (Wilson, Taylor, Doherty and Ghaboussi 1973; in the form of Taylor,
Beresford and Wilson, Int. J. Num. Meth. Eng. 10 (1976) 1211-1219, both from memory) let a
single brick bend. Their weighed mean strain is taken off, so that a state of constant
stress is met exactly however a brick is filled (the patch test).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

POISSON = 0.35
"""Poisson's ratio of unfilled thermoplastics, from memory; it moves stresses by little."""

EMPTY = 1e-3
"""Least weight of an octant in a brick that holds something: keeps the equations solvable."""

CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
"""Corner k of a brick lies at these ends of its edges; octants are numbered alike."""

GAUSS = (2 * CORNERS - 1) / np.sqrt(3)
"""The Gauss points, -1 to 1 along each edge, numbered as the octants they stand for."""

_BATCH = 1500


def elasticity(poisson: float = POISSON) -> Floats:
    """Return (6, 6): stress xx yy zz yz zx xy per engineering strain, for a modulus of 1."""
    lame = poisson / ((1 + poisson) * (1 - 2 * poisson))
    shear = 1 / (2 * (1 + poisson))
    matrix = np.diag([2 * shear] * 3 + [shear] * 3)
    matrix[:3, :3] += lame
    return matrix


def stiffness(sizes_mm: Floats, weights: Floats) -> Floats:
    """Return (n, 24, 24): the stiffness of n bricks for a modulus of 1 MPa, in N/mm.

    sizes_mm: (n, 3) edges; weights: (n, 8) share of full stiffness in each octant.
    Equal bricks are worked out once.
    """
    keys = np.hstack([np.round(sizes_mm, 6), _rounded(weights)])
    kinds, which = np.unique(keys, axis=0, return_inverse=True)
    made = np.empty((len(kinds), 24, 24))
    for start in range(0, len(kinds), _BATCH):
        piece = kinds[start : start + _BATCH]
        made[start : start + _BATCH] = _stiffness(piece[:, :3], piece[:, 3:])
    result: Floats = made[which.ravel()]
    return result


def _strains(sizes_mm: Floats, weights: Floats) -> Floats:
    """Return (n, 8, 6, 33): strain at the Gauss points per corner move and per mode."""
    plain = np.stack([strain_of_corners(sizes_mm, point) for point in GAUSS], axis=1)
    modes = np.stack([_strain_of_modes(sizes_mm, point) for point in GAUSS], axis=1)
    share = weights / weights.sum(axis=1, keepdims=True)
    modes = modes - np.einsum("nq,nqij->nij", share, modes)[:, None]
    return np.concatenate([plain, modes], axis=3)


def _modes_follow(
    sizes_mm: Floats, weights: Floats, strains: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return the whole stiffness (n, 33, 33), its rows of the modes, and modes per corner move."""
    volume = sizes_mm.prod(axis=1) / 8.0
    stresses = (weights * volume[:, None])[:, :, None, None] * (elasticity() @ strains)
    count = len(sizes_mm)
    whole = strains.reshape(count, 48, 33).transpose(0, 2, 1) @ stresses.reshape(count, 48, 33)
    across = whole[:, 24:, :24]
    return whole, across, -np.linalg.solve(whole[:, 24:, 24:], across)


def _stiffness(sizes_mm: Floats, weights: Floats) -> Floats:
    whole, across, follow = _modes_follow(sizes_mm, weights, _strains(sizes_mm, weights))
    condensed: Floats = whole[:, :24, :24] + across.transpose(0, 2, 1) @ follow
    return condensed


def strain_inside(
    sizes_mm: Floats, weights: Floats, fill: Floats, moves_mm: Floats
) -> tuple[Floats, Floats]:
    """Return the mean strain (c, n, 6) over what is filled, and its slopes (c, n, 6, 3) per mm.

    moves_mm: (c, n, 24) of the corners, for c cases. The slopes are a plane fitted through
    the Gauss points; with the modes they are those of pure bending even where one brick is
    all there is.
    """
    keys = np.hstack([np.round(sizes_mm, 6), _rounded(weights), np.maximum(fill, EMPTY)])
    kinds, which = np.unique(keys, axis=0, return_inverse=True)
    made = np.empty((len(kinds), 24, 24))
    for start in range(0, len(kinds), _BATCH):
        piece = kinds[start : start + _BATCH]
        made[start : start + _BATCH] = _strain_of_moves(piece[:, :3], piece[:, 3:11], piece[:, 11:])
    values = np.empty((len(moves_mm), len(keys), 24))
    for start in range(0, len(keys), _BATCH):
        some = slice(start, start + _BATCH)
        values[:, some] = np.einsum("nij,cnj->cni", made[which.ravel()[some]], moves_mm[:, some])
    return values[..., :6], values[..., 6:].reshape(*values.shape[:2], 6, 3)


def _strain_of_moves(sizes_mm: Floats, weights: Floats, fill: Floats) -> Floats:
    """Return (n, 24, 24): mean strain (6) and its slopes (6 x 3) per corner move."""
    strains = _strains(sizes_mm, weights)
    _, _, follow = _modes_follow(sizes_mm, weights, strains)
    per_move = strains[..., :24] + strains[..., 24:] @ follow[:, None]
    share = fill / fill.sum(axis=1, keepdims=True)
    mean = np.einsum("nq,nqij->nij", share, per_move)
    slope = np.einsum("nqij,qa->niaj", per_move, np.sign(GAUSS)) / 8.0
    slope /= (sizes_mm / (2.0 * np.sqrt(3.0)))[:, None, :, None]
    return np.concatenate([mean, slope.reshape(len(mean), 18, 24)], axis=1)


def _rounded(weights: Floats) -> Floats:
    return np.maximum(np.round(weights, 3), EMPTY)


def shape(point: Floats) -> Floats:
    """Return (n, 8): the corner weights at (n, 3) points of the brick, 0 to 1 along each edge."""
    ends = np.where(CORNERS[None] == 1, point[:, None], 1.0 - point[:, None])
    weights: Floats = ends.prod(axis=2)
    return weights


def strain_of_corners(sizes_mm: Floats, point: Floats) -> Floats:
    """Return (n, 6, 24): strain per corner move at one point, -1 to 1 along each edge."""
    signs = 2 * CORNERS - 1
    ends = 1 + signs * point
    slopes = np.empty((3, 8))
    for axis in range(3):
        one, other = (axis + 1) % 3, (axis + 2) % 3
        slopes[axis] = signs[:, axis] * ends[:, one] * ends[:, other] / 8.0
    return _strain(slopes[None] * (2.0 / sizes_mm)[:, :, None])


def _strain_of_modes(sizes_mm: Floats, point: Floats) -> Floats:
    """Return (n, 6, 9): strain of the modes 1 - x^2, 1 - y^2, 1 - z^2, each in three directions."""
    return _strain(np.diag(-2.0 * point)[None] * (2.0 / sizes_mm)[:, :, None])


def _strain(slopes: Floats) -> Floats:
    """Return (n, 6, 3 m) from (n, 3, m) slopes of m functions."""
    count, _, functions = slopes.shape
    strain = np.zeros((count, 6, functions, 3))
    x, y, z = slopes[:, 0], slopes[:, 1], slopes[:, 2]
    strain[:, 0, :, 0], strain[:, 1, :, 1], strain[:, 2, :, 2] = x, y, z
    strain[:, 3, :, 1], strain[:, 3, :, 2] = z, y
    strain[:, 4, :, 0], strain[:, 4, :, 2] = z, x
    strain[:, 5, :, 0], strain[:, 5, :, 1] = y, x
    return strain.reshape(count, 6, functions * 3)
