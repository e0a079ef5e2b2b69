"""Speeds at corners: printed numbers, identities, and a step worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from planner.motion.corner import CornerSpeed, JunctionDeviation, SpeedStep

# Acceleration, deviation, angle between the moves (180 degrees: straight on), speed: computed
# from v = sqrt(a R), R = d sin(t/2) / (1 - sin(t/2)) of S. K. Jeon, note on a cornering
# algorithm, 24 September 2011.
DEVIATIONS = [
    (1000, 0.02, 60, 4.472136),
    (1000, 0.02, 90, 6.948688),
    (1000, 0.02, 120, 11.370226),
    (1000, 0.02, 135, 15.580161),
    (500, 0.013, 90, 3.961362),
    (1000, 0.02, 0, 0.0),
    (1000, 0.02, 180, np.inf),
]


def corner(angle_deg):
    """Return unit vectors of two moves with this angle between them, exact at 0, 90, 180."""
    exact = {0: (-1.0, 0.0), 90: (0.0, 1.0), 180: (1.0, 0.0)}
    turn = np.pi - np.radians(angle_deg)
    after = exact.get(angle_deg, (np.cos(turn), np.sin(turn)))
    return np.array([(1.0, 0.0), after]).T


@pytest.mark.parametrize(("gain", "deviation", "angle", "expected"), DEVIATIONS)
def test_deviation_gives_the_speeds_of_its_formula(gain, deviation, angle, expected):
    """Validation: seven digits as computed from the source's formula."""
    found = JunctionDeviation(deviation_mm=deviation).squared(
        corner(angle), np.array([gain, 2.0 * gain])
    )

    assert np.sqrt(found) == pytest.approx([expected], abs=5e-7)


@pytest.mark.parametrize("angle", [20, 60, 90, 135, 179])
def test_corner_speed_is_the_deviation_that_fits_a_right_angle(angle):
    """With R = d / (sqrt 2 - 1) at 90 degrees, both models agree at every angle."""
    gain, deviation = 1500.0, 0.02
    right = np.sqrt(gain * deviation / (np.sqrt(2) - 1))
    gains = np.array([gain, gain])

    found = CornerSpeed(speed_mm_s=right).squared(corner(angle), gains)

    by_deviation = JunctionDeviation(deviation_mm=deviation).squared(corner(angle), gains)
    assert found == pytest.approx(by_deviation, rel=1e-12)
    if angle == 90:
        assert np.sqrt(found) == pytest.approx([right], rel=1e-12)


@pytest.mark.parametrize("turn", [1e-3, 1e-6, 1e-9])
def test_nearly_straight_keeps_its_digits(turn):
    """Series: s / (1 - s) = 8 / turn^2 - 1 + O(turn^2) for a turn by a small angle."""
    directions = np.array([(1.0, 0.0), (np.cos(turn), np.sin(turn))]).T

    found = CornerSpeed(speed_mm_s=1.0).squared(directions, np.ones(2))

    # cos(turn) is rounded to 1 within 1.1e-16: |p - q|^2 is off by its square at most.
    expected = (np.sqrt(2) - 1) * (8 / turn**2 - 1)
    assert found == pytest.approx([expected], rel=1e-6)


def test_a_step_is_shared_by_the_axes():
    """From +x to +y each axis changes by v; in a reversal by 2 v; straight on by nothing."""
    model = SpeedStep(step_mm_s=(8.0, 6.0))
    gains = np.ones(2)

    assert np.sqrt(model.squared(corner(90), gains)) == pytest.approx([6.0])
    assert np.sqrt(model.squared(corner(0), gains)) == pytest.approx([4.0])
    assert np.isinf(model.squared(corner(180), gains)).all()


def test_one_parameter_per_move_counts_for_the_corner_before_it():
    """Three moves, right angles: the second's value at the first corner, the third's after."""
    directions = np.array([(1.0, 0.0), (0.0, 1.0), (1.0, 0.0)]).T
    values = np.array([1.0, 5.0, 7.0])

    found = np.sqrt(CornerSpeed(speed_mm_s=values).squared(directions, np.ones(3)))
    stepped = np.sqrt(SpeedStep(step_mm_s=(values, values)).squared(directions, np.ones(3)))

    assert found == pytest.approx([5.0, 7.0])
    assert stepped == pytest.approx([5.0, 7.0])


def test_no_speed_allowed_is_none_even_straight_on():
    """0 x infinity must not become 'no limit' nor NaN."""
    found = CornerSpeed(speed_mm_s=0.0).squared(corner(180), np.ones(2))

    assert found.tolist() == [0.0]
