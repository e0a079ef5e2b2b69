"""The bound never exceeds what is possible, and says what it rests on."""

from dataclasses import replace
from itertools import product

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.nest.bound import lower_bound
from planner.nest.bound.centre import covers_centre
from planner.nest.bound.exclude import exclusive_pairs
from planner.nest.outline import outline_of
from tests.nest.shapes import bed, item, keep_out, problem, rectangle, star


def bound(items, beds, clearance_mm=4.0, edge_mm=3.0):
    return lower_bound(items, beds, clearance_mm=clearance_mm, edge_mm=edge_mm)


def excluded(part, plate, *, clearance_mm, edge_mm):
    outline, _ = outline_of(part.footprint, 1.0)
    return exclusive_pairs(
        [part],
        [outline],
        [plate],
        [frozenset({0})],
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
    )


def test_area_counts_half_the_clearance_around_each_part():
    """400 squares of 9 mm at 1 mm clearance: 400 x 100 mm2, less rounded corners, on 101^2."""
    found = bound([item("s", rectangle(9, 9), 400)], [bed("b", 106, 106)], clearance_mm=1.0)

    corner = (4 - 3.1416) * 0.25
    assert found.plates == -(-400 * (100 - corner) // 101**2)
    assert found.by.startswith("area")


def test_large_parts_exclude_each_other():
    """Three L shapes whose area would fit twice, but whose corners always cross."""
    ell = rectangle(80, 80).difference(shapely.box(25, 25, 81, 81))
    items = [item("ell", ell, 3), item("post", rectangle(60, 60), 1)]

    found = bound(items, [bed()])

    assert found.plates >= 3
    assert "share a plate" in found.by or "dual" in found.by


def test_seconds_and_grams_are_arguments_too():
    """Seven copies of 1000 s at 2500 s a plate: two to a plate, so four."""
    items = [item("pin", rectangle(5, 5), 7, seconds=1000.0)]

    found = bound(items, [bed(limit_s=2500.0)])

    assert found.plates == 4
    assert "hours" in found.by


def test_beds_for_some_items_only_add_up():
    """Tall parts need the tall bed, wide ones the wide bed: no plate serves both."""
    beds = [bed("tall", 60, 60), bed("wide", 200, 200, height_mm=20.0)]
    items = [
        item("post", rectangle(30, 30), 3, height_mm=90.0),
        item("tile", rectangle(120, 120), 2),
    ]

    assert bound(items, beds).plates == 3 + 2 or bound(items, beds).plates == 2 + 2


def test_counted_beds_are_used_largest_first():
    """One bed of 200 and small ones: the area of four large plates cannot be on two plates."""
    beds = [bed("big", 206, 206, count=1), bed("small", 106, 106)]
    items = [item("s", rectangle(50, 50), 32)]

    assert bound(items, beds, clearance_mm=0.0, edge_mm=3.0).plates == 1 + 4


def test_keep_outs_take_room_away():
    """Half of the bed is closed, so twice the plates."""
    half = bed("b", 106, 106, keep_out=(keep_out(0, 0, 106, 53),))

    assert bound([item("s", rectangle(10, 10), 100)], [half], clearance_mm=0.0).plates == 2


def test_nothing_needs_nothing():
    """No copies, no plates; the one copy needs one."""
    assert bound([item("s", rectangle(10, 10), 0)], [bed()]).plates == 0
    assert bound([item("s", rectangle(10, 10), 1)], [bed()]).plates == 1


@given(problem(), star(), st.integers(1, 3))
@settings(max_examples=40, deadline=None)
def test_adding_an_item_never_lowers_the_bound(case, extra, quantity):
    """More to lay cannot need fewer plates."""
    items, beds, clearance_mm, edge_mm = case

    before = bound(items, beds, clearance_mm, edge_mm).plates
    grown = [*items, item("extra", extra, quantity)]

    assert bound(grown, beds, clearance_mm, edge_mm).plates >= before
    more = [replace(items[0], quantity=items[0].quantity + 1), *items[1:]]
    assert bound(more, beds, clearance_mm, edge_mm).plates >= before


def fewest_plates(widths, bed_mm):
    """Exact one-dimensional bin packing by trying every assignment."""
    for plates in range(1, len(widths) + 1):
        for choice in product(range(plates), repeat=len(widths)):
            loads = [0.0] * plates
            for width, plate in zip(widths, choice, strict=True):
                loads[plate] += width
            if max(loads) <= bed_mm + 1e-9:
                return plates
    return 0


@given(st.lists(st.integers(10, 90), min_size=1, max_size=6))
@settings(max_examples=60, deadline=None)
def test_strips_are_never_overrated(widths):
    """Full-depth strips make it one-dimensional bin packing, which is solved exactly here."""
    items = [
        item(f"strip {number}", rectangle(width, 100), rotations_deg=(0.0,))
        for number, width in enumerate(widths)
    ]

    found = bound(items, [bed()], clearance_mm=0.0, edge_mm=0.0).plates

    assert found <= fewest_plates(widths, 100.0)


@pytest.mark.parametrize(("wide", "deep"), [(110.6, 80.0), (80.0, 110.6)])
def test_places_between_grid_points_count_as_possible(wide, deep):
    """Two L shapes interlock only at an offset of 30.3 to 30.6 mm, which no grid point has."""
    ell = rectangle(80, 80).difference(shapely.box(30.3, 30.3, 81, 81))

    def pairs(plate):
        return excluded(item("ell", ell, 2), plate, clearance_mm=0.0, edge_mm=0.0)

    assert pairs(bed("close", wide, deep)) == frozenset()
    assert pairs(bed("shut", min(wide, 106.0), min(deep, 106.0))) == {(0, 0)}


@pytest.mark.parametrize(("side_mm", "together"), [(44.0, True), (45.0, True), (70.0, False)])
def test_pairs_exclude_each_other_only_beyond_doubt(side_mm, together):
    """Two squares on a 100 mm bed with margin 3 and clearance 4: 45 is the last that fits."""
    square = item("s", rectangle(side_mm, side_mm), 2)

    pairs = excluded(square, bed(), clearance_mm=4.0, edge_mm=3.0)

    assert (pairs == frozenset()) is together


@given(star(120.0), st.floats(60.0, 140.0), st.floats(60.0, 140.0), st.sampled_from([0.0, 4.0]))
@settings(max_examples=200, deadline=None)
def test_what_is_said_to_cover_the_centre_covers_it_wherever_it_lies(
    shape, wide, deep, clearance_mm
):
    """Laid in the corners, along the edges and between them, grown by shapely anew."""
    outline, _ = outline_of(item("s", shape).footprint, 1.0)
    if not covers_centre(outline, (0.0, 90.0), (wide, deep), clearance_mm):
        return

    centre = shapely.Point(wide / 2, deep / 2)
    for angle in (0.0, 90.0):
        grown = affinity.rotate(shape, angle, origin=(0, 0)).buffer(clearance_mm / 2, quad_segs=64)
        low_x, low_y, high_x, high_y = grown.bounds
        spare_x, spare_y = wide - (high_x - low_x), deep - (high_y - low_y)
        if min(spare_x, spare_y) >= 0:
            for share_x, share_y in product((0.0, 0.3, 0.5, 1.0), repeat=2):
                laid = affinity.translate(
                    grown, share_x * spare_x - low_x, share_y * spare_y - low_y
                )
                assert laid.distance(centre) < 1e-6


@pytest.mark.parametrize(("side_mm", "expected"), [(46.5, True), (44.9, False)])
def test_more_than_half_of_the_room_is_the_centre(side_mm, expected):
    """Room 98 mm with clearance 4: a square covers its centre from 45 mm on."""
    outline, _ = outline_of(item("s", rectangle(side_mm, side_mm)).footprint, 1.0)
    frame = rectangle(90, 90).difference(shapely.box(20, 20, 70, 70))
    hollow, _ = outline_of(item("s", frame).footprint, 1.0)

    assert covers_centre(outline, (0.0,), (98.0, 98.0), 4.0) is expected
    assert not covers_centre(hollow, (0.0,), (98.0, 98.0), 4.0)


def test_of_very_many_large_kinds_each_takes_a_plate():
    """Three hundred different squares of which no two fit together, found without all pairs."""
    items = [item(f"s{n}", rectangle(60 + n / 10, 60 + n / 10), 2) for n in range(300)]

    found = bound(items, [bed()])

    assert found.plates == 600
