"""Where screws go: patterns by closed forms, edges and strips against shapely, studs by hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.job.layout.model import Anchor, CutOut, Hung, PartRule
from planner.wall.count import count_walls
from planner.wall.mounting import mount
from planner.wall.mounting.studs import best_shift, on_stud
from tests.wall.by_hand import counted, panelling, rectangle

HAIR_MM = 1e-3


def _cut(kind, at, size=(80.0, 80.0), name="there"):
    return CutOut(name=name, kind=kind, x_mm=at[0], y_mm=at[1], width_mm=size[0], height_mm=size[1])


def _places(found):
    return {(fixing.column, fixing.row) for fixing in found.fixings}


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (1, 6), (4, 3), (7, 5), (24, 12)])
def test_patterns_on_rectangles(columns, rows):
    """(m+1)(n+1) junctions; 2(m+n) at the rim; half of all, up, and corners that are not in it."""
    wall = panelling(rectangle(columns, rows))

    every, other, edges = (
        _places(mount(counted(wall, pattern=pattern)))
        for pattern in ("every junction", "every other", "edges")
    )

    junctions = (columns + 1) * (rows + 1)
    assert len(every) == junctions
    assert len(edges) == 2 * (columns + rows)
    light = [(columns % 2), (rows % 2), (columns + rows) % 2]  # corners on light squares
    assert len(other) == (junctions + 1) // 2 + sum(light)
    assert {(0, 0), (columns, 0), (0, rows), (columns, rows)} <= other & edges
    assert edges | other <= every


def test_every_other_leaves_no_two_empty_neighbours():
    """Of two junctions side by side one at least has its screw."""
    other = _places(mount(counted(panelling(rectangle(6, 5)), pattern="every other")))

    for column in range(6):
        for row in range(6):
            assert (column, row) in other or (column + 1, row) in other


def test_inner_corners_and_diagonals_always_have_a_screw():
    """An L has its inner corner at (1, 2), a light square; two cells across meet at (2, 1)."""
    ell = panelling({(1, 1), (2, 1), (1, 2), (2, 2), (1, 3)})
    across = panelling({(1, 1), (1, 2), (2, 2), (2, 1), (3, 3), (4, 3), (3, 4)})

    assert (1, 2) in _places(mount(counted(ell, pattern="every other")))
    assert (3, 3) in _places(mount(counted(across, pattern="every other")))
    assert (2, 2) in _places(mount(counted(across, pattern="every other")))


def test_least_distance_is_kept_and_told():
    """Margins of 20 mm and 30 mm to keep: the rim goes, the middle stays; 20 mm to keep: none."""
    wall = panelling(rectangle(3, 3), offset=(20.0, 20.0))
    near = Anchor(name="plug", rated_n=400, factor=4, edge_mm=20)

    found = mount(counted(wall))

    assert len(found.fixings) == 4
    assert {one.why for one in found.skipped} == {"less than 30 mm from the wall's edge"}
    assert len(found.fixings) + len(found.skipped) == 16
    assert any(
        "12 screws of the pattern left out (12 in cut-outs or too near an edge" in n
        for n in found.notes
    )
    assert len(mount(counted(wall, anchor=near)).fixings) == 16


def test_strips_run_up_down_and_sideways_from_a_socket():
    """A socket over (190..270, 210..290): junctions at x 250 and at y 250 all across the wall."""
    wall = panelling(rectangle(5, 5), cut_outs=(_cut("socket", (190, 210)),))

    found = mount(counted(wall, band_mm=50))

    assert {(one.column, one.row) for one in found.fixings} == {
        (column, row) for column in range(6) for row in range(6) if 2 not in (column, row)
    }
    whys = Counter(one.why for one in found.skipped)
    assert whys["in socket 'there'"] == 1
    assert whys["straight above or below socket 'there': cables may run there"] == 5
    assert whys["straight beside socket 'there': cables may run there"] == 5
    assert any("detector" in note and "BS 7671" in note for note in found.notes)


def test_a_long_pipe_runs_on_its_own_way_only():
    """A pipe drawn upright 40 x 300 mm takes the columns in line with it; a short one both ways."""
    long = panelling(rectangle(5, 5), cut_outs=(_cut("pipe", (240, 100), (20, 300)),))
    short = panelling(rectangle(5, 5), cut_outs=(_cut("pipe", (240, 240), (20, 20)),))

    assert _places(mount(counted(long))) == {
        (column, row) for column in range(6) for row in range(6) if column != 2
    }
    assert len(_places(mount(counted(short)))) == 25
    assert any("pipes may run there" in one.why for one in mount(counted(short)).skipped)


@pytest.mark.parametrize("kind", ["window", "other"])
def test_windows_have_no_strips(kind):
    """Only the distance from the opening itself counts."""
    wall = panelling(rectangle(5, 5), cut_outs=(_cut(kind, (190, 210)),))

    assert len(mount(counted(wall)).fixings) == 35


def test_room_edges_are_kept_where_told_and_spoken_of_where_not():
    """150 mm of a ceiling at 600 mm: y 450 and up; the floor has no such strip (BS 7671)."""
    silent = mount(counted(panelling(rectangle(5, 5))))
    told = mount(counted(panelling(rectangle(5, 5), meets=("top", "bottom"))))

    assert len(silent.fixings) == 36
    assert any("28 screws within 150 mm" in note and "meets" in note for note in silent.notes)
    assert max(one.y_mm for one in told.fixings) == 350
    assert min(one.y_mm for one in told.fixings) == 50
    assert not any("under meets" in note for note in told.notes)


CUTS = st.lists(
    st.tuples(
        st.sampled_from(["socket", "switch", "pipe", "window", "other"]),
        st.integers(0, 900),
        st.integers(0, 600),
        st.integers(10, 150),
        st.integers(10, 150),
    ),
    max_size=4,
)


@settings(max_examples=60)
@given(CUTS, st.integers(0, 80), st.integers(5, 120), st.sets(st.sampled_from(["left", "top"])))
def test_no_screw_in_a_keep_out_and_none_missing_outside(cuts, edge_mm, band_mm, meets):
    """Validation with shapely: buffered rectangles and crossing strips, drawn independently."""
    cells = rectangle(9, 6)
    outs = tuple(
        _cut(kind, (x, y), (width, height), name=str(number))
        for number, (kind, x, y, width, height) in enumerate(cuts)
    )
    wall = panelling(cells, cut_outs=outs, meets=tuple(sorted(meets)))
    anchor = Anchor(name="plug", rated_n=None, factor=4, edge_mm=edge_mm)

    found = mount(counted(wall, anchor=anchor, band_mm=band_mm))

    whole = shapely.box(0, 0, 1000, 700)
    keep_out = [whole.difference(shapely.box(edge_mm, edge_mm, 1000 - edge_mm, 700 - edge_mm))]
    for out in outs:
        body = shapely.box(out.x_mm, out.y_mm, out.x_mm + out.width_mm, out.y_mm + out.height_mm)
        keep_out.append(body.buffer(edge_mm, quad_segs=256))
        middle = body.centroid
        half = max(band_mm, out.width_mm / 2), max(band_mm, out.height_mm / 2)
        if out.kind in {"socket", "switch", "pipe"}:
            pipe = out.kind == "pipe"
            if not (pipe and out.width_mm >= 2 * out.height_mm):
                keep_out.append(shapely.box(middle.x - half[0], -1, middle.x + half[0], 701))
            if not (pipe and out.height_mm >= 2 * out.width_mm):
                keep_out.append(shapely.box(-1, middle.y - half[1], 1001, middle.y + half[1]))
    keep_out += [shapely.box(0, 0, 150, 700)] if "left" in meets else []
    keep_out += [shapely.box(0, 550, 1000, 700)] if "top" in meets else []
    area = shapely.union_all(keep_out)
    screws = [shapely.Point(one.x_mm, one.y_mm) for one in found.fixings]
    empty = [shapely.Point(one.x_mm, one.y_mm) for one in found.skipped]
    assert len(screws) + len(empty) == 70
    assert not any(area.buffer(-HAIR_MM).contains(point) for point in screws)
    assert all(area.buffer(2 * HAIR_MM).contains(point) for point in empty)


def test_studs_are_met_within_reach_of_their_middle():
    """Studs at 150 and 550: x 150 is on one, 565 just, 566 not."""
    assert on_stud(np.array([150.0, 565, 566, 350]), [550, 150]).tolist() == [
        True,
        True,
        False,
        False,
    ]


def test_the_grid_is_told_to_move_onto_studs():
    """Junctions at x 50, 150, ..., 650 and studs every 400 mm from 80: 30 mm right meets two."""
    wall = panelling(rectangle(6, 2), studs_mm=(80.0, 480.0))

    found = mount(counted(wall))

    assert not any(fixing.stud for fixing in found.fixings)
    assert any("0 of 21 screws meet a stud" in note for note in found.notes)
    assert any(
        "30 mm further right (x of the offset 80 mm) 6 of them would" in n for n in found.notes
    )


def test_screws_in_studs_are_marked():
    """Places at x 50 and 450 lie on studs: three screws each, and no better place for the grid."""
    wall = panelling(rectangle(6, 2), studs_mm=(55.0, 455.0))

    found = mount(counted(wall))

    assert {fixing.x_mm for fixing in found.fixings if fixing.stud} == {50, 450}
    assert any("6 of 21 screws meet a stud" in note for note in found.notes)
    assert not any("further" in note for note in found.notes)


def test_every_other_begins_where_more_studs_are_met():
    """One stud at x 150 behind the odd column: of rows 0 to 2 two screws if begun light."""
    wall = panelling(rectangle(4, 2), studs_mm=(150.0,))

    found = mount(counted(wall, pattern="every other"))

    assert {(one.column, one.row) for one in found.fixings if one.stud} == {(1, 0), (1, 2)}


@given(
    st.lists(st.integers(0, 50), min_size=1, max_size=12),
    st.lists(st.integers(0, 120), min_size=1, max_size=4),
    st.integers(0, 40),
    st.integers(0, 40),
)
def test_best_shift_against_all_whole_millimetres(columns, studs, left, right):
    """Places, studs and reach are whole mm, so the best count is found at a whole mm too."""
    x_mm = np.array(columns, dtype=float) * 10

    shift, count = best_shift(x_mm, studs, left_mm=left, right_mm=right)

    def met(by):
        return sum(any(abs(x + by - stud) <= 15 for stud in studs) for x in x_mm)

    assert -left <= shift <= right
    assert count == met(shift) == max(met(by) for by in range(-left, right + 1))


def test_many_walls_keep_their_names_and_order():
    """Ten walls in one job: screws wall by wall, from below and from the left."""
    walls = [panelling(rectangle(2, 1), name=f"wall {number}") for number in range(10)]

    found = mount(counted(*walls))

    assert [one.wall for one in found.fixings] == [f"wall {n}" for n in range(10) for _ in range(6)]
    assert [(one.row, one.column) for one in found.fixings[:6]] == [
        (row, column) for row in range(2) for column in range(3)
    ]


def test_a_wall_filled_by_the_layout_is_mounted_as_one_by_hand():
    """Its numbering of cells and junctions is the one that screws and loads go by."""
    cells = rectangle(6, 4) - {(3, 2), (6, 4)}
    hung = (Hung(thing="shelf", cell=(2, 2), force_n=60.0, out_mm=120.0),)
    told = {"mask": frozenset(cells), "grid": (6, 4), "offset_mm": (50.0, 50.0), "hung": hung}
    by_hand = counted(panelling(cells, **told))
    spots = ("cell", "shared edge", "free edge", "junction")
    rules = tuple(PartRule(part="thing", spot=spot) for spot in spots)
    walls = replace(by_hand.walls, system=replace(by_hand.walls.system, rules=rules))

    found, expected = mount(count_walls(walls)), mount(by_hand)

    assert found.fixings == expected.fixings
    assert [one.used for one in found.loads] == pytest.approx([one.used for one in expected.loads])
