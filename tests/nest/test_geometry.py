"""Slabs and forbidden offsets: never too little, and not much too much."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.nest.grid import grid_step
from planner.nest.nofit import forbidden, packed
from planner.nest.pack import pack
from planner.nest.plate import Plate, Spot
from planner.nest.shape import SLABS, grown_region, inner_runs, outer_runs, turned_region
from planner.nest.table import Table
from tests.nest.shapes import bed, item, keep_out, rectangle, ring, star


def as_region(runs, slab_mm):
    """Return the runs as rectangles of one slab's height."""
    boxes = shapely.box(runs.low_mm, runs.row * slab_mm, runs.high_mm, (runs.row + 1) * slab_mm)
    return shapely.union_all(boxes)


@given(star(), st.sampled_from([0.5, 1.0, 1.7]))
@settings(max_examples=60, deadline=None)
def test_outer_runs_cover_the_shape_and_inner_runs_lie_in_it(shape, slab_mm):
    """Exactly: what is outside of either is a film of rounding."""
    film = 1e-6 * shape.length

    assert shape.difference(as_region(outer_runs(shape, slab_mm), slab_mm)).area < film
    assert as_region(inner_runs(shape, slab_mm), slab_mm).difference(shape).area < film


@given(star())
@settings(max_examples=30, deadline=None)
def test_runs_are_no_wider_than_the_shape_inside_their_slab(shape):
    """Every end of an outer run is touched by the shape within that slab."""
    slab_mm = 1.0
    runs = outer_runs(shape, slab_mm)

    for row in np.unique(runs.row).tolist():
        low_x, _, high_x, _ = shape.bounds
        inside = shape.intersection(
            shapely.box(low_x - 1, row * slab_mm, high_x + 1, (row + 1) * slab_mm)
        )
        own = runs.row == row
        assert inside.bounds[0] == pytest.approx(runs.low_mm[own].min(), abs=1e-6)
        assert inside.bounds[2] == pytest.approx(runs.high_mm[own].max(), abs=1e-6)


def test_runs_of_a_rectangle_are_the_rectangle():
    """Nothing is lost where edges lie on slab borders, whatever the rounding of 0.1 + 0.2."""
    runs = outer_runs(shapely.box(0, 0, 7.3, 0.1 + 0.2), 0.1)

    assert runs.row.tolist() == [0, 1, 2]
    assert runs.low_mm.tolist() == [0.0] * 3
    assert runs.high_mm.tolist() == [7.3] * 3


def test_a_ring_has_two_runs_where_its_hole_is():
    """The hole is kept open."""
    runs = outer_runs(ring(10, 6), 1.0)

    middle = runs.row == 0
    assert middle.sum() == 2
    assert runs.high_mm[middle][0] == pytest.approx(-((36 - 1) ** 0.5), abs=0.05)


@given(star(), st.floats(0.5, 5.0), st.sampled_from([0.0, 90.0, 33.0]))
@settings(max_examples=60, deadline=None)
def test_growth_is_never_short_and_exact_in_extent(shape, radius_mm, angle):
    """Every point of the outline moves out by the radius at least, at a corner 0.3 % more."""
    placed = turned_region(shape, angle)
    grown = grown_region(placed, radius_mm)

    assert placed.distance(grown.boundary) >= radius_mm - 1e-7
    assert grown.bounds == pytest.approx(
        (*np.array(placed.bounds[:2]) - radius_mm, *np.array(placed.bounds[2:]) + radius_mm),
        abs=1e-6,
    )
    # 0.3 % for the arcs, 1 % for the shallow dents that GEOS fills.
    assert grown.difference(placed.buffer(1.02 * radius_mm, quad_segs=64)).area < 1e-3 * grown.area


def test_quarter_turns_are_exact():
    """No 6e-17 where a zero belongs; checked against shapely's own rotation."""
    shape = shapely.Polygon([(1, 2), (30, 2), (11, 17)])

    for angle in (0.0, 90.0, 180.0, 270.0, -90.0, 450.0, 30.0):
        expected = affinity.rotate(shape, angle, origin=(0, 0))
        assert turned_region(shape, angle).equals_exact(expected, 1e-12)
    assert turned_region(shape, 90.0).bounds == (-17.0, 1.0, -2.0, 30.0)


