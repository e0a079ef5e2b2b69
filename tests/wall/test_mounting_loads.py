"""What the screws of a wall bear: by hand, by balance of forces, and how it grows."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.job.layout.model import Anchor, CutOut, Hung
from planner.strength.fixings import CAUTIONS, wall_load
from planner.strength.fixings import Fixing as Screw
from planner.strength.fixings import Hung as Weight
from planner.wall.mounting import mount
from tests.wall.by_hand import counted, panelling, rectangle

MASKS = st.sets(st.tuples(st.integers(1, 6), st.integers(1, 6)), min_size=1, max_size=20)


def _shelf(cell, force_n=60.0, out_mm=150.0, count=1):
    return Hung(thing="shelf", cell=cell, force_n=force_n, out_mm=out_mm, count=count)


def _by_place(found):
    return {(one.fixing.column, one.fixing.row): one for one in found.loads}


def _worst_n(found):
    return max(hypot(one.shear_n, one.pull_n) for one in found.loads)


def _note(found, *words):
    (only,) = [note for note in found.notes if all(word in note for word in words)]
    return only


def test_a_shelf_on_one_panel():
    """60 N at 150 mm on four screws 100 mm apart, turning about the panel's lower edge.

    9000 Nmm = 2 x pull x 100 mm, so 45 N outwards for the upper two, none for the lower two
    on the edge, 15 N of shear each: the balance of moments for bolts under an eccentric load
    of Shigley's Mechanical Engineering Design, from memory.
    """
    found = mount(counted(panelling(rectangle(1, 1), hung=(_shelf((1, 1)),))))

    loads = _by_place(found)
    for corner in ((0, 1), (1, 1)):
        assert (loads[corner].shear_n, loads[corner].pull_n) == pytest.approx((15, 45))
        assert loads[corner].used == pytest.approx(hypot(15, 45) * 4 / 400)
    for corner in ((0, 0), (1, 0)):
        assert (loads[corner].shear_n, loads[corner].pull_n) == pytest.approx((15, 0))
    assert [one.fixing.row for one in found.loads] == [1, 1, 0, 0]  # worst first


def test_screws_near_a_load_count_with_what_a_rigid_board_would_hide():
    """120 N at 100 mm in the top corner of 2 x 3 cells, a screw in each of 12 junctions.

    Rigid: 12 000 x 300 / (3 x (100^2 + 200^2 + 300^2)) = 8.6 N at the top, 10 N of shear.
    Nine screws of the upper four cells alone: 12 000 x 200 / (3 x (100^2 + 200^2)) = 16 N, and
    120 / 9 N. The three at the bottom are not among them and keep 10 N.
    """
    found = mount(counted(panelling(rectangle(2, 3), hung=(_shelf((1, 3), 120, 100),))))

    loads = _by_place(found)
    for column in range(3):
        top, bottom = loads[column, 3], loads[column, 0]
        assert (top.shear_n, top.pull_n) == pytest.approx((120 / 9, 16))
        assert (bottom.shear_n, bottom.pull_n) == pytest.approx((10, 0))


def test_neighbouring_loads_are_hung_together():
    """Two shelves on a row of three cells. Round the first: six screws, 18 000 Nmm = 3 x 60 N.

    Round the second all eight: 45 N. The two screws at the right end are in that one only.
    """
    found = mount(counted(panelling(rectangle(3, 1), hung=(_shelf((2, 1)), _shelf((1, 1))))))

    loads = _by_place(found)
    for column in (0, 1, 2):
        assert (loads[column, 1].shear_n, loads[column, 1].pull_n) == pytest.approx((20, 60))
    assert (loads[3, 1].shear_n, loads[3, 1].pull_n) == pytest.approx((15, 45))


def test_count_of_an_accessory_is_its_load():
    """Three of 20 N are one of 60 N."""
    three = mount(counted(panelling(rectangle(2, 2), hung=(_shelf((1, 1), 20, count=3),))))
    one = mount(counted(panelling(rectangle(2, 2), hung=(_shelf((1, 1)),))))

    assert three.loads == one.loads


@settings(max_examples=60)
@given(MASKS, st.floats(0.1, 20))
def test_own_weight_balances(cells, panel_n):
    """Validation by statics: shears add up to the weight, pulls to its moment, islands or not.

    No accessory, so no local figure. Each board weighs at 3 mm (half its thickness) before the
    wall; arms differ per board, so only the sum over one board can be compared: one island.
    """
    found = mount(counted(panelling(cells), panel_weight_n=panel_n))

    assert not any(note.startswith("stop") for note in found.notes)
    total_n = sum(one.shear_n for one in found.loads)
    assert total_n == pytest.approx(panel_n * len(cells))
    if _islands(cells) == 1:
        lowest_mm = 50 + 100 * (min(row for _, row in cells) - 1)
        moment = sum(one.pull_n * (one.fixing.y_mm - lowest_mm) for one in found.loads)
        assert moment == pytest.approx(panel_n * len(cells) * 3)


def _islands(cells):
    left, count = set(cells), 0
    while left:
        edge, count = [left.pop()], count + 1
        while edge:
            column, row = edge.pop()
            for near in (
                (column + 1, row),
                (column - 1, row),
                (column, row + 1),
                (column, row - 1),
            ):
                if near in left:
                    left.remove(near)
                    edge.append(near)
    return count


def test_as_the_strength_stage_says():
    """A board of one panel is the wall load of its four screws, whatever hangs there."""
    hung = (_shelf((1, 1), 33, 40), _shelf((1, 1), 7, 210))
    found = mount(counted(panelling(rectangle(1, 1), hung=hung), panel_weight_n=1.5))

    screws = [Screw(x_mm=x, y_mm=y) for y in (50, 150) for x in (50, 150)]
    weights = [Weight(force_n=f, out_mm=d) for f, d in ((33, 40), (7, 210), (1.5, 3))]
    expected = wall_load(screws, weights, edge_mm=50, breaking_n=400)
    assert [one.used for one in found.loads] == pytest.approx([one.used for one in expected.loads])


def test_islands_bear_their_own_load_alone():
    """Two boards side by side, a load on the left: the right one has nothing to bear."""
    cells = {(1, 1), (1, 2), (4, 1), (4, 2)}

    found = mount(counted(panelling(cells, hung=(_shelf((1, 2)),))))

    for one in found.loads:
        assert (one.shear_n > 0) == (one.fixing.column <= 1)


def test_a_screw_between_two_boards_bears_both():
    """Cells that meet across share the screw at (1, 1); shear 10 / 4 N from each of them."""
    found = mount(counted(panelling({(1, 1), (2, 2)}), panel_weight_n=10.0))

    assert _by_place(found)[1, 1].shear_n == pytest.approx(5)
    assert _by_place(found)[0, 0].shear_n == pytest.approx(2.5)


LOADS = st.lists(
    st.tuples(st.integers(0, 99), st.floats(0.5, 200), st.floats(0, 300)), min_size=1, max_size=6
)


def _hung(cells, loads):
    cells = sorted(cells)
    return tuple(_shelf(cells[at % len(cells)], force, out) for at, force, out in loads)


@settings(max_examples=60)
@given(MASKS, LOADS, st.sampled_from(["every junction", "every other", "edges"]))
def test_double_loads_double_every_share(cells, loads, pattern):
    """All figures are linear in the weights."""
    hung = _hung(cells, loads)
    twice = tuple(replace(each, force_n=2 * each.force_n) for each in hung)

    once = mount(counted(panelling(cells, hung=hung), pattern=pattern, panel_weight_n=0.5))
    double = mount(counted(panelling(cells, hung=twice), pattern=pattern, panel_weight_n=1.0))

    before, after = _by_place(once), _by_place(double)
    assert before.keys() == after.keys()
    for place, one in before.items():
        assert after[place].shear_n == pytest.approx(2 * one.shear_n)
        assert after[place].pull_n == pytest.approx(2 * one.pull_n)
        assert after[place].used == pytest.approx(2 * one.used)


@settings(max_examples=60)
@given(st.integers(1, 7), st.integers(1, 6), LOADS)
def test_more_screws_never_raise_the_worst(columns, rows, loads):
    """Screws added no higher than the highest take some off all; both figures are such sums."""
    cells = rectangle(columns, rows)
    wall = panelling(cells, hung=_hung(cells, loads))

    some = mount(counted(wall, pattern="every other", panel_weight_n=1.0))
    every = mount(counted(wall, pattern="every junction", panel_weight_n=1.0))

    assert _worst_n(every) <= _worst_n(some) * (1 + 1e-9)


@settings(max_examples=60)
@given(MASKS, LOADS)
def test_a_mirrored_wall_bears_the_same(cells, loads):
    """Left and right exchanged: the same loads at mirrored places."""
    hung = _hung(cells, loads)
    most = max(column for column, _ in cells)
    flip = {(most + 1 - column, row) for column, row in cells}
    flipped = tuple(replace(each, cell=(most + 1 - each.cell[0], each.cell[1])) for each in hung)

    one = _by_place(mount(counted(panelling(cells, hung=hung))))
    other = _by_place(mount(counted(panelling(flip, hung=flipped))))

    assert {(most - column, row) for column, row in one} == set(other)
    for (column, row), share in one.items():
        assert share.used == pytest.approx(other[most - column, row].used)


@settings(max_examples=60)
@given(MASKS, LOADS)
def test_no_screw_bears_less_than_in_a_rigid_board(cells, loads):
    """The worse of two figures is at least the first of them, by the strength stage itself."""
    assume(_islands(cells) == 1)
    hung = _hung(cells, loads)

    found = mount(counted(panelling(cells, hung=hung)))

    lowest_mm = 50 + 100 * (min(row for _, row in cells) - 1)
    screws = [Screw(x_mm=one.x_mm, y_mm=one.y_mm) for one in found.fixings]
    weights = [Weight(force_n=each.force_n, out_mm=each.out_mm) for each in hung]
    rigid = wall_load(screws, weights, edge_mm=lowest_mm, breaking_n=400)
    used = {(one.fixing.x_mm, one.fixing.y_mm): one.used for one in rigid.loads}
    for one in found.loads:
        assert one.used >= used[one.fixing.x_mm, one.fixing.y_mm] * (1 - 1e-9)


def test_overload_is_a_stop_and_comes_first():
    """60 N at 150 mm on anchors of 100 N: 1.90 times what each may bear; 190 N would do."""
    weak = Anchor(name="plug", rated_n=100, factor=4, edge_mm=30)

    found = mount(counted(panelling(rectangle(1, 1), hung=(_shelf((1, 1)),)), anchor=weak))

    stop = found.notes[0]
    assert stop.startswith("stop: wall 'north': 2 of 4 screws overloaded")
    assert "1.90 times" in stop
    assert "rated 190 N or more" in stop  # hypot(15, 45) x 4 = 189.7
    assert "8 screws where this one shares" in stop  # 4 x 1.897 = 7.6


def test_the_rating_that_is_told_is_enough_and_one_less_is_not():
    """The least rated load in whole newtons, tried."""
    wall = panelling(rectangle(3, 2), hung=(_shelf((2, 2), 80, 120),))
    anchors = [Anchor(name="plug", rated_n=each, factor=4, edge_mm=30) for each in (1.0, None)]

    told = [mount(counted(wall, anchor=each)) for each in anchors]
    rating_n = int(_note(told[1], "take anchors rated").split("rated ")[1].split(" N")[0])

    assert all(one.used is None for one in told[1].loads)
    assert f"rated {rating_n} N or more" in told[0].notes[0]
    for rated_n, fits in ((rating_n, True), (rating_n - 1, False)):
        anchor = Anchor(name="plug", rated_n=rated_n, factor=4, edge_mm=30)
        found = mount(counted(wall, anchor=anchor))
        assert (max(one.used for one in found.loads) <= 1) == fits
        assert any(note.startswith("stop") for note in found.notes) != fits


def test_without_an_anchor_the_rating_has_the_usual_factor():
    """Nothing said: factor 4, no distance kept, and that is told."""
    wall = panelling(rectangle(1, 1), hung=(_shelf((1, 1)),), offset=(5.0, 5.0))

    found = mount(counted(wall, anchor=None))

    assert len(found.fixings) == 4
    assert found.loads[0].used is None
    assert "rated 190 N" in _note(found, "take anchors rated")
    assert any("no anchor is described" in note for note in found.notes)


def test_patterns_are_compared_and_the_fewest_that_hold_are_named():
    """Light loads on 4 x 3 cells: 12 screws, not 20 or 14; too heavy ones: no pattern will do."""
    light = panelling(rectangle(4, 3), hung=(_shelf((2, 2), 5, 50),))
    heavy = panelling(rectangle(4, 3), hung=(_shelf((2, 2), 5000, 50),))

    note = _note(mount(counted(light)), "choice of screws")

    assert "every junction: 20 screws" in note
    assert "every other: 12 screws" in note
    assert "edges: 14 screws" in note
    assert note.endswith("fewest that hold, near every load: every other")
    assert _note(mount(counted(heavy)), "choice of screws").endswith("none will do")


def test_a_pattern_with_no_screws_near_a_load_is_not_advised():
    """The rim of 9 x 5 cells has fewest screws, 28, but none near a shelf in the middle."""
    wall = panelling(rectangle(9, 5), hung=(_shelf((5, 3), 5, 50),))

    note = _note(mount(counted(wall)), "choice of screws")

    assert "edges: 28 screws" in note
    assert "none near some loads; " in note
    assert note.endswith("every other")


def test_a_slipped_screw_is_thought_of():
    """One of two upper screws gone leaves one alone; one of three gives each of two 45 N."""
    plug = Anchor(name="plug", rated_n=200, factor=4, edge_mm=30)
    weaker = replace(plug, rated_n=180)

    two = mount(counted(panelling(rectangle(1, 1), hung=(_shelf((1, 1)),)), anchor=plug))
    three = panelling(rectangle(2, 1), hung=(_shelf((1, 1)),))

    assert "tip off the wall" in _note(two, "worst screw slips")
    found = mount(counted(three, anchor=weaker))
    assert f"{hypot(10, 30) * 4 / 180:.2f} of what" in _note(found, "the worst, at")
    assert f"{hypot(12, 45) * 4 / 180:.2f} times" in _note(found, "worst screw slips")
    assert not any("slips" in note for note in mount(counted(three, anchor=plug)).notes)


def test_no_load_known_is_told_and_not_zero():
    """Neither a panel's weight nor an accessory's: no figures at all."""
    silent = Hung(thing="hook", cell=(1, 1))

    found = mount(counted(panelling(rectangle(2, 2), hung=(silent,))))

    assert found.loads == ()
    assert any("no load is checked" in note for note in found.notes)
    assert not any("stop" in note for note in found.notes)


def test_accessories_without_a_load_are_counted():
    """Four of six have none."""
    hung = (Hung(thing="hook", cell=(1, 1), count=4), _shelf((1, 1), count=2))

    found = mount(counted(panelling(rectangle(2, 2), hung=hung)))

    assert "4 of 6 accessories" in _note(found, "weightless")


def test_a_wall_without_any_screw_is_told():
    """Margins of 10 mm and 30 mm to keep: four places, none left, why."""
    wall = panelling(rectangle(1, 1), offset=(10.0, 10.0), hung=(_shelf((1, 1)),))

    found = mount(counted(wall))

    assert (found.fixings, found.loads) == ((), ())
    assert found.notes[0] == (
        "stop: wall 'north' has no screw: all 4 places of the pattern 'every junction' are left "
        "out (4 in cut-outs or too near an edge)"
    )


def test_a_wall_without_cells_is_no_crash():
    """Nothing to mount; the layout refuses it before."""
    found = mount(counted(panelling(set())))

    assert found.fixings == ()


def test_screws_at_the_lower_edge_alone_let_it_tip():
    """The upper screws would sit 10 mm under the wall's edge: the lower two cannot hold."""
    wall = panelling(rectangle(1, 1), height_mm=160.0, hung=(_shelf((1, 1)),))

    found = mount(counted(wall))

    assert len(found.fixings) == 2
    assert found.loads == ()  # nothing is known of what they bear
    assert "tipping" in found.notes[0]
    assert "cell (1, 1)" in found.notes[0]


