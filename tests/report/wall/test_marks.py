"""Marks: hatching stays in its box, text in its room."""

import math

from hypothesis import given
from hypothesis import strategies as st

from planner.report.wall.runs import runs_of
from planner.report.wall.sheet.as_pdf import drawable
from planner.report.wall.sheet.marks import Box, fitted, hatched, width_of
from planner.wall.model import Edge

SIDES = st.floats(0.5, 300)
PLACES = st.floats(-500, 500)


@given(x=PLACES, y=PLACES, wide=SIDES, high=SIDES, rising=st.booleans())
def test_hatching_fills_its_box_and_nothing_else(x, y, wide, high, rising):
    """Every line is slanted by 45 degrees, ends on the rim, and none is missing in between."""
    spacing = 3.0
    box = Box(x, y, wide, high, "cut-out")

    paths = hatched(box, spacing, "hatch", rising=rising)

    lines = [line for path in paths for line in path.lines]
    sign = 1 if rising else -1
    for (x0, y0), (x1, y1) in lines:
        assert math.isclose(x1 - x0, sign * (y1 - y0), abs_tol=1e-6)
        for px, py in ((x0, y0), (x1, y1)):
            assert x - 1e-6 <= px <= x + wide + 1e-6
            assert y - 1e-6 <= py <= y + high + 1e-6
    # x - sign * y runs over an interval wide + high long, which holds that many whole spacings
    # (the outermost may touch a corner only, and then have no length)
    assert (wide + high) // spacing - 2 <= len(lines) <= (wide + high) // spacing + 1


@given(text=st.text(max_size=60), room=st.floats(0, 200))
def test_a_shortened_text_keeps_to_its_room(text, room):
    """Whatever the letters, double-wide ones too."""
    assert width_of(fitted(text, 3.0, room), 3.0) <= room + 1e-5


@given(st.text())
def test_every_text_can_be_written_with_the_fonts_of_every_reader(text):
    """Windows-1252 holds what is left, and no letter is lost."""
    shown = drawable(text)

    shown.encode("cp1252")
    assert len(shown) == len(text)


def test_edges_join_to_runs_and_break_at_gaps():
    """Three edges in line, one beyond a gap, one across."""
    level = [
        Edge(x_mm=10 + 100 * step, y_mm=5, upright=False, shared=True) for step in (2, 0, 1, 4)
    ]
    upright = Edge(x_mm=10, y_mm=5, upright=True, shared=True)

    assert runs_of([*level, upright], (100, 80)) == (
        ((10, 5), (310, 5)),
        ((410, 5), (510, 5)),
        ((10, 5), (10, 85)),
    )
