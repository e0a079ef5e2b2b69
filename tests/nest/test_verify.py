"""The exact check sees every kind of fault, and nothing where there is none."""

from dataclasses import replace

import pytest
import shapely

from planner.nest.model import PackedPlate, Packing, Placement
from planner.nest.verify import verify
from tests.nest.shapes import bed, item, keep_out, rectangle, ring

SQUARE = item("square", rectangle(20, 20), 2, height_mm=10.0, seconds=50.0, grams=5.0)


def laid(*places, bed_id="bed", unplaced=()):
    placements = tuple(
        Placement(id=name, x_mm=x, y_mm=y, rotation_deg=angle) for name, x, y, angle in places
    )
    plate = PackedPlate(bed=bed_id, placements=placements, fill=0.0)
    return Packing(plates=(plate,), unplaced=unplaced, lower_bound=0, bound_by="")


def check(packing, *, items=(SQUARE,), beds=None, clearance_mm=4.0):
    return verify(packing, items, beds or (bed(),), clearance_mm, 3.0)


def test_a_good_layout_passes_to_the_limit():
    """Touching the margin and keeping exactly the clearance is allowed."""
    assert check(laid(("square", 3, 3, 0.0), ("square", 47, 3, 90.0))) == ()
    assert check(laid(("square", 3, 3, 0.0), ("square", 27, 3, 0.0))) == ()


def test_two_millionths_too_close_are_seen():
    """The tolerance is one millionth of a millimetre."""
    good = laid(("square", 3, 3, 0.0), ("square", 27 - 0.9e-6, 3, 0.0))
    bad = laid(("square", 3, 3, 0.0), ("square", 27 - 2e-6, 3, 0.0))

    assert check(good) == ()
    assert "apart, expected 4 mm" in check(bad)[0]


@pytest.mark.parametrize(
    ("second", "words"),
    [
        (("square", 20, 10, 0.0), "square and square overlap"),
        (("square", 25, 3, 0.0), "square and square are 2.000000 mm apart"),
        (("square", 77.1, 3, 0.0), "2.900000 mm from the edge"),
        (("square", 30, 60, 0.0), "lies on a keep-out"),
        (("square", 60, 3, 45.0), "turned by 45 degrees"),
        (("stranger", 60, 3, 0.0), "unknown bed or items ['stranger']"),
    ],
)
def test_each_wrong_place_is_named(second, words):
    """The first square lies well; the second is at fault."""
    beds = (bed(keep_out=(keep_out(0, 75, 100, 90),)),)

    found = check(laid(("square", 3, 3, 0.0), second), beds=beds)

    assert any(words in text for text in found)


def test_parts_that_touch_overlap_nothing():
    """Without clearance parts may lie edge to edge, not a hundredth inside each other."""
    touching = laid(("square", 3, 3, 0.0), ("square", 23, 3, 0.0))
    inside = laid(("square", 3, 3, 0.0), ("square", 22.99, 3, 0.0))

    assert check(touching, clearance_mm=0.0) == ()
    assert "overlap" in check(inside, clearance_mm=0.0)[0]


def test_a_part_in_a_hole_is_measured_to_the_inside():
    """A disc of radius 10 in a hole of radius 14 keeps 4 mm; off centre it does not."""
    items = (item("ring", ring(30, 14.2)), item("disc", shapely.Point(0, 0).buffer(10)))

    assert check(laid(("ring", 50, 50, 0.0), ("disc", 50, 50, 0.0)), items=items) == ()
    found = check(laid(("ring", 50, 50, 0.0), ("disc", 51, 50, 0.0)), items=items)
    assert "ring and disc are 3." in found[0]


def test_counts_limits_and_heights_are_checked():
    """A missing copy, a plate too many, too long, too heavy, too tall."""
    one = laid(("square", 3, 3, 0.0))
    both = laid(("square", 3, 3, 0.0), ("square", 47, 3, 90.0))

    assert "1 laid and 0 left over, expected 2" in check(one)[0]
    assert check(replace(one, unplaced=(("square", 1, "why"),))) == ()
    assert "expected at most 0" in check(both, beds=(bed(count=0),))[0]
    assert "100 seconds, expected at most 99" in check(both, beds=(bed(limit_s=99.0),))[0]
    assert "10 grams, expected at most 9" in check(both, beds=(bed(limit_g=9.0),))[0]
    assert "10 mm tall" in check(both, beds=(bed(height_mm=9.0),))[0]
    assert "unknown bed" in check(laid(bed_id="else"), items=())[0]
