"""Estimates of whole files: closed forms, ranges, facts, and files that break off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as some

from planner.errors import InputError
from planner.motion.toolpath import clock
from planner.motion.toolpath.read import read_toolpath
from planner.motion.toolpath.stream import stream
from tests.motion import sequential
from tests.motion.toolpath.files import plate


@pytest.fixture
def estimate(tmp_path, open_frame, pla):
    """Return a function from text to its estimate on a printer of 200 mm/s, 1500 mm/s2, 8 mm/s."""

    def read(text, *, filament=pla, printer=open_frame, **more):
        path = tmp_path / "plate.gcode"
        path.write_bytes(text.encode())
        return read_toolpath(path, printer, filament, **more)

    return read


def test_a_square_takes_what_its_trapezoids_take(estimate):
    """Validation: four sides of 30 mm at 60 mm/s, 1500 mm/s2, corners at 8 mm/s.

    Ramps: 1.2 mm from rest, (60^2 - 8^2) / 3000 = 1.178667 mm to and from a corner.
    """
    found = estimate("G1 X30 F3600\nG1 Y30\nG1 X0\nG1 Y0\n", filament=None)

    rest, corner = 60 / 1500, 52 / 1500
    outer = rest + corner + (30 - 1.2 - 3536 / 3000) / 60
    inner = 2 * corner + (30 - 2 * 3536 / 3000) / 60
    assert found.moves_s == pytest.approx(2 * outer + 2 * inner, rel=1e-9)
    assert found.time_s == found.moves_s
    assert found.range_s[0] < found.time_s < found.range_s[1]
    assert found.filament_mm == 0
    assert found.filament_g is None
    assert found.extents_mm is None
    assert found.travel_mm == pytest.approx(120)


def test_an_arc_takes_what_its_length_takes(estimate):
    """Validation: a half circle of radius 50 at a steady 10 mm/s.

    Chords of 0.005 mm sagitta turn by 4 sqrt(s / 2 r): corners at 8 mm/s sqrt(0.4142 * 8 / turn^2)
    are far above 10 mm/s, so only the start and the end from rest are ramps: + v / a.
    """
    found = estimate("G3 X0 Y100 J50 E5 F600\n")

    assert found.moves_s == pytest.approx(np.pi * 50 / 10 + 10 / 1500, rel=1e-9)
    assert found.laid_mm == pytest.approx(np.pi * 50, rel=1e-9)
    assert found.extents_mm[0] == pytest.approx((0, 0, 0), abs=1e-9)
    assert found.extents_mm[1] == pytest.approx((50, 100, 0), abs=0.005)


def test_filament_is_what_was_laid(estimate, pla):
    """Validation: 10 mm laid, 2 pulled back and pushed again; mass by the strand's section."""
    found = estimate("M83\nG1 X50 E10 F600\nG1 E-2\nG1 X60\nG1 E2\n")

    assert found.filament_mm == pytest.approx(10)
    assert found.filament_mm3 == pytest.approx(10 * np.pi * 1.75**2 / 4)
    assert found.filament_g == pytest.approx(found.filament_mm3 * pla.density_g_cm3 / 1000)
    assert found.retractions == 1
    assert found.extents_mm == ((0, 0, 0), (50, 0, 0))


def test_volumetric_strand_is_told_by_the_caller(estimate):
    """E in mm3 gives the same volume whatever the strand's diameter."""
    found = estimate("M83\nG1 X50 E10 F600\n", volumetric=True)

    assert found.filament_mm3 == pytest.approx(10)


def test_a_plate_in_whole(estimate, open_frame):
    """Counts, temperatures, dwell, heights; the profile's start, as the file heats and homes."""
    found = estimate(plate() + "G4 S7\n")

    assert found.levels == 3
    assert found.facts.nozzle_c == 205
    assert found.facts.bed_c == 60
    assert found.facts.fan == 1
    assert not found.facts.still_hot
    assert found.facts.homes
    assert found.facts.own_acceleration
    assert found.facts.own_corners
    assert found.facts.not_understood == ()
    assert found.retractions == 3
    assert found.start_s == open_frame.start_s
    assert found.dwell_s == 7
    assert found.time_s == pytest.approx(found.moves_s + 7 + found.start_s)
    assert sum(s for _, s in found.by_kind_s) == pytest.approx(found.moves_s)
    assert found.extents_mm[0] == pytest.approx((90, 90, 0.2), abs=0.01)
    assert found.extents_mm[1] == pytest.approx((130, 130, 0.6), abs=0.01)


def test_without_heat_or_home_there_is_no_start(estimate):
    """A file that neither heats nor homes starts on a machine that is ready."""
    assert estimate("G1 X5 F600\n").start_s == 0
    assert estimate("G28\nG1 X5 F600\n").start_s > 0
    assert estimate("M104 S200\nG1 X5 F600\nM104 S0\n").start_s > 0


