"""The brick: rigid moves cost nothing, constant stress is exact, and one brick can bend."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st

from planner.strength.brick import CORNERS, POISSON, elasticity, stiffness, strain_inside

SIZES = np.array([[1.0, 0.7, 2.0]])
FULL = np.ones((1, 8))


def linear(gradient, sizes=SIZES):
    """Return the corner moves of a brick in a field with this (3, 3) gradient."""
    return (CORNERS * sizes[0] @ np.array(gradient).T).reshape(1, 24)


def strain_of(gradient):
    even = (gradient + gradient.T) / 2
    return np.array([*np.diag(even), 2 * even[1, 2], 2 * even[0, 2], 2 * even[0, 1]])


def test_rigid_moves_need_no_force():
    """Three shifts and three small turns, of a brick that is half empty."""
    matrix = stiffness(SIZES, np.array([[1, 1, 0.5, 0, 1, 0.25, 0, 0]]))[0]
    turns = [np.cross(np.eye(3), axis) for axis in np.eye(3)]

    for gradient in turns:
        assert np.abs(matrix @ linear(gradient)[0]).max() < 1e-12
    for axis in np.eye(3):
        assert np.abs(matrix @ np.tile(axis, 8)).max() < 1e-12


@given(st.integers(0, 10_000))
@limits(max_examples=20, deadline=None)
def test_constant_strain_is_met_exactly_however_full_the_brick_is(seed):
    """Patch test: the energy is volume x share x strain . law . strain / 2, no mode joins in."""
    random = np.random.default_rng(seed)
    gradient = random.standard_normal((3, 3))
    weights = np.round(random.uniform(0.1, 1.0, (1, 8)), 3)
    strain = strain_of(gradient)

    moves = linear(gradient)
    energy = moves[0] @ stiffness(SIZES, weights)[0] @ moves[0]
    (mean,), (slope,) = strain_inside(SIZES, weights, weights, moves[None])

    expected = SIZES.prod() * weights.mean() * strain @ elasticity() @ strain
    assert energy == pytest.approx(expected, rel=1e-9)
    assert mean[0] == pytest.approx(strain, abs=1e-9)
    assert np.abs(slope).max() < 1e-9


def test_one_brick_bends_as_a_beam_does():
    """Pure bending of a flat brick: E I curvature^2 x length; a plain brick is far stiffer."""
    sizes = np.array([[4.0, 1.0, 1.0]])
    curvature = 0.01
    x, y, z = (CORNERS * sizes[0] - sizes[0] / 2).T
    moves = np.zeros((8, 3))
    moves[:, 0] = -curvature * x * y  # bending; that it also bows in y is up to the modes
    moves[:, 2] = POISSON * curvature * y * z

    energy = moves.ravel() @ stiffness(sizes, FULL)[0] @ moves.ravel()
    _, (slope,) = strain_inside(sizes, FULL, FULL, moves.reshape(1, 1, 24))

    expected = 1.0 * (1.0 / 12.0) * curvature**2 * 4.0
    assert energy == pytest.approx(expected, rel=1e-9)
    assert slope[0, 0, 1] == pytest.approx(-curvature)
    assert slope[0, 1, 1] == pytest.approx(POISSON * curvature)


def test_the_law_of_elasticity_gives_modulus_and_ratio():
    """Pulled in x only: strain 1 / E along, -nu / E across."""
    strain = np.linalg.solve(elasticity(), np.eye(6)[0])

    assert strain[:3] == pytest.approx([1.0, -POISSON, -POISSON])
