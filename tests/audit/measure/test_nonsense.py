"""What is no toolpath, or hardly one: one clear sentence, or figures; never anything else."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.audit.measure import measure_toolpath
from planner.audit.measure.bodies import MOST_COLUMNS, columns_over
from planner.audit.measure.harvest import harvest
from planner.audit.measure.levels import levels_of
from planner.audit.measure.measure import LEAST_SPACING_MM, PLAIN_MACHINE, _bead
from planner.audit.measure.raster import Grid
from planner.audit.measure.told import measured_document, settings_of
from planner.audit.measure.watch import Limits
from planner.errors import InputError
from planner.progress import silent
from planner.settings.load import load_printer
from tests.motion.toolpath.files import TOOLPATHS, dressed, plate

PRINTER = load_printer("open_frame_220")
NUMBERS = st.one_of(
    st.integers(-300, 300).map(str),
    st.floats(-400, 400).map(lambda x: f"{x:.3f}"),
    st.sampled_from(["0", "-0", ".5", "1e9", "999999", "0.00001", "123456789", "--1", "1.2.3", ""]),
)
WORDS = st.tuples(st.sampled_from("GMXYZEFIJRSPTN"), NUMBERS).map("".join)
LINES = st.lists(st.lists(WORDS, max_size=6).map(" ".join), max_size=30).map("\n".join)


def told(path):
    """Figures as JSON types, or None for a refusal in one line."""
    refused = ""
    try:
        measured = measure_toolpath(path, printer=PRINTER)
    except InputError as error:
        refused = str(error)
    if refused:
        assert "\n" not in refused
        assert refused.startswith(str(path))
        return None
    settings_of(measured)
    document = measured_document(measured)
    json.dumps(document, allow_nan=False)
    return document


@given(text=LINES)
@settings(max_examples=60)
def test_any_words_are_measured_or_refused(tmp_path_factory, text):
    """No traceback, and no number that JSON does not know."""
    path = tmp_path_factory.getbasetemp() / "words.gcode"
    path.write_text("M83\nG1 X1 F600\n" + text)
    told(path)


@given(text=TOOLPATHS, choice=st.lists(st.integers(0, 5), min_size=1, max_size=5))
@settings(max_examples=40)
def test_clothes_change_nothing(tmp_path_factory, text, choice):
    """Case, blanks, remarks, line ends and line numbers: the same figures."""
    plain, other = (tmp_path_factory.getbasetemp() / f"{k}.gcode" for k in "ab")
    plain.write_bytes(text.encode())
    other.write_bytes(dressed(text, choice).encode())

    bare, clad = told(plain), told(other)
    assert (bare is None) == (clad is None)
    if bare is not None:
        assert {k: f["value"] for k, f in bare.items()} == {k: f["value"] for k, f in clad.items()}


@given(cut=st.floats(0, 1))
@settings(max_examples=20)
def test_a_file_that_breaks_off_is_measured_or_refused(tmp_path_factory, cut):
    path = tmp_path_factory.getbasetemp() / "cut.gcode"
    text = plate(layers=4)
    path.write_text(text[: int(cut * len(text))])
    told(path)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n" * 1000,
        np.random.default_rng(0).bytes(100_000),
        b"\x00" * 5000,
        b"G1 X" + b"9" * 200_000,
        b"G1 X1 Y1 E1 F100 " + b"; G1 " * 40_000,
        b"G1 X1e400 E1 F100\n",
        b"hello, this is a letter\n" * 50,
        b"G1 F100\n" * 10,
    ],
    ids=["empty", "blank", "noise", "zeros", "digits", "one line", "huge", "prose", "feeds"],
)
def test_what_is_no_toolpath_is_refused_in_one_line(tmp_path, content):
    path = tmp_path / "odd.gcode"
    path.write_bytes(content)
    assert told(path) is None


def test_a_plate_with_one_far_line_is_measured(tmp_path):
    """A stray line half a metre off neither hides the part nor takes much memory."""
    path = tmp_path / "stray.gcode"
    text = plate(layers=6).replace("M104 S0", "G1 X900 Y900 F6000\nG1 X901 E1\nM104 S0")
    path.write_text(text)
    document = told(path)

    assert document["layer_mm"]["value"] == pytest.approx(0.2)
    assert document["walls"]["value"] == 1


def test_a_line_to_where_no_bed_is_hides_nothing(tmp_path):
    """A kilometre of line is a fault by itself and not looked along."""
    path = tmp_path / "kilometre.gcode"
    text = plate(layers=6).replace("M104 S0", "G1 X999999 E99\nM104 S0")
    path.write_text(text)
    document = told(path)

    assert document["layer_mm"]["value"] == pytest.approx(0.2)
    assert document["walls"]["value"] == 1


def test_lines_side_by_side_on_the_ground_have_no_height(tmp_path):
    """Whoever forgets Z lays everything at z 0."""
    rows = [f"G1 X{10 + 40 * (n % 2)} Y{10 + n * 0.45:.2f} E{n}" for n in range(1, 80)]
    path = tmp_path / "ground.gcode"
    path.write_text("G90\nM82\nG1 X10 Y10 F1800\n" + "\n".join(rows))
    told(path)


def test_travel_alone_lays_nothing(tmp_path):
    path = tmp_path / "travel.gcode"
    path.write_text("G28\nG1 X10 Y10 F6000\nG1 X50\n")
    document = told(path)

    assert document["filament_mm"]["value"] == 0
    assert all(math.isfinite(f["value"]) for f in document.values() if f["value"] is not None)


def test_a_line_a_metre_wide_takes_no_more_columns_than_a_bed():
    """A grid of 17 cells of a metre each way would be 290 million columns of 1 mm."""
    huge = Grid(left_mm=0.0, front_mm=0.0, cell_mm=1001.0, shape=(17, 17))
    columns = columns_over(huge, 1)

    assert columns.shape[0] * columns.shape[1] < 1.01 * MOST_COLUMNS
    assert columns.shape[1] * columns.cell_mm > 17 * 1001.0


def test_a_breath_of_strand_is_not_taken_for_a_hair_of_a_line(tmp_path):
    """Lines of 3 micron would be looked along a hundred thousand times a metre."""
    rows = [f"G1 X{10 + 150 * (n % 2)} Y{10 + 9 * n} E0.001" for n in range(12)]
    layers = [f"G1 Z{0.2 * n:.1f}\n" + "\n".join(rows) for n in range(1, 4)]
    path = tmp_path / "breath.gcode"
    path.write_text("G90\nM83\nG1 X10 Y10 Z0.2 F1800\n" + "\n".join(layers))
    found = harvest(path, PLAIN_MACHINE, Limits(), progress=silent)

    assert _bead(found, levels_of(found.lines), None).spacing_mm >= LEAST_SPACING_MM