def test_one_upper_screw_alone_is_a_stop():
    """A window's edge takes the upper right one."""
    window = CutOut(name="w", kind="window", x_mm=160, y_mm=100, width_mm=80, height_mm=90)
    wall = panelling(rectangle(1, 1), width_mm=300.0, cut_outs=(window,), hung=(_shelf((1, 1)),))

    found = mount(counted(wall))

    assert len(found.fixings) == 3
    assert "against one screw alone" in found.notes[0]


def test_a_load_far_from_screws_is_told():
    """Edges only on 9 x 9 cells: a shelf in the middle is four cells from any screw."""
    wall = panelling(rectangle(9, 9), hung=(_shelf((5, 5)),))

    found = mount(counted(wall, pattern="edges"))

    assert "cell (5, 5)" in _note(found, "no two screws within one cell")
    assert not any("within one cell" in n for n in mount(counted(wall)).notes)
    # the whole board is then the neighbourhood: all 36, arms 0 to 900 mm
    arms = sum((10 if row in (0, 9) else 2) * (100 * row) ** 2 for row in range(10))
    assert _worst_n(found) == pytest.approx(hypot(60 / 36, 9000 * 900 / arms))


def test_something_hung_beside_the_panels_is_told():
    """A cell without a panel cannot bear; beyond the grid neither."""
    wall = panelling({(1, 1), (2, 1)}, hung=(_shelf((1, 3)), _shelf((99, 1)), _shelf((2, 1))))

    found = mount(counted(wall))

    assert "cells (1, 3), (99, 1), without a panel" in found.notes[0]


