"""The best place of the grid: against trying every half millimetre."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from planner.errors import InputError
from planner.wall.count import count_walls
from planner.wall.offset import best_offset, free_cells
from tests.wall.plain import drawn, rectangle, sized, system, walls

PITCH = (10.0, 7.0)
SPANS = st.tuples(st.integers(0, 40), st.integers(1, 14))


def figures(wall, offset_mm):
    """Return the number of cells and how uneven the margins are, from nothing but `free_cells`."""
    free = free_cells(wall, PITCH, offset_mm)
    places = [(c, r) for c in range(free.shape[0]) for r in range(free.shape[1]) if free[c, r]]
    if not places:
        return 0, float("inf")
    uneven = 0.0
    for axis, length in enumerate((wall.width_mm, wall.height_mm)):
        numbers = [place[axis] for place in places]
        low = offset_mm[axis] + min(numbers) * PITCH[axis]
        high = offset_mm[axis] + (max(numbers) + 1) * PITCH[axis]
        uneven += abs(low - (length - high))
    return len(places), round(uneven, 6)


def plainly_free(wall, offset_mm):
    """Which cells no cut-out overlaps, cell by cell."""
    found = set()
    columns = int((wall.width_mm - offset_mm[0]) / PITCH[0] + 1e-9)
    rows = int((wall.height_mm - offset_mm[1]) / PITCH[1] + 1e-9)
    for column, row in product(range(columns), range(rows)):
        x, y = offset_mm[0] + column * PITCH[0], offset_mm[1] + row * PITCH[1]
        if not any(
            x < cut.x_mm + cut.width_mm
            and cut.x_mm < x + PITCH[0]
            and y < cut.y_mm + cut.height_mm
            and cut.y_mm < y + PITCH[1]
            for cut in wall.cut_outs
        ):
            found.add((column, row))
    return found


@given(
    size=st.tuples(st.integers(10, 44), st.integers(7, 30)),
    spans=st.lists(st.tuples(SPANS, SPANS), max_size=3),
    place=st.tuples(st.integers(0, 9), st.integers(0, 6)),
)
def test_free_cells_are_those_that_nothing_overlaps(size, spans, place):
    """Cell by cell, in whole millimetres, so that touching is exact."""
    wall = sized(*size, *((x, y, w, h) for (x, w), (y, h) in spans))
    assume(place[0] + PITCH[0] <= size[0] and place[1] + PITCH[1] <= size[1])
    free = free_cells(wall, PITCH, place)

    assert {(int(c), int(r)) for c, r in zip(*free.nonzero(), strict=True)} == plainly_free(
        wall, place
    )


@given(
    size=st.tuples(st.integers(10, 44), st.integers(7, 30)),
    spans=st.lists(st.tuples(SPANS, SPANS), max_size=3),
)
def test_no_place_holds_more_cells_or_is_more_even(size, spans):
    """Sizes are whole millimetres and so are pitches: the best lies on half millimetres."""
    wall = sized(*size, *((x, y, w, h) for (x, w), (y, h) in spans))
    told = figures(wall, best_offset(wall, PITCH))
    tried = [
        figures(wall, (x / 2, y / 2))
        for x in range(min(20, 2 * (size[0] - 10) + 1))
        for y in range(min(14, 2 * (size[1] - 7) + 1))
    ]
    most = max(cells for cells, _ in tried)

    assert told[0] == most
    assert told[1] <= min(uneven for cells, uneven in tried if cells == most)


@pytest.mark.parametrize(
    ("length", "margin"), [(690, 45), (600, 0), (699, 49.5), (601, 0.5), (100, 0)]
)
def test_without_cut_outs_the_margins_are_even(length, margin):
    """As many as fit, half of the rest on either side."""
    panelling = count_walls(walls(sized(length, 100))).panellings[0]

    assert len(panelling.cells) == length // 100
    assert panelling.margins_mm == pytest.approx((margin, margin, 0, 0), abs=1e-9)


def test_a_cut_out_that_only_touches_harms_no_cell():
    """A window to the right of x = 300: three columns end there."""
    panelling = count_walls(walls(sized(650, 100, (300, 0, 350, 100)))).panellings[0]

    assert [(cell.x_mm, cell.y_mm) for cell in panelling.cells] == [(0, 0), (100, 0), (200, 0)]
    assert panelling.margins_mm == (0, 350, 0, 0)


def test_cells_move_aside_for_a_pipe():
    """A pipe from 90 to 110 mm costs two columns of a grid that begins at 0, one from 10 on."""
    panelling = count_walls(walls(sized(330, 100, (90, 0, 20, 100)))).panellings[0]

    assert [cell.x_mm for cell in panelling.cells] == [110, 210]
    assert panelling.margins_mm == (110, 20, 0, 0)


def test_a_place_that_was_told_is_kept():
    """Even if another would hold more; nothing lies left of it or below."""
    panelling = count_walls(walls(sized(400, 200, offset_mm=(150.0, 20.0)))).panellings[0]

    assert [(cell.x_mm, cell.y_mm) for cell in panelling.cells] == [(150, 20), (250, 20)]
    assert panelling.margins_mm == (150, 50, 20, 80)


def test_a_drawing_keeps_its_columns_in_a_larger_wall():
    """Empty columns of the drawing still count: the cell is in column 2, in the wall's middle."""
    shape = drawn([(2, 1)])
    wide = sized(450, 130, mask=shape.mask, grid=(2, 1))
    panelling = count_walls(walls(wide)).panellings[0]

    assert [(cell.column, cell.row) for cell in panelling.cells] == [(2, 1)]
    assert panelling.margins_mm == pytest.approx((175, 175, 15, 15))


def test_columns_that_were_told_are_not_shifted():
    """Six columns fill their wall, whatever a cut-out would like better."""
    panelling = count_walls(
        walls(rectangle(6, 1, cut_outs=sized(600, 100, (195, 0, 10, 100)).cut_outs))
    ).panellings[0]

    assert [cell.column for cell in panelling.cells] == [1, 4, 5, 6]


def test_thirds_of_a_millimetre_do_not_lose_a_column():
    """Three cells of 33.3 mm in 99.9 mm, though 3 x 33.3 is not 99.9 in binary."""
    panels = system(pitch=(33.3, 0.1))
    panelling = count_walls(walls(sized(99.9, 0.3), panels=panels)).panellings[0]

    assert len(panelling.cells) == 9
    assert panelling.margins_mm == (0, 0, 0, 0)


def test_too_much_to_try_is_refused_with_a_way_out():
    """A drawing of one cell on a wall of forty metres, with fifty cut-outs of odd sizes."""
    cut_outs = [(17.3 * n, 13.1 * n, 1.7, 1.9) for n in range(1, 51)]
    wall = sized(40_000, 40_000, *cut_outs, mask=frozenset([(1, 1)]), grid=(1, 1))

    with pytest.raises(InputError, match="write offset_mm"):
        best_offset(wall, (100.0, 100.0))
