"""Look-ahead: closed forms, a plain sequential planner, and what must hold for any path."""

from __future__ import annotations

from dataclasses import replace
from math import inf, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as some

from planner.motion import lookahead
from planner.motion.corner import CornerSpeed, JunctionDeviation, SpeedStep
from planner.motion.limits import Limits, limits_of
from planner.motion.lookahead import move_seconds
from tests.motion import sequential

FREE = (1e6, 1e6, 1e6)
NO_STOP = Limits(speed_mm_s=FREE, acceleration_mm_s2=FREE, corner=CornerSpeed(speed_mm_s=1e6))
STOP = Limits(speed_mm_s=FREE, acceleration_mm_s2=FREE, corner=CornerSpeed(speed_mm_s=0.0))
MODELS = [
    (CornerSpeed(speed_mm_s=8.5), sequential.right_angle_corner(8.5)),
    (JunctionDeviation(deviation_mm=0.02), sequential.deviation_corner(0.02)),
    (SpeedStep(step_mm_s=(8.0, 6.0, 0.4)), sequential.step_corner((8.0, 6.0, 0.4))),
]


def seconds(vectors, speed=100.0, gain=1000.0, limits=NO_STOP, **more):
    return move_seconds(vectors, speed_mm_s=speed, acceleration_mm_s2=gain, limits=limits, **more)


@pytest.mark.parametrize(("length", "expected"), [(100, 1.1), (10, 0.2), (5, 2 * sqrt(5 / 1000))])
def test_one_move_is_a_trapezoid(length, expected):
    """Validation: 5 + 90 + 5 mm = 0.1 + 0.9 + 0.1 s; 10 mm just reaches its speed."""
    assert seconds([(length, 0, 0)]) == pytest.approx([expected], rel=1e-12)


@pytest.mark.parametrize("pieces", [2, 3, 64, 1000, 40_000])
def test_a_straight_line_takes_the_same_in_pieces(pieces):
    """Validation: 100 mm at 100 mm/s and 1000 mm/s2 take 1.1 s however they are cut."""
    vectors = np.zeros((pieces, 3))
    vectors[:, 1] = 100 / pieces

    assert seconds(vectors).sum() == pytest.approx(1.1, rel=1e-9)


def test_a_right_angle_is_two_ramps_down_to_the_corner():
    """Validation: 50 mm to a corner of 10 mm/s and 50 mm on, each 0 -> 100 -> 10 and back.

    d = (v1^2 - v0^2) / 2a: 5 mm up, 4.95 mm down, 40.05 mm cruise: 0.1 + 0.4005 + 0.09 s.
    """
    limits = Limits(speed_mm_s=FREE, acceleration_mm_s2=FREE, corner=CornerSpeed(speed_mm_s=10.0))

    found = seconds([(50, 0), (0, 50)], limits=limits)

    assert found == pytest.approx([0.5905, 0.5905], rel=1e-12)


def test_each_move_keeps_its_own_acceleration():
    """Validation: 100 mm rest to rest at 50 mm/s, gaining at 500 and braking at 1000 mm/s2.

    Cut in the middle: 0.1 + 47.5 / 50 s, then 48.75 / 50 + 0.05 s.
    """
    found = seconds([(50, 0), (50, 0)], speed=50, gain=[500, 1000])

    assert found == pytest.approx([0.1 + 47.5 / 50, 48.75 / 50 + 0.05], rel=1e-12)


def test_a_slow_axis_holds_the_whole_move_back():
    """Validation: z at most 5 mm/s and 50 mm/s2; a 3-4 move in x and z goes at 5 / 0.8.

    Along the path 6.25 mm/s and 62.5 mm/s2: 5 mm take 5 / 6.25 + 6.25 / 62.5 s.
    """
    limits = Limits(
        speed_mm_s=(100, 100, 5), acceleration_mm_s2=(1000, 1000, 50), corner=STOP.corner
    )

    found = seconds([(3, 0, 4)], limits=limits)

    assert found == pytest.approx([0.8 + 0.1], rel=1e-12)


def test_the_melt_and_the_drive_hold_a_feeding_move_back():
    """Validation: 100 mm with 4 mm of a 2.4 mm2 strand is 0.096 mm2 of bead.

    At 4.8 mm3/s: 50 mm/s. The strand gains 20 mm/s2 at most: 500 along the path. So
    0.1 + 95 / 50 + 0.1 s; the same feed backward is not melted: 100 mm/s, 0.2 + 80 / 100 + 0.2.
    """
    limits = Limits(
        speed_mm_s=FREE,
        acceleration_mm_s2=FREE,
        corner=STOP.corner,
        strand_acceleration_mm_s2=20,
        flow_max_mm3_s=4.8,
        strand_mm2=2.4,
    )

    found = seconds([(100, 0, 0), (0, 100, 0)], limits=limits, strand_mm=[4, -4])

    assert found == pytest.approx([2.1, 1.2], rel=1e-12)


