"""Words to moves: against a plain interpreter, in other clothes, and cut into pieces anywhere."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import InputError
from planner.motion.toolpath.model import Kind
from planner.motion.toolpath.stream import stream
from tests.motion.toolpath.files import TOOLPATHS, dressed, plate
from tests.motion.toolpath.plain import Interpreter


def read(text, piece_bytes=1 << 18):
    """All moves of a text as one dict of arrays, and the last state."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "plate.gcode")
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        parts, state = [], None
        for moves, state in stream(path, piece_bytes=piece_bytes):  # noqa: B007
            parts.append(moves)
    names = ("line", "kind", "length_mm", "strand_mm", "deposit_mm", "speed_mm_s", "rests")
    joined = {name: np.concatenate([getattr(part, name) for part in parts]) for name in names}
    for name in ("start_mm", "end_mm"):
        joined[name] = np.concatenate([getattr(part, name) for part in parts], axis=1)
    joined["dwell_s"] = sum(part.dwell_s for part in parts)
    count = [len(part) for part in parts]
    joined["gain"] = np.concatenate(
        [np.broadcast_to(p.own.gain_mm_s2, n) for p, n in zip(parts, count, strict=True)]
    )
    return joined, state


def assert_same(found, expected):
    """Two readings of one path: flags alike, numbers to rounding."""
    for name in expected:
        np.testing.assert_allclose(found[name], expected[name], rtol=1e-9, atol=1e-9, err_msg=name)


@given(text=TOOLPATHS)
def test_it_follows_as_a_plain_interpreter_does(text):
    """Validation: every move, from where, to where, how much strand, how fast, after a rest."""
    found, _ = read(text)

    plain = Interpreter().run(text)
    expected = {
        "line": [move.line for move in plain.moves],
        "start_mm": np.reshape([move.start for move in plain.moves], (-1, 3)).T,
        "end_mm": np.reshape([move.end for move in plain.moves], (-1, 3)).T,
        "strand_mm": [move.strand for move in plain.moves],
        "deposit_mm": [move.deposit for move in plain.moves],
        "speed_mm_s": [move.feed for move in plain.moves],
        "rests": [move.rests for move in plain.moves],
        "dwell_s": plain.dwell,
    }
    assert_same(found, expected)


@settings(max_examples=50)
@given(text=TOOLPATHS, choice=st.lists(st.integers(0, 29), min_size=1, max_size=9))
def test_clothes_do_not_matter(text, choice):
    """Case, blanks, remarks, line numbers, checksums and line ends change no move."""
    assert_same(read(dressed(text, choice))[0], read(text)[0])


@settings(max_examples=50, deadline=None)  # many small pieces
@given(text=TOOLPATHS, piece=st.integers(1, 400), choice=st.lists(st.integers(0, 29), min_size=1))
def test_pieces_do_not_matter(text, piece, choice):
    """A file read in pieces of any size gives the moves and the state of one piece."""
    text = dressed(text, choice)
    whole, state = read(text)
    found, found_state = read(text, piece)

    assert_same(found, whole)
    assert found_state.registers == pytest.approx(state.registers, rel=1e-9, abs=1e-9, nan_ok=True)
    assert found_state.notes == state.notes
    assert found_state.tally == state.tally
    assert found_state.facts == state.facts


@pytest.mark.parametrize("piece", [64, 1000, 1 << 20])
def test_a_plate_is_followed(piece):
    """Strand pulled back and pushed again is laid once; z-hops lay nothing; limits by kind."""
    found, state = read(plate(), piece)

    lays = found["kind"] == Kind.LAY
    laid = found["length_mm"][lays].sum()
    side = 2 * 20 * np.sin(np.pi / 40)
    assert laid == pytest.approx(3 * 40 * side, rel=1e-4)  # three decimals
    # The first push lays 0.8 mm of strand at the nozzle; the others refill what was pulled.
    assert found["deposit_mm"].sum() == pytest.approx(0.8 + 0.033 * 120 * side, rel=1e-5)
    assert set(found["gain"][lays]) == {1000}
    assert set(found["gain"][found["kind"] == Kind.TRAVEL]) == {1500}
    assert np.isinf(found["gain"][found["kind"] == Kind.STRAND]).all()
    assert state.facts["nozzle"] == 205
    assert state.facts["nozzle now"] == 0


