"""How far a board runs out of level: trigonometry, and small numbers by hand."""

from __future__ import annotations

from itertools import pairwise
from math import atan, degrees, sin, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.wall.levelling import drifts
from planner.wall.levelling.drift import tilt_deg
from tests.wall.by_hand import counted, panelling, rectangle


def _one(cells, **told):
    (found,) = drifts(counted(panelling(cells), **told))
    return found


def test_half_a_millimetre_per_metre_over_a_wall():
    """0.5 mm/m over 2.4 m is 1.2 mm, over 1.2 m of height 0.6 mm; by the sine 0.2 nm less."""
    found = _one(rectangle(24, 12), error=(0.5, 0.0))

    assert found.worst_mm == pytest.approx(1.2)
    assert found.typical_mm == pytest.approx(1.2)
    assert found.worst_up_mm == pytest.approx(0.6)
    assert found.worst_mm == pytest.approx(2400 * sin(atan(0.0005)), rel=0.0005**2)


@pytest.mark.parametrize(("error", "angle_deg"), [(0.5, 0.0286), (1.0, 0.0573)])
def test_angle_of_a_spirit_level(error, angle_deg):
    """Angles as printed for levels of 0.5 and 1.0 mm/m (sourcebyspec.com), to four digits."""
    assert tilt_deg(error) == pytest.approx(angle_deg, abs=5e-5)
    assert tilt_deg(error) == pytest.approx(degrees(error / 1000), rel=1e-6)  # x - x^3 / 3


def test_two_errors_add_straight_at_worst_and_as_squares_typically():
    """0.3 and 0.4 mm/m: 0.7 at worst, 0.5 typically, over 2 m."""
    found = _one(rectangle(20, 3), error=(0.3, 0.4))

    assert (found.worst_mm, found.typical_mm) == pytest.approx((1.4, 1.0))


def test_play_is_exceeded_one_column_after_it_is_reached():
    """0.05 mm a column against 0.3 mm of play: six columns are just within, the seventh not."""
    found = _one(rectangle(20, 6), error=(0.5, 0.0), play=0.3)

    assert found.column == 7
    assert found.row is None  # six rows are within
    assert found.check_at == (6, 12, 18)


def test_rows_by_their_own_pitch():
    """0.5 mm/m x 240 mm = 0.12 mm a row: 0.24 within 0.3 mm, the third row beyond."""
    wall = panelling(rectangle(2, 5), pitch=(100.0, 240.0))

    (found,) = drifts(counted(wall, pitch=(100.0, 240.0), error=(0.5, 0.0)))

    assert (found.column, found.row) == (None, 3)
    assert found.worst_up_mm == pytest.approx(0.6)


def test_without_play_every_column_is_checked():
    """One panel alone is beyond: that is told for the first, and all are to be checked."""
    found = _one(rectangle(4, 2), play=0.0)

    assert (found.column, found.row, found.check_at) == (1, 1, (1, 2, 3, 4))


def test_no_error_is_no_drift():
    """A perfect level and first panel: nothing to check, even without play."""
    found = _one(rectangle(40, 30), error=(0.0, 0.0), play=0.0)

    assert (found.worst_mm, found.typical_mm, found.worst_up_mm) == (0, 0, 0)
    assert (found.column, found.row, found.check_at) == (None, None, ())


def test_counts_from_where_the_board_begins():
    """A drawing whose first cells are empty: column 9 is the seventh of the board."""
    cells = {(column + 2, row) for column, row in rectangle(10, 2)}

    found = _one(cells, error=(0.5, 0.0))

    assert found.worst_mm == pytest.approx(0.5)
    assert (found.column, found.check_at) == (9, (8,))


def test_a_wall_without_cells_and_walls_in_order():
    """No cells, no drift; every wall has its own line."""
    found = drifts(counted(panelling(set(), name="bare"), panelling(rectangle(2, 1))))

    assert [each.wall for each in found] == ["bare", "north"]
    assert (found[0].worst_mm, found[0].column, found[0].check_at) == (0, None, ())


@given(st.integers(1, 60), st.integers(0, 500), st.integers(0, 500), st.integers(0, 200))
def test_no_stretch_between_checks_exceeds_the_play(columns, first, level, play):
    """Whole hundredths, so exact: the told column is the first beyond, and checks are dense."""
    found = _one(rectangle(columns, 1), error=(first / 100, level / 100), play=play / 100)

    step = (first + level) * 100  # millionths of a metre a column, of 100 mm
    beyond = [number for number in range(1, columns + 1) if number * step > play * 1000]
    assert found.column == (beyond[0] if beyond else None)
    if beyond:
        stops = [0, *found.check_at, columns]
        stretch = max(b - a for a, b in pairwise(stops))
        assert stretch == 1 or stretch * step <= play * 1000
    else:
        assert found.check_at == ()
    assert found.typical_mm <= found.worst_mm * (1 + 1e-12)
    assert found.worst_mm <= sqrt(2) * found.typical_mm * (1 + 1e-12)