def test_the_files_limits_hold_but_never_above_the_printers(estimate):
    """100 mm at 100 mm/s: M204 S500 takes 0.2 s of ramps; S9000 takes the printer's 1500."""
    assert estimate("M204 S500\nG1 X100 F6000\n").moves_s == pytest.approx(1 + 0.2)
    assert estimate("M204 S9000\nG1 X100 F6000\n").moves_s == pytest.approx(1 + 1 / 15)
    assert estimate("M201 X500\nG1 X100 F6000\n").moves_s == pytest.approx(1 + 0.2)
    assert estimate("M203 X50\nG1 X100 F6000\n").moves_s == pytest.approx(2 + 1 / 30)
    assert estimate("G1 X100 F60000\n").moves_s == pytest.approx(0.5 + 2 / 15)


def test_corner_limits_of_the_file_hold_too(estimate):
    """A step of 2 mm/s, then a deviation of 0.001 mm: v = sqrt(1500 x 0.001 x 2.414214)."""
    corner = "G1 X50 F3600\nG1 Y50\n"

    def expected(v):
        ramp = (3600 - v**2) / 3000
        return 2 * (0.04 + (60 - v) / 1500 + (50 - 1.2 - ramp) / 60)

    assert estimate("M205 X2 Y2\n" + corner).moves_s == pytest.approx(expected(2))
    by_deviation = estimate("M205 J0.001\n" + corner).moves_s
    assert by_deviation == pytest.approx(expected(np.sqrt(1.5 * (1 + np.sqrt(2)))))
    assert estimate("M205 X20 Y20\n" + corner).moves_s == pytest.approx(expected(8))


def test_limits_that_change_on_the_way(estimate):
    """Each move keeps the acceleration in force: 500 to reach 50 mm/s, 1000 to stop."""
    found = estimate("M204 S500\nG1 X50 F3000\nM204 S1000\nG1 X100\n")

    assert found.moves_s == pytest.approx(0.1 + 47.5 / 50 + 48.75 / 50 + 0.05, rel=1e-9)


def test_the_flow_cap_does_not_slow_a_file(estimate, open_frame):
    """A machine runs a file as fast as it says, whether it can melt that much or not."""
    text = "M83\nG1 X100 E50 F6000\n"
    slow_melt = replace(open_frame, flow_max_mm3_s=0.1)

    assert estimate(text, printer=slow_melt).moves_s == estimate(text).moves_s


