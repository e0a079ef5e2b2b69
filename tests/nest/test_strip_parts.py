"""What the strip packer is built from: convex pieces, walls, depths, plain covers, compaction."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.nest.convex import convex_pieces, walls_between
from planner.nest.depth import depth_of, inside_bits
from planner.nest.separate import Lie, Separation
from planner.nest.strip.compact import compacted
from planner.nest.strip.kit import Kit, Strip
from planner.nest.strip.plain import CORNERS_MOST, plain_cover
from tests.nest.shapes import item, rectangle, ring, star


@given(star())
@settings(max_examples=60, deadline=None)
def test_convex_pieces_make_up_the_shape(shape):
    """Each equals its hull; together they have the area, and nothing lies outside."""
    pieces = [shapely.Polygon(piece) for piece in convex_pieces(shape)]

    assert all(piece.convex_hull.area <= piece.area * (1 + 1e-6) for piece in pieces)
    assert sum(piece.area for piece in pieces) == pytest.approx(shape.area, rel=1e-6)
    assert shapely.union_all(pieces).difference(shape).area <= 1e-6 * shape.area


@given(star(40.0), star(40.0), st.tuples(st.floats(-50, 50), st.floats(-50, 50)))
@settings(max_examples=60, deadline=None)
def test_walls_say_what_the_exact_overlap_says(fixed, moving, offset):
    """Some piece is on the wrong side of all its walls exactly when the areas overlap."""
    walls = walls_between(convex_pieces(fixed), convex_pieces(moving))

    apart = (walls.normal @ np.array(offset) - walls.far_mm).max(axis=1).min()

    overlap = fixed.intersection(affinity.translate(moving, *offset)).area
    if apart >= 1e-9:
        assert overlap <= 1e-6
    elif apart < -1e-3:
        assert overlap > 0


@given(star(30.0), star(30.0))
@settings(max_examples=20, deadline=None)
def test_grid_points_inside_the_walls_are_the_offsets_that_overlap(fixed, moving):
    """Point by point against shapely."""
    walls = walls_between(convex_pieces(fixed), convex_pieces(moving))
    low = np.floor(np.array(fixed.bounds[:2]) - np.array(moving.bounds[2:])).astype(int)
    high = np.ceil(np.array(fixed.bounds[2:]) - np.array(moving.bounds[:2])).astype(int)
    corner, size = tuple(low.tolist()), tuple((high - low + 1).tolist())

    bits = inside_bits(walls.normal, walls.far_mm, step_mm=1.0, low=corner, size=size)

    for row, column in np.argwhere(np.ones_like(bits))[::13].tolist():
        moved = affinity.translate(moving, corner[0] + column, corner[1] + row)
        overlap = moved.intersection(fixed).area
        if overlap > 1e-6:
            assert bits[row, column]
        elif overlap == 0:
            assert not bits[row, column]


def test_depth_is_the_shortest_way_out():
    """A box of 5 x 3 over one of equal size: 3 rows or 5 columns away; worked out by hand."""
    bits = np.ones((5, 9), dtype=bool)  # offsets -4..4, -2..2

    depth = depth_of(bits, (-4, -2))

    assert depth.steps[2, 4] == 3.0
    assert depth.steps[0].tolist() == [1.0] * 9
    assert depth.quarter_turned().steps.shape == (9, 5)
    assert (depth.quarter_turned().low_x, depth.quarter_turned().low_y) == (-2, -4)
    assert (depth.swapped().low_x, depth.swapped().low_y) == (-4, -2)


@given(star(30.0), star(30.0))
@settings(max_examples=4, deadline=None)
def test_depths_of_turned_pairs_are_those_worked_out_afresh(one, other):
    """Turning and swapping a pair gives what its own walls give."""
    items = [item("one", one), item("other", other)]
    kit, fresh = (Kit(items, depth_mm=200, clearance_mm=0.0, edge_mm=0.0) for _ in range(2))
    kit.step_mm = fresh.step_mm = 1.0
    fresh._turned_back = lambda _: None

    for fixed in kit.of[0]:
        for moving in kit.of[1]:
            got, wanted = kit.depth(fixed, moving), fresh.depth(fixed, moving)
            back = kit.depth(moving, fixed)
            assert dict(entries(got)) == pytest.approx(dict(entries(wanted)), abs=1.01)
            assert dict(entries(back.swapped())) == dict(entries(got))


def entries(depth):
    """Yield offset and depth where the shapes are more than a step deep: the rest may round."""
    for row, column in np.argwhere(depth.steps > 2.5).tolist():
        yield (depth.low_x + column, depth.low_y + row), float(depth.steps[row, column])


@given(star(80.0).map(lambda shape: shape.buffer(3.0)), st.sampled_from([0.05, 0.5]))
@settings(max_examples=30, deadline=None)
def test_plain_covers_contain_the_shape_and_keep_its_extents(shape, reach_mm):
    """And have few corners."""
    cover = plain_cover(shape, reach_mm)

    assert cover.covers(shape)
    assert cover.bounds == pytest.approx(shape.bounds)
    if cover.area < shape.convex_hull.area:
        assert shapely.get_num_coordinates(cover) <= CORNERS_MOST


def test_separation_parts_what_lies_on_one_heap():
    """Six squares of a third of the depth, all in one corner, in a strip they just fill."""
    kit = Kit([item("square", rectangle(20, 20), 6)], depth_mm=60, clearance_mm=0, edge_mm=0)
    (shape,) = kit.of[0]
    heap = [Lie(shape, 0, 0)] * 6

    state = Separation(Strip(kit, 40.0), [kit.of[0]] * 6, [1.0] * 6, heap, random_of(3))
    assert state.run(rounds=50, strikes=3, until=10**6)

    assert state.overlap() == 0.0
    assert not state.depths.any()
    places_mm = np.array([(lie.x, lie.y) for lie in state.lies]) * kit.step_mm
    laid = compacted(kit, [shape] * 6, places_mm, 10**9)
    assert laid is not None
    assert laid.length_mm == pytest.approx(40.0, abs=1e-5)


def random_of(seed):
    from random import Random

    return Random(seed)


def test_depths_kept_up_to_date_are_those_measured_anew():
    """After rounds of moves the matrix equals one worked out from the lies alone."""
    items = [item("ring", ring(20, 14), 4), item("bar", rectangle(50, 6), 5)]
    kit = Kit(items, depth_mm=60, clearance_mm=2, edge_mm=0)
    options = [kit.of[number] for number in kit.parts]
    lies = [Lie(own[0], 3 * part, 0) for part, own in enumerate(options)]
    state = Separation(Strip(kit, 90.0), options, [1.0] * len(lies), lies, random_of(1))

    state.run(rounds=3, strikes=1, until=3000)
    kept = state.depths.copy()
    state.measure()

    assert (kept == state.depths).all()
    assert (kept == kept.T).all()