def test_a_move_of_the_strand_alone_rests_at_both_ends():
    """Validation: 2 mm back at 40 mm/s and 1000 mm/s2: 0.04 + 0.4 / 40 + 0.04 s (0.8 mm ramps)."""
    limits = Limits(
        speed_mm_s=FREE, acceleration_mm_s2=FREE, corner=NO_STOP.corner, strand_speed_mm_s=40
    )

    found = seconds([(50, 0, 0), (0, 0, 0), (50, 0, 0)], limits=limits, strand_mm=[0.0, -2.0, 0.0])

    assert found == pytest.approx([0.6, 2 / 40 + 0.04, 0.6], rel=1e-12)


def test_paths_of_their_own_start_and_end_at_rest():
    """Two chains in one call take what each takes in a call of its own."""
    one, two = [(10, 0), (10, 1), (3, 3)], [(0, 4), (1, 9)]

    found = seconds(one + two, chain=[4, 4, 4, 2, 2])

    assert found == pytest.approx(np.concatenate([seconds(one), seconds(two)]), rel=1e-12)
    assert seconds(one + two).sum() < found.sum()


def test_moves_of_no_length_change_nothing():
    """A zero in the middle neither takes time nor stops the head."""
    found = seconds([(10, 0), (0, 0), (10, 0)])

    assert found[1] == 0.0
    assert found[[0, 2]] == pytest.approx(seconds([(10, 0), (10, 0)]), rel=1e-12)
    assert seconds(np.zeros((0, 3))).shape == (0,)
    assert seconds(np.zeros((2, 3))).tolist() == [0.0, 0.0]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"speed": 0.0}, "speed_mm_s"),
        ({"gain": [1.0, -1.0]}, "acceleration_mm_s2"),
        ({"gain": inf}, "acceleration_mm_s2"),
        ({"strand_mm": np.nan}, "not finite"),
    ],
)
def test_impossible_numbers_are_refused(change, words):
    """A speed of 0 would take for ever; NaN would spread without a word."""
    with pytest.raises(ValueError, match=words):
        seconds([(1, 0), (2, 0)], **change)
    with pytest.raises(ValueError, match="shape"):
        seconds([(1, 0, 0, 0)])


# Turned corners, straight runs, tiny and long pieces, several chains.
PATHS = st.integers(1, 60).flatmap(
    lambda n: st.tuples(
        some.arrays(float, (n, 3), elements=st.sampled_from([-30, -1, -0.02, 0, 0.01, 0.5, 4])),
        some.arrays(float, n, elements=st.floats(1, 400)),
        some.arrays(float, n, elements=st.floats(50, 9000)),
        some.arrays(int, n, elements=st.integers(0, 1)),
    )
)


@pytest.mark.parametrize(("model", "reference"), MODELS)
@given(path=PATHS)
def test_it_finds_what_a_sequential_planner_finds(model, reference, path):
    """To 1e-9 of the time; 2e-9 s after a reversal.

    There unit vectors rounded to 1e-16 leave a corner speed of sqrt(a d 1e-16), under 1e-7 mm/s:
    at 50 mm/s2 that is 2e-9 s.
    """
    vectors, speed, gain, chain = path
    limits = Limits(speed_mm_s=(300, 250, 12), acceleration_mm_s2=(3000, 2000, 100), corner=model)

    found = seconds(vectors, speed, gain, limits, chain=chain)

    expected = sequential.times(
        list(zip(vectors.tolist(), speed.tolist(), gain.tolist(), chain.tolist(), strict=True)),
        {"speed": (300, 250, 12), "acceleration": (3000, 2000, 100)},
        corner=reference,
    )
    assert found == pytest.approx(expected, rel=1e-9, abs=2e-9)


@pytest.mark.parametrize("turn", [0.0, 0.01, 0.3])
@pytest.mark.parametrize("step", [0.001, 0.02, 1.0])
def test_long_paths_agree_too(turn, step):
    """20,000 moves cross many blocks and chunks; ramps of up to thousands of moves."""
    random = np.random.default_rng(7)
    heading = np.cumsum(random.normal(0, turn, 20_000))
    length = random.exponential(step, 20_000)
    vectors = np.column_stack([length * np.cos(heading), length * np.sin(heading)])
    limits = Limits(
        speed_mm_s=FREE, acceleration_mm_s2=FREE, corner=JunctionDeviation(deviation_mm=0.01)
    )

    found = seconds(vectors, 150.0, 1500.0, limits)

    moves = [(vector, 150.0, 1500.0, 0) for vector in vectors.tolist()]
    expected = sequential.times(
        moves,
        {"speed": FREE, "acceleration": FREE},
        corner=sequential.deviation_corner(0.01),
    )
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-12)