def test_cautions_and_assumptions_are_there():
    """Those of the strength stage, that it is not for ceilings, and both figures explained."""
    found = mount(counted(panelling(rectangle(1, 1))))

    assert set(CAUTIONS) <= set(found.cautions)
    assert any("ceiling" in each for each in found.cautions)
    assert any("rigid" in each for each in found.assumptions)
    assert any("within one cell" in each for each in found.assumptions)


def test_the_same_wall_gives_the_same_answer():
    """Cells and junctions in another order: not one figure differs."""
    wall = panelling(rectangle(4, 3), hung=(_shelf((2, 2)), _shelf((4, 1), 20, 90)))
    turned = replace(wall, cells=wall.cells[::-1], junctions=wall.junctions[::-1])

    assert mount(counted(wall)) == mount(counted(turned))


def _window(x_mm, y_mm, width_mm, height_mm=20.0):
    return CutOut(
        name="w", kind="window", x_mm=x_mm, y_mm=y_mm, width_mm=width_mm, height_mm=height_mm
    )


def test_one_upper_screw_nearby_is_not_enough():
    """A window takes two upper screws of four cells in a row: near the first cell one is left.

    Taken in up to the third cell, two above turn 9000 Nmm: 45 N each, and 10 N of shear on six.
    """
    wall = panelling(rectangle(4, 1), cut_outs=(_window(140, 160, 120),), hung=(_shelf((1, 1)),))

    found = mount(counted(wall))

    top = _by_place(found)[0, 1]
    assert (top.shear_n, top.pull_n) == pytest.approx((10, 45))
    assert "cell (1, 1)" in _note(found, "no two screws within one cell")