@pytest.mark.parametrize(
    ("words", "sweep", "end"),
    [
        ("G3 X10 Y10 I0 J10", np.pi / 2, (10, 10)),
        ("G2 X10 Y10 I0 J10", 3 * np.pi / 2, (10, 10)),
        ("G3 X0 Y20 I0 J10", np.pi, (0, 20)),
        ("G2 X0 Y20 J10", np.pi, (0, 20)),
        ("G3 X0 Y0 J10", 2 * np.pi, (0, 0)),
        ("G2 J10", 2 * np.pi, (0, 0)),
        ("G3 X10 Y10 R10", np.pi / 2, (10, 10)),
        ("G2 X10 Y10 R10", np.pi / 2, (10, 10)),
        ("G3 X10 Y10 R-10", 3 * np.pi / 2, (10, 10)),
        ("G2 X10 Y10 R-10", 3 * np.pi / 2, (10, 10)),
        ("G3 X0 Y20 R10", np.pi, (0, 20)),
    ],
)
@pytest.mark.parametrize("rise", [0.0, 3.0])
def test_arcs_have_the_length_of_their_circle(words, sweep, end, rise):
    """Validation: radius 10 from 0, 0; the way round, the chords, and what is laid on them."""
    text = f"G91\nM83\nG1 X50 Y60 F600\n{words} Z{rise} E7\n"  # relative: I and J are anyway
    found, _ = read(text)

    arc = slice(1, None)
    assert found["length_mm"][arc].sum() == pytest.approx(np.hypot(10 * sweep, rise), rel=1e-9)
    assert found["deposit_mm"].sum() == pytest.approx(7)
    assert found["start_mm"][:, 1] == pytest.approx([50, 60, 0])
    assert found["end_mm"][:, -1] == pytest.approx([50 + end[0], 60 + end[1], rise])
    assert found["end_mm"][:, 1:-1] == pytest.approx(found["start_mm"][:, 2:])
    assert (np.diff(found["end_mm"][2, arc]) >= 0).all()