@given(path=PATHS, factor=st.floats(1, 5))
@settings(max_examples=50)
def test_quicker_limits_never_take_longer(path, factor):
    """More speed, acceleration or corner speed: no more time in all."""
    vectors, speed, gain, chain = path

    def total(speed, gain, corner):
        limits = Limits(
            speed_mm_s=FREE, acceleration_mm_s2=FREE, corner=CornerSpeed(speed_mm_s=corner)
        )
        return seconds(vectors, speed, gain, limits, chain=chain).sum()

    base = total(speed, gain, 8.0) * (1 + 1e-9)
    assert total(speed * factor, gain, 8.0) <= base
    assert total(speed, gain * factor, 8.0) <= base
    assert total(speed, gain, 8.0 * factor) <= base
    assert base >= (np.linalg.norm(vectors, axis=1) / speed).sum()


@given(path=PATHS, flow=st.floats(1, 20), factor=st.floats(1, 5))
@settings(max_examples=50)
def test_more_flow_never_takes_longer(path, flow, factor):
    """The cap on the melt only ever holds back."""
    vectors, speed, gain, _ = path

    def total(flow):
        limits = Limits(
            speed_mm_s=FREE,
            acceleration_mm_s2=FREE,
            corner=CornerSpeed(speed_mm_s=8.0),
            flow_max_mm3_s=flow,
            strand_mm2=2.4,
        )
        strand = 0.04 * np.linalg.norm(vectors, axis=1)
        return seconds(vectors, speed, gain, limits, strand_mm=strand).sum()

    assert total(flow * factor) <= total(flow) * (1 + 1e-9)


def test_settling_early_loses_nothing(monkeypatch):
    """A path fed in small pieces, the tail of each kept back, takes what it takes whole."""
    random = np.random.default_rng(3)
    vectors = random.normal(0, 1, (3000, 2))
    vectors[1000:2000] = (0.004, 0.0)  # a ramp far longer than a piece
    whole = seconds(vectors)
    monkeypatch.setattr(lookahead, "_CHUNK", 10)

    assert seconds(vectors) == pytest.approx(whole, rel=1e-9)


def test_a_profile_gives_limits(open_frame, pla):
    """Printer and filament share the flow; every axis gets the profile's speed."""
    limits = limits_of(open_frame, pla)

    assert limits.speed_mm_s == (open_frame.speed_max_mm_s,) * 3
    assert limits.flow_max_mm3_s == min(open_frame.flow_max_mm3_s, pla.flow_max_mm3_s)
    assert limits.strand_mm2 == pla.area_mm2
    assert limits_of(open_frame).strand_mm2 == 1.0


def profile_seconds(printer, filament, *move, strand=None):
    return move_seconds(
        [move],
        speed_mm_s=printer.speed_max_mm_s,
        acceleration_mm_s2=printer.acceleration_max_mm_s2,
        limits=limits_of(printer, filament),
        strand_mm=None if strand is None else [strand],
    ).item()


def test_a_profile_limits_each_axis_and_the_strand(open_frame, pla):
    """Trapezoids by hand: along z, on a 3-4-5 diagonal held back by y, and by the strand."""
    slow = replace(
        open_frame,
        axis_speed_mm_s=(150, 80, 10),
        axis_acceleration_mm_s2=(1500, 400, 50),
        strand_speed_mm_s=2,
        strand_acceleration_mm_s2=40,
    )

    upright = profile_seconds(slow, pla, 0, 0, 100)
    diagonal = profile_seconds(slow, pla, 300, 400, 0)
    laying = profile_seconds(slow, pla, 100, 0, 0, strand=5)

    assert upright == pytest.approx(100 / 10 + 10 / 50, rel=1e-12)
    assert diagonal == pytest.approx(500 / (80 / 0.8) + (80 / 0.8) / (400 / 0.8), rel=1e-12)
    assert laying == pytest.approx(100 / (2 / 0.05) + (2 / 0.05) / (40 / 0.05), rel=1e-12)


def test_a_profile_may_state_the_deviation_of_corners(open_frame, pla):
    found = limits_of(replace(open_frame, corner_deviation_mm=0.03), pla).corner

    assert found.deviation_mm == 0.03
    assert limits_of(open_frame, pla).corner.speed_mm_s == open_frame.corner_speed_mm_s