@given(
    points=some.arrays(float, (40, 2), elements=st.integers(0, 2000).map(lambda n: n / 10)),
    feeds=some.arrays(int, 40, elements=st.integers(300, 9000)),
    piece=st.integers(20, 800),
)
@settings(max_examples=25, deadline=None)
def test_a_stream_takes_what_a_sequential_planner_takes(tmp_path_factory, points, feeds, piece):
    """Validation: the whole way from text to seconds, in pieces, against the plain planner."""
    path = tmp_path_factory.getbasetemp() / "random.gcode"
    path.write_text(
        "".join(
            f"G1 X{x:.1f} Y{y:.1f} F{feed}\n" for (x, y), feed in zip(points, feeds, strict=True)
        )
    )
    machine = clock.Machine(speed_mm_s=120, acceleration_mm_s2=800, corner_mm_s=6)
    time = clock.Clock(machine=machine)
    for moves, _ in stream(path, piece_bytes=piece):
        time = time.advance(moves)

    vectors = np.diff(points, axis=0, prepend=0.0).tolist()
    expected = sequential.times(
        [
            (vector, min(feed / 60, 120), 800, 0)
            for vector, feed in zip(vectors, feeds.tolist(), strict=True)
        ],
        {"speed": (1e6, 1e6), "acceleration": (1e6, 1e6)},
        corner=sequential.right_angle_corner(6),
    )
    assert time.finish().seconds.sum() == pytest.approx(sum(expected), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("piece", [1, 50, 777])
def test_an_estimate_does_not_depend_on_the_pieces(estimate, piece):
    """All numbers alike to rounding, all words the same."""
    straight = "".join(f"G1 X{x} F3000\n{'G4 P1' if x % 2 else ''}\n" for x in range(30))
    text = plate(layers=2) + straight + "G91\nG1 E1 F60\n"
    whole, found = estimate(text), estimate(text, piece_bytes=piece)

    assert found.time_s == pytest.approx(whole.time_s, rel=1e-9)
    assert found.range_s == pytest.approx(whole.range_s, rel=1e-9)
    assert found.filament_mm == pytest.approx(whole.filament_mm, rel=1e-9)
    assert (found.moves, found.levels, found.facts) == (whole.moves, whole.levels, whole.facts)


def test_what_is_not_counted_is_said(estimate):
    """A person's pauses and changes of tool take time that no file states."""
    found = estimate("T0\nG1 X5 F600\nM600\nT1\nG1 X9\nM0\n")

    assert found.facts.tools == (0, 1)
    assert found.facts.pauses == 2
    assert any("2 pauses" in reason for reason in found.reasons)
    assert any("changes of tool" in reason for reason in found.reasons)
    still, moving = estimate("G1 X5 F600\nM0\nG1 X9\n"), estimate("G1 X5 F600\nG1 X9\n")
    assert still.moves_s > moving.moves_s  # it starts again from rest


def test_assumptions_are_told_with_their_line(estimate):
    """Ambiguous words are read in one way, and the reader is told which, and where."""
    found = estimate("G20\nG91\nG1 X1 E1 F60\nG4 P5\nX2\nG0 X1\nG10\n").facts.assumptions

    for words, line in [
        ("E under G20", 3),
        ("E under G91", 3),
        ("milliseconds", 4),
        ("no G word", 5),
        ("G0 is", 6),
        ("G10", 7),
        ("does not home", 3),
    ]:
        assert any(words in text and f"line {line})" in text for text in found), words


def test_a_file_that_breaks_off_hot_is_refused(estimate):
    """No line end and a hot nozzle: cut off. With a line end it is only remarked."""
    whole = plate()
    cut = whole[: whole.index(" Y", 700)]
    with pytest.raises(InputError) as caught:
        estimate(cut)

    (problem,) = caught.value.problems
    assert problem.line == cut.count("\n") + 1
    assert "unfinished" in problem.found
    assert any("still heated" in text for text in estimate(cut + "\n").facts.assumptions)
    assert any("no line end" in text for text in estimate("G1 X5 F600").facts.assumptions)


@pytest.mark.parametrize("text", ["", "\n\n", "; nothing but remarks\n", "Dear all,\nhello\n"])
def test_a_file_without_moves_is_refused(estimate, text):
    """Prose, remarks and nothing are no toolpaths."""
    with pytest.raises(InputError, match="no moves"):
        estimate(text)


def test_a_missing_file_is_told(tmp_path, open_frame):
    """One sentence, no traceback."""
    with pytest.raises(InputError, match="cannot be read"):
        read_toolpath(tmp_path / "none.gcode", open_frame)


def test_progress_is_told(estimate):
    """Steps never pass the total."""
    told = []
    estimate(plate(), piece_bytes=500, progress=lambda *words, note: told.append((*words, note)))

    assert told
    assert all(stage == "toolpath" and 0 <= done <= total for stage, done, total, _ in told)
    assert told[0][3] == "plate.gcode"


def test_the_profile_limits_axes_and_strand_of_a_file(estimate, open_frame):
    """100 mm upright at 10 mm/s, 50 mm/s2; 100 mm laid with 5 mm of strand at 2 mm/s, 40 mm/s2."""
    slow = replace(
        open_frame,
        axis_speed_mm_s=(150, 80, 10),
        axis_acceleration_mm_s2=(1500, 400, 50),
        strand_speed_mm_s=2,
        strand_acceleration_mm_s2=40,
    )

    upright = estimate("G1 Z100 F6000\n", printer=slow)
    laying = estimate("M83\nG1 X100 E5 F6000\n", printer=slow)

    assert upright.moves_s == pytest.approx(100 / 10 + 10 / 50, rel=1e-9)
    assert laying.moves_s == pytest.approx(100 / 40 + 40 / 800, rel=1e-9)
    assert upright.range_s == pytest.approx((10 + 10 / 100, 10 + 10 / 25), rel=1e-9)


def test_the_profile_may_state_the_deviation_of_corners(estimate, open_frame):
    """A right angle within d is taken at sqrt(a d / (sqrt 2 - 1)): as the same corner speed."""
    text = "G1 X30 F3600\nG1 Y30\nG1 X0\nG1 Y0\n"
    deviation = 8**2 * (np.sqrt(2) - 1) / 1500

    by_speed = estimate(text)
    by_deviation = estimate(
        text, printer=replace(open_frame, corner_deviation_mm=deviation, corner_speed_mm_s=1)
    )

    assert by_deviation.moves_s == pytest.approx(by_speed.moves_s, rel=1e-9)
    assert by_deviation.range_s == pytest.approx(by_speed.range_s, rel=1e-9)


def test_the_start_is_for_the_temperatures_of_the_file(estimate, open_frame):
    """Bed 800 (70 - 20) / 200 = 200 s, nozzle less; 95 s for the rest."""
    heated = replace(
        open_frame,
        bed_power_w=200,
        bed_heat_j_per_c=800,
        nozzle_power_w=40,
        nozzle_heat_j_per_c=30,
        homing_s=20,
        levelling_s=60,
        purge_s=15,
    )

    found = estimate("M140 S70\nM104 S200\nG28\nG1 X5 F600\nM104 S0\n", printer=heated)

    assert found.start_s == pytest.approx(200 + 95)
