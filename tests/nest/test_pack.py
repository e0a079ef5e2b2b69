"""Packing: exact small cases, limits, order, determinism, and anything at random."""

import os
import subprocess
import sys
from collections import Counter

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from shapely import affinity

from planner.nest.pack import effort_for, pack
from planner.nest.verify import verify
from tests.nest.shapes import bed, item, keep_out, problem, rectangle, ring, star


def packed(items, beds, clearance_mm=4.0, edge_mm=3.0, effort=5, **more):
    packing = pack(items, beds, clearance_mm=clearance_mm, edge_mm=edge_mm, effort=effort, **more)
    assert verify(packing, items, beds, clearance_mm, edge_mm) == ()
    return packing


@given(problem())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_mix_gives_a_layout_that_stands_the_exact_check(case):
    """Every copy is laid by the rules or left over with a reason, never on too few plates."""
    items, beds, clearance_mm, edge_mm = case

    packing = packed(items, beds, clearance_mm, edge_mm, effort=2)

    assert packing.lower_bound <= len(packing.plates)
    assert all(count > 0 and why for _, count, why in packing.unplaced)


@pytest.mark.parametrize("side_mm", [45.0, 45.3, 44.77])
def test_four_squares_fill_a_bed_without_a_hair_to_spare(side_mm):
    """Two sides, one clearance, two margins make up the whole bed, on the grid or off it."""
    wide = 2 * side_mm + 4 + 6

    packing = packed([item("square", rectangle(side_mm, side_mm), 4)], [bed("b", wide, wide)])

    assert len(packing.plates) == 1 == packing.lower_bound
    assert packing.plates[0].fill == pytest.approx(4 * side_mm**2 / wide**2, abs=1e-6)


def test_a_hundredth_of_a_millimetre_too_much_takes_more_plates():
    """Without clearance no two squares fit; with it two do, corner to corner, as arcs allow."""
    squares = [item("square", rectangle(45, 45), 4)]

    assert len(packed(squares, [bed("b", 95.99, 95.99)], clearance_mm=0).plates) == 4
    assert len(packed(squares, [bed("b", 99.99, 99.99)]).plates) == 2


def test_a_part_lies_in_the_hole_of_a_ring():
    """A ring of 90 mm leaves no room beside it on a 100 mm bed, only inside."""
    items = [item("ring", ring(45, 35)), item("disc", shapely.Point(0, 0).buffer(25))]

    assert len(packed(items, [bed()]).plates) == 1


def test_parts_lie_in_the_mouths_of_others():
    """Two combs of 60 x 60 interlock on a bed of 100 x 70 where their boxes cannot."""
    comb = rectangle(60, 60).difference(shapely.box(12, 12, 61, 48))
    items = [item("comb", comb, 2)]

    packing = packed(items, [bed("b", 104, 90)], clearance_mm=2)

    assert len(packing.plates) == 1


def test_keep_outs_stay_free_and_their_edge_may_be_touched():
    """The part is kept off the place itself; no clearance is asked around it."""
    marked = bed("b", 106, 106, keep_out=(keep_out(0, 0, 53, 106),))

    packing = packed([item("bar", rectangle(50, 100), 2)], [marked])

    assert len(packing.plates) == 2
    assert {place.x_mm for plate in packing.plates for place in plate.placements} == {53.0}


def test_a_keep_out_that_leaves_no_place_is_named():
    """The only bed has a clip in the middle of the only place."""
    marked = bed("low bench", 106, 106, keep_out=(keep_out(50, 50, 56, 56),))

    packing = packed([item("plate", rectangle(90, 90), 2)], [marked])

    assert packing.plates == ()
    ((name, count, why),) = packing.unplaced
    assert (name, count) == ("plate", 2)
    assert "keep-outs of low bench" in why


@pytest.mark.parametrize(
    ("shape", "more", "words"),
    [
        (rectangle(95, 10), {"rotations_deg": (0.0,)}, "its width is too much: 95.0 x 10.0 mm"),
        (rectangle(120, 120), {}, "94.0 x 94.0 mm inside the edge of bed"),
        (rectangle(10, 10), {"height_mm": 51.0}, "height of 51 mm is over the 50 mm of bed"),
        (rectangle(10, 10), {"seconds": 3601.0}, "printing time of 3601 s is over the 3600 s"),
        (rectangle(10, 10), {"grams": 81.0}, "mass of 81 g is over the 80 g of bed"),
    ],
)
def test_what_fits_no_bed_is_left_over_with_the_reason(shape, more, words):
    """The reason names the dimension and the bed; the rest is packed all the same."""
    items = [item("odd", shape, 3, **more), item("good", rectangle(10, 10), 2)]

    packing = packed(items, [bed(height_mm=50.0, limit_s=3600.0, limit_g=80.0)])

    ((name, count, why),) = packing.unplaced
    assert (name, count) == ("odd", 3)
    assert words in why
    assert Counter(p.id for plate in packing.plates for p in plate.placements) == {"good": 2}


def test_when_plates_run_out_the_rest_is_left_over():
    """One plate takes four squares; the bound then speaks of the four that were laid."""
    packing = packed([item("square", rectangle(45, 45), 7)], [bed(count=1)])

    ((name, count, why),) = packing.unplaced
    assert (name, count) == ("square", 3)
    assert "no plate left" in why
    assert packing.lower_bound == len(packing.plates) == 1