@pytest.mark.parametrize(("word", "left"), [("G3", True), ("G2", False)])
def test_arcs_turn_the_right_way(word, left):
    """Anticlockwise from 0, 0 round 0, 10 passes 10, 10; clockwise passes -10, 10."""
    found, _ = read(f"G90\n{word} X0 Y20 I0 J10 F600\n")

    middle = found["end_mm"][0, len(found["line"]) // 2 - 1]
    assert middle == pytest.approx(10 if left else -10, abs=0.1)


def test_chords_leave_the_arc_by_no_more_than_they_may():
    """Middles of chords lie at most 0.005 mm inside the circle, ends on it."""
    found, _ = read("G3 X0 Y20 I0 J10 F600\n")

    middles = (found["start_mm"] + found["end_mm"])[:2] / 2 - [[0], [10]]
    ends = found["end_mm"][:2] - [[0], [10]]
    assert np.hypot(*ends) == pytest.approx(10, rel=1e-12)
    assert (10 - np.hypot(*middles)).max() <= 0.005 * (1 + 1e-9)
    assert (10 - np.hypot(*middles)).max() > 0.004  # and no more chords than needed


def test_homing_ends_a_shifted_count():
    """G92 lets the count differ from the place by 10 in x and 3 in y; G28 X mends x alone."""
    found, _ = read("G1 X10 Y5 F60\nG92 X0 Y2\nG1 X1 Y3\nG28 X\nG1 X1 Y4\n")

    assert found["end_mm"][:2].T.tolist() == [[10, 5], [11, 6], [1, 7]]


def test_inches_hold_for_axes_feeds_and_arcs():
    """Validation: 1 in = 25.4 mm exactly."""
    found, state = read("G20\nG1 X1 F60\nG3 X1 Y1 I0 J0.5 E.1\n")

    assert found["end_mm"][:, -1] == pytest.approx([25.4, 25.4, 0])
    assert found["speed_mm_s"][0] == pytest.approx(25.4)
    assert found["length_mm"][1:].sum() == pytest.approx(np.pi * 12.7)
    assert any("G20" in note for note in state.notes)


def test_volumetric_strand_is_told_by_the_file():
    """M200 D1.75: E in mm3 of a strand of 2.405282 mm2; D0 goes back to mm."""
    found, _ = read("M83\nM200 D1.75\nG1 X5 E2.405282 F600\nM200 D0\nG1 X9 E1\n")

    assert found["strand_mm"] == pytest.approx([1, 1], rel=1e-6)


def test_numbers_are_right_to_the_last_bit():
    """Validation: Python's own reading of decimals, up to twelve digits and beyond."""
    numbers = ["0.1", "-.25", "+7.", "123456.789", "0.30000000001", "12345678.5"]
    numbers += ["99999.99999999", "0.123456789012", "000000000012.5", "3.14159265358979323846"]
    text = "".join(f"G1 X{n} F60\n" for n in numbers if abs(float(n)) < 1e6)
    found, _ = read("G0 X-1\n" + text)

    expected = [float(n) for n in numbers if abs(float(n)) < 1e6]
    assert found["end_mm"][0, 1:].tolist() == pytest.approx(expected, rel=2.3e-16)


def test_words_not_understood_are_counted():
    """Names, unknown words, extra axes and messages move nothing and are told."""
    text = "M117 G1 X99\nSET_LAMP RED=1\nG1 X1 F60 U3\nM999\nM999\nG64 P0.01\n%\n/G1 X2\n"
    found, state = read(text)

    assert found["end_mm"][0].tolist() == [1, 2]
    assert state.tally == {
        "SET_LAMP": (1, 2),
        "U in a move": (1, 3),
        "M999": (2, 4),
        "G64": (1, 6),
    }


def test_strand_modes_follow_the_last_word():
    """G91 makes E relative until G90; M83 until M82; M82 under G91 makes it absolute."""
    found, _ = read(
        "G1 E5 F60\nG91\nG1 E-2\nG90\nG1 E4\nM83\nG1 E1\nG90\nG1 E1\nM82\nG1 E7\nG91\nM82\nG1 E8\n"
    )

    assert found["strand_mm"] == pytest.approx([5, -2, 1, 1, 1, 1, 1])


FAULTS = [
    ("G1 X1 F60\nG1 X\n", 2, "X without a number"),
    ("G1 X1 F60\nG1 XNAN\n", 2, "X without a number"),
    ("G1 X1 F60\nG1 X1.2.3\n", 2, "out of place"),
    ("G1 X1 F60\nG1 X--5\n", 2, "out of place"),
    ("G1 X1 F60\nG1 X[3+4]\n", 2, "out of place"),
    ("G1 X1 X2 F60\n", 1, "X twice"),
    ("G1 X1000000000000000000000000000000 F60\n", 1, "X1e+30"),
    ("G1 X1e30 E5 F60\n", 1, "E twice"),
    ("M83\nG1 X1 E2000000000 F60\n", 2, "E2e+09"),
    ("G1 X" + "9" * 400 + " F60\n", 1, "X"),
    ("\n\nG1 X10\n", 3, "a move before any feed"),
    ("G1 X10 F0\n", 1, "a feed of 0"),
    ("G1 X10 F-5\n", 1, "a feed of -5"),
    ("G1 X1 F60\nG2 X5 Y5\n", 2, "without a centre or a radius"),
    ("G1 X1 F60\nG2 X5 Y5 R1\n", 2, "does not reach"),
    ("G1 X1 F60\nG2 X1 Y0 R1\n", 2, "does not reach"),
    ("G1 X1 F60\nG2 X5 Y5 I1 J0\n", 2, "not equally far"),
    ("G1 X1 F60\nG2 X5 Y5 I1 R3\n", 2, "both a centre and a radius"),
    ("G1 X1 F60\nG2 I90000\n", 2, "longer than any printer"),
    ("G18\nG2 X5 Z5 I1 F60\n", 2, "another plane"),
    ("X5 Y5 F60\n", 1, "coordinates before any motion word"),
    ("G1 X1 F60\nG5 X1 Y2\n", 2, "G5"),
    ("G93\n", 1, "inverse time"),
    ("G90.1\n", 1, "arc centres"),
    ("G1 X1 F60\nG92\n", 2, "G92 without an axis"),
    ("G28 G1 X5 F60\n", 1, "another G word"),
    ("G1 X1 F60\nG\n", 2, "G without a number"),
    ("M204 S0\n", 1, "M204 S0"),
    ("M203 X0\n", 1, "M203 X0"),
    ("M104 S9000\n", 1, "M104 S9000"),
    ("G4 S-3\n", 1, "G4 S-3"),
    ("M220 S0\n", 1, "M220 S0"),
    ("G1 X1 F60\nN2 G1 X5*1\n", 2, "the checksum 1"),
    ("G1 X1 F60\n\x00\x01\n", 2, "a byte of value 0"),
    ("G1 X1 F60\nG1 Xé\n", 2, "a byte of value 195"),
    ("G1" + " " * 70_000, 1, "a line of over"),
]


@pytest.mark.parametrize(("text", "line", "words"), FAULTS, ids=[words for *_, words in FAULTS])
@pytest.mark.parametrize("piece", [7, 1 << 18])
def test_faults_are_told_with_their_line(text, line, words, piece):
    """One problem: the line of the file, what was found, what was expected, what to do."""
    with pytest.raises(InputError) as caught:
        read(text, piece)

    (problem,) = caught.value.problems
    assert words in problem.found
    assert problem.line == line
    assert problem.expected
    assert problem.remedy


@given(noise=st.binary(max_size=300), piece=st.integers(1, 300))
def test_noise_is_refused_or_read_but_never_breaks(noise, piece):
    """Random bytes raise nothing but InputError."""
    with suppress(InputError):
        read(noise, piece)


PIECES_OF_LINES = st.sampled_from(
    [*'GXYEFMNTIJR1230.-+*();"/% \n\r_', "92", "28", "90", "1e30", "nan", "G1", "G2"]
)


@given(words=st.lists(PIECES_OF_LINES, max_size=60), piece=st.integers(1, 100))
def test_crooked_lines_are_refused_or_read_but_never_break(words, piece):
    """Bits of true words in any order raise nothing but InputError, whatever the pieces."""
    text = "".join(["G1 F600\n", *words])

    def outcome(size):
        try:
            return read(text, size)[0]["end_mm"].tolist()
        except InputError as error:
            return str(error).split("plate.gcode", 1)[1]

    assert outcome(piece) == outcome(1 << 18)
