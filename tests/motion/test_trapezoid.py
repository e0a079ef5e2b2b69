"""Times of single moves, against numbers worked out by hand from kinematics and by integration."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from planner.motion.trapezoid import seconds

# length, speed, acceleration, entry, exit, seconds. Worked from d = (v1^2 - v0^2) / 2a:
# e.g. 100 mm at 100 mm/s, 1000 mm/s2, rest to rest = 5 + 90 + 5 mm = 0.1 + 0.9 + 0.1 s.
BY_HAND = [
    (100, 100, 1000, 0, 0, 1.1),
    (10, 100, 1000, 0, 0, 0.2),  # just reaches its speed
    (5, 100, 1000, 0, 0, 2 * np.sqrt(5 / 1000)),  # peak 70.71 mm/s
    (50, 60, 500, 20, 10, 0.08 + 43.3 / 60 + 0.1),  # 3.2 + 43.3 + 3.5 mm
    (8, 100, 1000, 20, 10, (2 * np.sqrt(8250) - 30) / 1000),  # peak 90.83 mm/s
    (7, 30, 1000, 30, 30, 7 / 30),  # never changes speed
]


@pytest.mark.parametrize("case", BY_HAND)
def test_a_move_takes_what_kinematics_say(case):
    """Validation: closed forms, to rounding."""
    length, speed, gain, entry, leave, expected = case
    found = seconds(
        length, speed_mm_s=speed, acceleration_mm_s2=gain, entry_mm_s=entry, exit_mm_s=leave
    )

    assert float(found) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("length", "speed", "gain", "entry", "leave"), [c[:5] for c in BY_HAND])
def test_time_is_the_integral_of_one_over_speed(length, speed, gain, entry, leave):
    """Validation by another route: v(x) is the least of three curves; scipy adds up dx / v."""

    def pace(x):
        return 1 / min(
            speed,
            np.sqrt(entry**2 + 2 * gain * x),
            np.sqrt(leave**2 + 2 * gain * (length - x)),
        )

    kinks = [(speed**2 - entry**2) / (2 * gain), length - (speed**2 - leave**2) / (2 * gain)]
    kinks.append(length / 2 + (leave**2 - entry**2) / (4 * gain))
    inside = [x for x in kinks if 0 < x < length] or None
    expected, _ = quad(pace, 0, length, points=inside, limit=200)

    found = seconds(
        length, speed_mm_s=speed, acceleration_mm_s2=gain, entry_mm_s=entry, exit_mm_s=leave
    )
    assert float(found) == pytest.approx(expected, rel=1e-6)  # root singularity at rest


def test_arrays_give_the_same_as_scalars():
    """One call for many moves of different kinds returns each one's own time."""
    columns = np.array([case[:5] for case in BY_HAND], dtype=float).T

    found = seconds(
        columns[0],
        speed_mm_s=columns[1],
        acceleration_mm_s2=columns[2],
        entry_mm_s=columns[3],
        exit_mm_s=columns[4],
    )

    assert found == pytest.approx([case[5] for case in BY_HAND], rel=1e-12)


def test_no_length_takes_no_time():
    """Zeros are common in tables of [layer, feature]."""
    found = seconds([0.0, 1.0], speed_mm_s=50, acceleration_mm_s2=[1000, 1000])

    assert found[0] == 0.0
    assert found[1] > 0.0


def test_an_impossible_change_of_speed_is_refused():
    """From 100 to 0 mm/s takes 5 mm at 1000 mm/s2; 4.9 mm are not enough, 5 mm just are."""
    seconds(5.0, speed_mm_s=100, acceleration_mm_s2=1000, entry_mm_s=100)

    with pytest.raises(ValueError, match="differ by more"):
        seconds(4.9, speed_mm_s=100, acceleration_mm_s2=1000, entry_mm_s=100)


@given(
    length=st.floats(0.001, 500),
    speed=st.floats(1, 500),
    gain=st.floats(10, 20000),
    corner=st.floats(0, 50),
    more=st.floats(1, 5),
)
def test_quicker_limits_never_take_longer(length, speed, gain, corner, more):
    """More speed, acceleration or corner speed: no more time; never under length over speed."""

    def at(speed, gain, corner):
        return float(
            seconds(
                length,
                speed_mm_s=speed,
                acceleration_mm_s2=gain,
                entry_mm_s=corner,
                exit_mm_s=corner,
            )
        )

    base = at(speed, gain, corner)
    slack = 1 + 1e-9
    assert length / speed <= base * slack
    assert at(speed * more, gain, corner) <= base * slack
    assert at(speed, gain * more, corner) <= base * slack
    assert at(speed, gain, corner * more) <= base * slack
