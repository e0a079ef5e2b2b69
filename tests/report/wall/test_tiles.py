"""How a wall is cut into sheets: every hole on a sheet, none printed in vain."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.job.layout.model import WallShape
from planner.report.wall.paper import PAPERS
from planner.report.wall.subject import subjects
from planner.report.wall.template.tiles import (
    BRIDGE_MAX,
    FOOT_MM,
    MARGIN_MM,
    OVERLAP_MM,
    PAGES_MAX,
    SIDE_MM,
    Tile,
    seen,
    tile,
)
from planner.wall.model import Fixing

from .walls import bare_wall, big_wall, counted, mounted, mounting

WIDE, HIGH = 3000.0, 2000.0
SPOTS = st.lists(st.tuples(st.floats(0, WIDE), st.floats(0, HIGH)), min_size=1, max_size=25)


def subject_with(spots, width_mm=WIDE, height_mm=HIGH):
    """Return a wall with screws at these places."""
    told = counted(WallShape(name="w", width_mm=width_mm, height_mm=height_mm), pitch=1000)
    screws = [Fixing(wall="w", x_mm=x, y_mm=y, column=0, row=0) for x, y in spots]
    return subjects(told, mounting(screws))[0]


@settings(max_examples=60, deadline=None)
@given(spots=SPOTS, paper=st.sampled_from(sorted(PAPERS)))
def test_every_hole_is_on_a_printed_tile_and_every_tile_is_accounted_for(spots, paper):
    """Printed and blank tiles make up the wall; a tile without a hole is printed to join only."""
    subject = subject_with(spots)
    tiling = tile(subject, paper)

    everything = {Tile(r, c) for r in range(tiling.rows) for c in range(tiling.columns)}
    assert sorted((*tiling.printed, *tiling.blank)) == sorted(everything)
    assert tiling.columns * tiling.step_mm[0] >= WIDE > (tiling.columns - 1) * tiling.step_mm[0]
    assert tiling.rows * tiling.step_mm[1] >= HIGH > (tiling.rows - 1) * tiling.step_mm[1]
    shown = {number for each in tiling.printed for number, _ in seen(tiling, each, subject.fixings)}
    assert shown == {number for number, _ in subject.fixings}
    owners = {tiling.tile_of(f.x_mm, f.y_mm) for _, f in subject.fixings}
    assert set(tiling.holes) == owners
    assert not set(tiling.bridges) & owners


@settings(max_examples=60, deadline=None)
@given(spots=SPOTS)
def test_groups_are_joined_over_short_gaps(spots):
    """After bridging, no two groups are as near as a bridge would reach."""
    tiling = tile(subject_with(spots), "A4")
    printed = set(tiling.printed)
    group_of = {}
    for start in sorted(printed):  # flood from every tile, in plain words
        if start in group_of:
            continue
        todo = [start]
        while todo:
            here = todo.pop()
            if here in group_of or here not in printed:
                continue
            group_of[here] = start
            for row, column in ((0, 1), (0, -1), (1, 0), (-1, 0)):
                todo.append(Tile(here.row + row, here.column + column))
    for a in tiling.holes:
        for b in tiling.holes:
            if group_of[a] != group_of[b]:
                assert abs(a.row - b.row) + abs(a.column - b.column) > BRIDGE_MAX + 1


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_a_tile_fits_its_sheet(paper):
    """Margins, strips, cell and overlap add up to no more than the paper."""
    tiling = tile(subject_with([(10, 10)]), paper)

    wide = tiling.step_mm[0] + OVERLAP_MM + 2 * MARGIN_MM + SIDE_MM
    high = tiling.step_mm[1] + OVERLAP_MM + 2 * MARGIN_MM + FOOT_MM
    assert wide <= tiling.page_mm[0]
    assert high <= tiling.page_mm[1]
    assert sorted(tiling.page_mm) == sorted(PAPERS[paper])


def test_a_hole_on_the_far_rim_belongs_to_the_last_tile():
    """A wall of whole tiles has none beyond its end."""
    tiling = tile(subject_with([(350, 480)], 350, 480), "A4")

    assert len(tiling.holes) == 1
    last = tiling.holes[0]
    assert (last.row + 1) * tiling.step_mm[1] >= 480 > last.row * tiling.step_mm[1]
    assert (last.column + 1) * tiling.step_mm[0] >= 350 > last.column * tiling.step_mm[0]


@pytest.mark.parametrize(("dx", "dy"), [(-3, 50), (3, 50), (50, -3), (50, 3), (-3, 3), (4.9, -4.9)])
def test_a_hole_near_a_line_of_the_lattice_is_on_both_sides_of_it(dx, dy):
    """On two sheets, on four near a corner; 5 mm is half the overlap."""
    wide, high = tile(subject_with([(10, 10)]), "A4").step_mm
    others = [(70 * c + 11, 70 * r + 13) for c in range(10) for r in range(13)]  # on all tiles
    subject = subject_with([*others, (2 * wide + dx, 2 * high + dy)], 4 * wide, 4 * high)
    tiling = tile(subject, "A4")
    assert tiling.step_mm == (wide, high)

    number = next(n for n, f in subject.fixings if f.x_mm == 2 * wide + dx)
    shown = [each for each in tiling.printed if number in dict(seen(tiling, each, subject.fixings))]

    columns = {1, 2} if abs(dx) < 5 else {2}
    rows = {1, 2} if abs(dy) < 5 else {2}
    assert {(each.column, each.row) for each in shown} == {(c, r) for c in columns for r in rows}


def test_studs_far_apart_make_columns_of_tiles_joined_once():
    """Two studs 600 mm apart: few blank tiles between, printed in one row only."""
    spots = [(x, y) for x in (100, 700) for y in range(50, 2000, 100)]
    tiling = tile(subject_with(spots), "A4")

    assert 1 <= len(tiling.bridges) <= BRIDGE_MAX  # the corner has holes itself
    assert len({bridge.row for bridge in tiling.bridges}) == 1


def test_the_corner_of_the_wall_is_printed_where_it_can_be_glued_on():
    """The whole is hung by it; too far from every hole it would hang on nothing."""
    near = tile(subject_with([(600, 100), (700, 100)]), "A4")
    far = tile(subject_with([(1900, 100), (2000, 100)]), "A4")

    assert Tile(0, 0) in near.bridges
    assert {each.row for each in near.printed} == {0}
    assert [each.column for each in near.printed] == list(range(len(near.printed)))
    assert Tile(0, 0) in far.blank


def test_the_window_of_a_large_wall_is_left_out():
    """Tiles wholly in the window have no hole and are no bridge."""
    told = counted(big_wall())
    tiling = tile(subjects(told, mounted(told))[0], "A4")

    inside = [
        each
        for each in tiling.blank
        if tiling.corner_mm(each)[0] >= 1900 and tiling.corner_mm(each)[1] >= 700
    ]
    assert inside
    assert not any(
        tiling.corner_mm(each)[0] >= 1900 and tiling.corner_mm(each)[1] >= 700
        for each in tiling.printed
    )


def test_nobody_prints_a_thousand_pages():
    """A hall is not tiled, and says so by having no pages but the overview."""
    told = counted(bare_wall("hall", 12_000, 8_000))
    tiling = tile(subjects(told, mounted(told))[0], "A4")

    assert len(tiling.holes) > PAGES_MAX
    assert tiling.too_many
    assert tiling.printed == ()
    assert tiling.pages == 1


def test_a_wall_without_holes_has_no_tiles():
    """Not even the first."""
    told = counted(bare_wall())
    tiling = tile(subjects(told, mounting(()))[0], "A4")

    assert tiling.printed == ()
    assert tiling.pages == 1


def test_pages_go_row_by_row_from_below():
    """As one glues them."""
    told = counted(big_wall())
    printed = tile(subjects(told, mounted(told))[0], "A4").printed

    assert all((a.row, a.column) < (b.row, b.column) for a, b in pairwise(printed))
