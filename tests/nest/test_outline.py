"""Covers, shared outlines and the store: less work, the same truth."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.nest.memory import Store
from planner.nest.outline import (
    POINTS_MANY,
    grown_area_mm2,
    least_area_mm2,
    outline_of,
    shrunk_growth,
)
from planner.nest.shape import turned_region
from planner.nest.table import Table
from tests.nest.shapes import bed, footprint, item, rectangle, star


def jagged(points, inner_mm, outer_mm):
    """Return a wheel of so many corners, on two radii in turn."""
    angles = 2 * math.pi * np.arange(points) / points
    radii = np.where(np.arange(points) % 2, inner_mm, outer_mm)
    return shapely.Polygon(np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]))


MANY = [
    jagged(1200, 20.0, 40.0),
    jagged(1500, 39.5, 40.0),
    shapely.Point(3, 4).buffer(30, quad_segs=700),
    shapely.Point(0, 0).buffer(30, quad_segs=200).difference(jagged(1000, 9.0, 12.0)),
]


@pytest.mark.parametrize("shape", MANY)
def test_a_cover_of_many_points_has_few_and_stands_out_little(shape):
    """It covers the shape, keeps its extents, and no point of it is further off than it says."""
    outline, low = outline_of(footprint(shape), 1.0)

    assert shapely.get_num_coordinates(outline.cover) <= POINTS_MANY
    assert outline.cover.covers(outline.shape)
    assert outline.shape.hausdorff_distance(affinity.translate(shape, -low[0], -low[1])) < 1e-9
    assert outline.cover.bounds == pytest.approx(outline.shape.bounds, abs=1e-9)
    assert 0 < outline.slack_mm <= 1.6 * (0.1 + 0.2 + 0.4) + 1e-9
    assert outline.shape.buffer(outline.slack_mm, quad_segs=64).covers(outline.cover)


@pytest.mark.parametrize("shape", MANY)
@pytest.mark.parametrize("angle", [0.0, 37.0])
def test_the_shrunk_growth_lies_in_the_true_one(shape, angle):
    """Against a buffer of the shape itself, so that bounds stay below the truth."""
    outline, _ = outline_of(footprint(shape), 1.0)
    true = turned_region(outline.shape, angle).buffer(2.0, quad_segs=64)

    grown = shrunk_growth(outline, turned_region(outline.cover, angle), 2.0)

    assert true.buffer(1e-6).covers(grown)
    assert least_area_mm2(outline, 2.0) <= true.area <= 1.02 * grown_area_mm2(outline, 2.0)
    assert least_area_mm2(outline, 2.0) > 0.9 * true.area


def test_few_points_are_left_alone():
    """Nothing is lost for common parts."""
    outline, low = outline_of(footprint(shapely.box(5, 7, 30, 20)), 1.0)

    assert outline.cover is outline.shape
    assert outline.slack_mm == 0
    assert low == (5.0, 7.0)
    assert outline.shape.bounds == (0.0, 0.0, 25.0, 13.0)


@given(star(), st.floats(-360, 360))
@settings(max_examples=30, deadline=None)
def test_extents_are_those_of_the_turned_shape(shape, angle):
    """From the hull alone; against shapely's bounds."""
    outline, _ = outline_of(footprint(shape), 1.0)
    low_x, low_y, high_x, high_y = affinity.rotate(shape, angle, origin=(0, 0)).bounds

    assert outline.extents_mm([angle])[0] == pytest.approx((high_x - low_x, high_y - low_y))


def test_equal_outlines_drawn_elsewhere_share_their_shapes():
    """Five hundred times the same thing is one kind."""
    items = [item(f"p{n}", shapely.box(n, 2 * n, n + 30, 2 * n + 20)) for n in range(500)]

    table = Table(items, [bed()], clearance_mm=4, edge_mm=3)

    assert len(table.shapes) == 2
    assert not table.rough
    for number in (0, 499):
        origins = {option.rotation_deg: option.origin_mm for option in table.options[number]}
        assert origins[0.0] == pytest.approx((2 - number, 2 - 2 * number))


def test_shapes_that_differ_by_less_than_a_micrometre_are_two():
    """Else one would be laid with the gaps of the other, which are too small by as much."""
    items = [item("a", rectangle(20, 30)), item("b", rectangle(20.0004, 30))]

    table = Table(items, [bed()], clearance_mm=0, edge_mm=3)

    assert table.options[0][0].shape != table.options[1][0].shape


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(1, 40)), max_size=60))
def test_a_store_never_holds_more_than_its_limit_nor_a_wrong_value(asked):
    """Whatever is asked for in whatever order; what was kept last is there."""
    store = Store(100)
    for key, size in asked:
        found = store.get(key)
        assert found in (None, str(key))
        if found is None:
            store.put(key, str(key), size)
            assert store.get(key) == str(key)
        assert held_bytes(store) <= 100


def held_bytes(store):
    return sum(size for kept in (store._young, store._old) for _, size in kept.values())
