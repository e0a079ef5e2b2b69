"""One part after the other: what the head may touch, in which order, and how parts are laid."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.nest.model import PackedPlate, Packing, Pin, Placement, Wishes
from planner.nest.pack import pack
from planner.nest.verify import verify
from planner.nest.verify_sequence import swept_by_head
from planner.settings.model import Head
from tests.nest.shapes import bed, item, rectangle, star

HEAD = Head(left_mm=20, right_mm=30, front_mm=10, back_mm=15, tip_mm=12)
TALL = item("tall", rectangle(20, 20), 1, height_mm=40.0)
LATER = item("later", rectangle(20, 20), 1, height_mm=12.0)


def check(first, second, *, head=HEAD, items=(TALL, LATER), orders=(1, 2)):
    """Check two parts on a bed of 300 x 300 mm at (x, y)."""
    placements = tuple(
        Placement(id=each.id, x_mm=x, y_mm=y, rotation_deg=0.0, order=order)
        for each, (x, y), order in zip(items, (first, second), orders, strict=True)
    )
    plate = PackedPlate(bed="bed", placements=placements, fill=0.0)
    packing = Packing(plates=(plate,), unplaced=(), lower_bound=1, bound_by="")
    return verify(packing, items, (bed(width_mm=300, depth_mm=300, head=head),), 4.0, 3.0)


@pytest.mark.parametrize(
    ("later", "free"),
    [
        ((140, 100), True),  # 20 mm to the right of the finished one: the head's left side
        ((139.99, 100), False),
        ((50, 100), True),  # 30 mm to its left: the head's right side
        ((50.01, 100), False),
        ((100, 130), True),  # 10 mm behind it: the head's front
        ((100, 129.99), False),
        ((100, 65), True),  # 15 mm before it: the head's back
        ((100, 65.01), False),
        ((139, 131), True),  # off both ways, so past the corner
    ],
)
def test_the_head_reaches_as_far_as_it_says_on_every_side(later, free):
    """The finished part is taller than the tip; touching is allowed, a hundredth more is not."""
    found = check((100, 100), later)

    assert (found == ()) is free
    if not free:
        assert "the head would touch tall (number 1) while it prints later (number 2)" in found[0]


def test_what_is_finished_low_or_printed_later_is_never_touched():
    """A part as high as the tip is under the head; one that comes later is not there yet."""
    assert check((100, 100), (125, 100), items=(replace(TALL, height_mm=12.0), LATER)) == ()
    assert check((100, 100), (125, 100), orders=(2, 1)) == ()


def test_the_beam_sweeps_the_whole_width_of_the_bed():
    """A part taller than the beam is hit from any distance to the side, not from behind."""
    head = replace(HEAD, gantry_mm=35)

    assert "the beam of the head would touch tall" in check((3, 100), (270, 100), head=head)[0]
    assert check((3, 100), (270, 130), head=head) == ()
    assert check((3, 100), (270, 100), head=head, orders=(2, 1)) == ()
    low = replace(TALL, height_mm=35.0)
    assert check((3, 100), (270, 100), head=head, items=(low, LATER)) == ()


@pytest.mark.parametrize("orders", [(None, None), (1, 1), (1, 3), (0, 1)])
def test_an_order_must_count_every_part_once(orders):
    """From 1 on, without gaps."""
    assert "their order is" in check((100, 100), (200, 200), orders=orders)[0]


@given(star(), st.floats(0, 40), st.floats(0, 40), st.floats(0, 40), st.floats(0, 40))
@settings(max_examples=30, deadline=None)
def test_the_swept_area_is_the_minkowski_sum(shape, left, right, front, back):
    """Validation: area of a convex shape plus a rectangle a x b is A + a D + b W + a b.

    W and D are its width and depth (mixed area of a convex body and a rectangle).
    """
    hull = shape.convex_hull
    head = Head(left_mm=left, right_mm=right, front_mm=front, back_mm=back, tip_mm=0)
    low_x, low_y, high_x, high_y = hull.bounds
    a, b = left + right, front + back

    swept = swept_by_head(hull, head)

    expected = hull.area + a * (high_y - low_y) + b * (high_x - low_x) + a * b
    assert swept.area == pytest.approx(expected, rel=1e-6)
    moved = affinity.translate(shape, right, -front)
    assert swept_by_head(shape, head).buffer(1e-6).covers(moved)


def packed(items, head, **more):
    beds = (bed(**{"head": head, **more}),)
    packing = pack(items, beds, clearance_mm=4, edge_mm=3, effort=5)
    assert verify(packing, items, beds, 4, 3) == ()
    return packing


SQUARES = [item("post", rectangle(20, 20), 16, height_mm=50.0)]


def even(reach_mm, **more):
    return Head(
        left_mm=reach_mm,
        right_mm=reach_mm,
        front_mm=reach_mm,
        back_mm=reach_mm,
        **{"tip_mm": 10.0, **more},
    )


def test_posts_stand_as_close_as_the_head_lets_them():
    """94 mm of room take floor((94 + 15) / (20 + 15)) = 3 posts a row, 9 a plate, 16 on two."""
    packing = packed(SQUARES, even(15))

    assert sorted(len(plate.placements) for plate in packing.plates) == [7, 9]
    for plate in packing.plates:
        orders = [place.order for place in plate.placements]
        assert orders == list(range(1, len(orders) + 1))


def test_low_parts_are_packed_as_if_there_were_no_head():
    """Under the tip nothing is touched: floor((94 + 4) / 24) = 4 a row, 16 on one plate."""
    low = [replace(SQUARES[0], height_mm=10.0)]

    assert len(packed(low, even(40)).plates) == 1


def test_a_head_that_reaches_to_one_side_only_finishes_parts_on_the_other():
    """From front to back and left to right it never comes over what is finished: 16 on one."""
    head = Head(left_mm=0, right_mm=60, front_mm=0, back_mm=60, tip_mm=10)
    other_way = Head(left_mm=60, right_mm=0, front_mm=60, back_mm=0, tip_mm=10)

    assert len(packed(SQUARES, head).plates) == 1
    assert len(packed(SQUARES, other_way).plates) == 1


def test_the_beam_lets_one_tall_row_stand():
    """Posts over the beam exclude each other in any row: floor((94 + 0) / 20) = 4 strips."""
    head = even(0, gantry_mm=30.0)

    packing = packed(SQUARES, head)

    # Each plate holds posts in strips of their own only: 4 x 20 mm and 3 gaps of 4 mm are 92.
    assert [len(plate.placements) for plate in packing.plates] == [4, 4, 4, 4]


def test_the_lowest_come_first():
    """A tall part is printed last and then stands in nobody's way."""
    items = [
        item("tower", rectangle(30, 30), 1, height_mm=90.0),
        item("tile", rectangle(30, 30), 8, height_mm=5.0),
    ]

    packing = packed(items, even(50), width_mm=120, depth_mm=120)

    (plate,) = packing.plates
    assert [place.id for place in plate.placements] == ["tile"] * 8 + ["tower"]


def test_pinned_posts_keep_the_head_away_as_well():
    """One post pinned in the middle of a bed whose rest is within reach: the other waits."""
    items = [item("post", rectangle(20, 20), 2, height_mm=50.0)]
    pin = Pin(plate=1, bed="bed", id="post", x_mm=40, y_mm=40, rotation_deg=0)
    beds = (bed(head=even(30)),)

    packing = pack(items, beds, clearance_mm=4, edge_mm=3, effort=2, wishes=Wishes(pins=(pin,)))

    assert [len(plate.placements) for plate in packing.plates] == [1, 1]


def test_groups_are_printed_one_after_the_other_too():
    """Four posts that must share a plate stand apart by the head's reach inside their group."""
    items = [item("post", rectangle(10, 10), 4, height_mm=50.0), SQUARES[0]]
    beds = (bed(head=even(15)),)
    wishes = Wishes(together=(("post",),))
    items[1] = replace(items[1], id="block", quantity=3)

    packing = pack(items, beds, clearance_mm=4, edge_mm=3, effort=2, wishes=wishes)

    assert verify(packing, items, beds, 4, 3, wishes=wishes) == ()
    assert packing.unplaced == ()
    assert math.isfinite(packing.lower_bound)