def test_limits_of_seconds_and_grams_split_plates():
    """All would fit by area; three copies reach the limit exactly, four are over it."""
    timed = [item("pin", rectangle(5, 5), 9, seconds=1200.1, grams=10.1)]

    assert len(packed(timed, [bed(limit_s=3 * 1200.1)]).plates) == 3
    assert len(packed(timed, [bed(limit_g=3 * 10.1)]).plates) == 3


def test_mixed_beds_are_used_up_to_their_counts():
    """Nine 90 mm plates: the big bed, of which there is one, takes four, the small one each."""
    beds = [bed("small", 100, 100), bed("big", 200, 200, count=1)]

    packing = packed([item("plate", rectangle(90, 90), 6)], beds)

    assert Counter(plate.bed for plate in packing.plates) == {"big": 1, "small": 2}
    assert packing.lower_bound == 3


def test_tall_parts_go_where_there_is_room_above():
    """The low bed would hold everything flat."""
    beds = [bed("low", 100, 100, height_mm=20.0), bed("tall", 60, 60)]
    items = [item("post", rectangle(20, 20), 2, height_mm=90.0), item("tile", rectangle(90, 90))]

    packing = packed(items, beds)

    assert [(plate.bed, len(plate.placements)) for plate in packing.plates] == [
        ("low", 1),
        ("tall", 2),
    ]


def test_lower_priority_numbers_lie_on_earlier_plates_at_no_cost():
    """Twelve squares of two stages on three plates of four: the early stage comes first."""
    items = [
        item("late", rectangle(45, 45), 6, priority=2),
        item("early", rectangle(45, 45), 6, priority=1),
    ]

    packing = packed(items, [bed()])

    stages = [Counter(place.id for place in plate.placements) for plate in packing.plates]
    assert stages == [{"early": 4}, {"early": 2, "late": 2}, {"late": 4}]


def test_early_plates_are_full_and_the_last_is_nearly_empty():
    """Nine squares, four to a plate: 4, 4, 1."""
    packing = packed([item("square", rectangle(45, 45), 9)], [bed()])

    assert [len(plate.placements) for plate in packing.plates] == [4, 4, 1]


def test_a_placement_turns_about_the_footprints_own_origin_then_moves_it():
    """The corner drawn at (7, -3) of a bar, laid by hand, is where the placement says."""
    bar = affinity.translate(rectangle(80, 20), 7, -3)
    upright = bed("b", 30, 100)

    packing = packed([item("bar", bar, rotations_deg=(90.0,))], [upright])

    (place,) = packing.plates[0].placements
    # A quarter turn takes (x, y) to (-y, x): the bar then spans x -17..3 and y 7..87.
    low = (place.x_mm - 17, place.y_mm + 7)
    assert low[0] == pytest.approx(3, abs=1)
    assert low[1] == pytest.approx(3, abs=1)


def test_one_part_and_no_part():
    """The smallest problems there are."""
    assert len(packed([item("only", rectangle(10, 10))], [bed()]).plates) == 1
    nothing = packed([item("none", rectangle(10, 10), 0)], [bed()])
    assert (nothing.plates, nothing.unplaced, nothing.lower_bound) == ((), (), 0)
    assert packed([], [bed()]).plates == ()


@given(star(largest_mm=40.0))
@settings(max_examples=15, deadline=None)
def test_the_same_seed_gives_the_same_plates(shape):
    """Nothing but the input decides."""
    items = [item("star", shape, 6), item("box", rectangle(30, 17), 5)]
    beds = [bed()]

    assert packed(items, beds, seed=3) == packed(items, beds, seed=3)


SCRIPT = """

from tests.nest.shapes import *
from planner.nest.pack import pack
import shapely
sizes = (("a", 9), ("b", 14), ("c", 21))
items = [item(name, shapely.Point(0, 0).buffer(r), 7) for name, r in sizes]
print(pack(items, [bed(), bed("other", 120, 90)], clearance_mm=4, edge_mm=3, effort=5))
"""


def test_the_order_of_hashing_has_no_say():
    """Text hashes differ from run to run; plates do not."""
    answers = {
        subprocess.run(
            [sys.executable, "-c", SCRIPT],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }

    assert len(answers) == 1


def test_progress_is_told_with_plates_and_bound():
    """The listener hears the stage, how far, and the count against the bound."""
    heard = []
    packed(
        [item("square", rectangle(45, 45), 9)],
        [bed()],
        progress=lambda stage, done, total, note="": heard.append((stage, done, total, note)),
    )

    assert heard
    assert all(stage == "nest" and 0 <= done <= total for stage, done, total, _ in heard)
    assert heard[-1][3] == "3 plates, bound 3"


def test_impossible_calls_are_refused():
    """For callers in Python; files are refused earlier, with file and line."""
    good = item("a", rectangle(10, 10))
    with pytest.raises(ValueError, match="no bed"):
        pack([good], [], clearance_mm=4, edge_mm=3)
    with pytest.raises(ValueError, match="clearance_mm is nan"):
        pack([good], [bed()], clearance_mm=float("nan"), edge_mm=3)
    with pytest.raises(ValueError, match="item a occurs more than once"):
        pack([good, good], [bed()], clearance_mm=4, edge_mm=3)
    with pytest.raises(ValueError, match="quantity is -1"):
        pack([item("a", rectangle(10, 10), -1)], [bed()], clearance_mm=4, edge_mm=3)


def test_effort_grows_with_the_seconds_asked_for():
    """At least one unit, and in proportion."""
    assert effort_for(0.0) == 1
    assert effort_for(20.0) == 2 * effort_for(10.0)