def test_the_panels_round_a_load_hang_with_it():
    """60 N low on three panels of 6 N: two of them hang with it on six screws, 12 N of shear."""
    wall = panelling(rectangle(1, 3), hung=(_shelf((1, 1)),))

    found = mount(counted(wall, panel_weight_n=6.0))

    assert _by_place(found)[0, 0].shear_n == pytest.approx((60 + 2 * 6) / 6)
    assert _by_place(found)[0, 3].shear_n == pytest.approx((60 + 3 * 6) / 8)


def test_stops_of_all_walls_come_before_anything_else():
    """The first wall is fine, the second has no screw."""
    fine = panelling(rectangle(2, 2), name="fine", hung=(_shelf((1, 1), 5),))
    bare = panelling(rectangle(1, 1), name="bare", offset=(10.0, 10.0))

    found = mount(counted(fine, bare))

    stops = [note.startswith("stop") for note in found.notes]
    assert stops == sorted(stops, reverse=True)
    assert sum(stops) == 1
    assert {one.fixing.wall for one in found.loads} == {"fine"}


def test_screws_of_a_board_that_tips_have_no_figure():
    """The right board lost both upper screws to a window; the left one's are told."""
    wall = panelling(
        {(1, 1), (3, 1)}, cut_outs=(_window(240, 160, 120),), hung=(_shelf((1, 1)), _shelf((3, 1)))
    )

    found = mount(counted(wall))

    assert "cell (3, 1)" in found.notes[0]
    assert {one.fixing.column for one in found.loads} == {0, 1}
    assert len(found.fixings) == 6