@given(star(30.0), star(30.0))
@settings(max_examples=25, deadline=None)
def test_offsets_that_are_not_forbidden_keep_shapes_apart(fixed, moving):
    """Exact overlap at any grid offset implies a forbidden bit; far offsets are free."""
    fixed = affinity.translate(fixed, *-np.array(fixed.bounds[:2]))
    moving = affinity.translate(moving, *-np.array(moving.bounds[:2]))
    low, size = (-31, -31), (63, 63)
    bits = forbidden(
        outer_runs(fixed, 1.0 / SLABS).bands(),
        outer_runs(moving, 1.0 / SLABS).bands(),
        step_mm=1.0,
        low=low,
        size=size,
    )

    for row, column in zip(*np.nonzero(~bits[::5, ::5]), strict=True):
        moved = affinity.translate(moving, low[0] + 5 * column, low[1] + 5 * row)
        assert moved.intersection(fixed).area < 1e-6 * moved.length
    for row, column in zip(*np.nonzero(bits[::5, ::5]), strict=True):
        moved = affinity.translate(moving, low[0] + 5 * column, low[1] + 5 * row)
        # A slab is half a step high, so what is forbidden is at most two slabs away along y.
        tall = shapely.union_all([affinity.translate(moved, 0, dy) for dy in (-1, -0.5, 0, 0.5, 1)])
        assert tall.distance(fixed) < 2.0


def test_forbidden_offsets_of_rectangles_are_the_textbook_ones():
    """No-fit polygon of boxes a x b and c x d: the open box (-c, a) x (-d, b)."""
    bits = forbidden(
        outer_runs(shapely.box(0, 0, 5, 3), 0.5).bands(),
        outer_runs(shapely.box(0, 0, 2, 4), 0.5).bands(),
        step_mm=1.0,
        low=(-3, -5),
        size=(10, 10),
    )

    rows, columns = np.nonzero(bits)
    assert (rows.min() - 5, rows.max() - 5) == (-3, 2)
    assert (columns.min() - 3, columns.max() - 3) == (-1, 4)
    assert bits.sum() == 6 * 6


@given(st.integers(1, 9), st.integers(1, 20), st.integers(3, 12), st.randoms())
def test_packing_bits_is_a_sum_of_shifted_ones(rows, columns, stride, random):
    """Bit (row, column) is at row * stride + column, also when a row is longer than a line."""
    bits = np.array([[random.random() < 0.4 for _ in range(columns)] for _ in range(rows)])

    expected = 0
    for row, column in zip(*np.nonzero(bits), strict=True):
        expected |= 1 << int(row) * stride + int(column)
    assert packed(bits, stride) == expected


@given(star(40.0), star(40.0), st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_free_positions_are_those_of_a_plate_built_anew_and_truly_free(one, other, random):
    """Kept up to date or worked out afresh, along x or along y: the same map."""
    items = [item("one", one, 9), item("other", other, 9)]
    beds = [bed("b", 90, 70, keep_out=(keep_out(30, 0, 50, 9),))]
    table = Table(items, beds, clearance_mm=3.0, edge_mm=2.0)
    plate = Plate(table, 0)
    for _ in range(6):
        number = random.randrange(2)
        option = random.choice(table.options[number])
        positions = bit_positions(plate.free(option.shape), table.stride(0))
        if positions:
            x, y = random.choice(positions)
            plate.place(Spot(number, option, x, y))
        if plate.spots and random.random() < 0.2:
            plate = plate.without(frozenset([random.randrange(len(plate.spots))]))

    for shape in range(len(table.shapes)):
        kept = set(bit_positions(plate.free(shape), table.stride(0)))
        afresh = Plate(table, 0, tuple(reversed(plate.spots)))
        afresh.use_layout(1)
        turned = {(x, y) for y, x in bit_positions(afresh.free(shape), table.stride(1))}
        assert kept == turned


def bit_positions(bits, stride):
    return [
        (place % stride, place // stride) for place in range(bits.bit_length()) if bits >> place & 1
    ]


def test_a_tiny_bed_gets_a_fine_grid():
    """Four half-millimetre squares fill a bed of one millimetre."""
    packing = pack(
        [item("grain", rectangle(0.5, 0.5), 8)], [bed("b", 1, 1)], clearance_mm=0, edge_mm=0
    )

    assert [len(plate.placements) for plate in packing.plates] == [4, 4]


def test_the_grid_step_divides_what_it_can():
    """A single size is cut into whole steps; a huge bed gets a coarse grid."""
    square = item("s", rectangle(45.3, 45.3), 4)
    shapes = (rectangle(45.3, 45.3),)

    step_mm = grid_step([square], shapes, [bed("b", 100.6, 100.6)], 4.0, 3.0)
    assert 49.3 / step_mm == pytest.approx(round(49.3 / step_mm), abs=1e-9)
    assert 0.8 <= step_mm <= 1.1
    assert grid_step([square], shapes, [bed("b", 3200.0, 3200.0)], 4.0, 3.0) > 7.0
