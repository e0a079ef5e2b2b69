"""What a person asks for besides few plates: groups, pins, limits, turns, places."""

from collections import Counter
from dataclasses import replace
from math import inf

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.nest.least import least_plates
from planner.nest.model import PackedPlate, Packing, Pin, Placement, Wishes
from planner.nest.pack import pack
from planner.nest.turning import free_turns
from planner.nest.verify import verify
from planner.settings.model import Head, Patch
from tests.nest.shapes import bed, footprint, item, keep_out, problem, rectangle, ring, star

SQUARE = item("square", rectangle(40, 40), 4, seconds=100.0)
TILE = item("tile", rectangle(20, 20), 4, seconds=10.0)


def packed(items, beds, *, wishes=Wishes(), clearance_mm=4.0, edge_mm=3.0, effort=5):  # noqa: B008
    packing = pack(
        items, beds, clearance_mm=clearance_mm, edge_mm=edge_mm, effort=effort, wishes=wishes
    )
    assert verify(packing, items, beds, clearance_mm, edge_mm, wishes=wishes) == ()
    return packing


def names(packing):
    return [Counter(place.id for place in plate.placements) for plate in packing.plates]


PATCH = Patch(points_mm=((20.0, 20.0), (70.0, 25.0), (50.0, 70.0)))
HEAD = Head(left_mm=8, right_mm=15, front_mm=10, back_mm=5, tip_mm=30, gantry_mm=50)


@st.composite
def wishful(draw):
    """Draw a random problem with groups, free turns, patches, heads and limits."""
    items, beds, clearance_mm, edge_mm = draw(problem(most_items=4, most_copies=3))
    items = [
        replace(each, free_turns=True, rotations_deg=free_turns(each.footprint))
        if draw(st.integers(0, 3)) == 0
        else each
        for each in items
    ]
    beds = [
        replace(
            each,
            keep_out_patches=draw(st.sampled_from([(), (), (PATCH,)])),
            head=draw(st.sampled_from([None, None, HEAD])),
            limit_parts=draw(st.sampled_from([inf, 5.0])),
        )
        for each in beds
    ]
    order = draw(st.permutations([each.id for each in items]))
    wishes = Wishes(
        together=draw(st.sampled_from([(), (tuple(order[:2]),)])),
        apart=draw(st.sampled_from([(), (tuple(order[2:4]),)])) if len(order) == 4 else (),
        placing=draw(st.sampled_from(["compact", "centre", "spread"])),
    )
    return items, beds, clearance_mm, edge_mm, wishes


@given(wishful(), st.data())
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_wishes_give_a_layout_that_stands_the_exact_check(case, data):
    """Packed once, and again around some of its copies: every rule is kept, every copy told."""
    items, beds, clearance_mm, edge_mm, wishes = case
    first = packed(items, beds, wishes=wishes, clearance_mm=clearance_mm, edge_mm=edge_mm, effort=1)
    laid = [(n, p.bed, place) for n, p in enumerate(first.plates, 1) for place in p.placements]
    chosen = data.draw(
        st.lists(st.sampled_from(laid), unique=True, max_size=3) if laid else st.just([])
    )
    pins = tuple(
        Pin(
            plate=number,
            bed=name,
            id=place.id,
            x_mm=place.x_mm,
            y_mm=place.y_mm,
            rotation_deg=place.rotation_deg,
        )
        for number, name, place in chosen
    )

    again = packed(
        items,
        beds,
        wishes=replace(wishes, pins=pins),
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
        effort=1,
    )

    assert again.lower_bound <= max(len(again.plates), 0)
    assert all(why for _, _, why in again.unplaced)


@given(problem(most_items=3), st.integers(60, 140))
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_turning_the_whole_input_changes_the_plates_by_one_at_most(case, side):
    """A square bed and all that lies on it, by a quarter; quarter turns are allowed."""
    items, beds, clearance_mm, _ = case
    quarters = (0.0, 90.0, 180.0, 270.0)
    straight = [replace(each, rotations_deg=quarters) for each in items]
    turned = [
        replace(each, footprint=footprint(affinity.rotate(shape_of(each), 90, origin=(0, 0))))
        for each in straight
    ]
    square = bed("b", side, side, keep_out=(keep_out(0, 0, 20, 15),), limit_s=beds[0].limit_s)
    # (x, y) goes to (side - y, x).
    other = replace(square, keep_out=(keep_out(side - 15, 0, side, 20),))

    one = packed(straight, [square], clearance_mm=clearance_mm, effort=2)
    two = packed(turned, [other], clearance_mm=clearance_mm, effort=2)

    assume(not one.unplaced and not two.unplaced)
    assert abs(len(one.plates) - len(two.plates)) <= 1


def shape_of(each):
    ((outer, *holes),) = each.footprint.polygons_mm
    return shapely.Polygon(outer, holes)


def test_all_copies_of_a_group_share_one_plate():
    """Two plates are needed; without the wish the tiles fill up both."""
    items = [replace(SQUARE, quantity=5), TILE]

    free = names(packed(items, [bed()]))
    held = names(packed(items, [bed()], wishes=Wishes(together=(("square", "tile"),))))

    assert len(free) == 2
    assert held == []  # five squares never fit one plate


def test_a_group_that_fits_no_plate_is_left_out_with_the_reason():
    """Nothing of it is laid, and each of its items is told."""
    items = [replace(SQUARE, quantity=5), TILE]

    packing = packed(items, [bed()], wishes=Wishes(together=(("square", "tile"),)))

    why = "no plate takes all 9 copies of square and tile, which must be together"
    assert packing.unplaced == (("square", 5, why), ("tile", 4, why))


@pytest.mark.parametrize("quantity", [1, 3, 4])
def test_a_group_is_laid_whole(quantity):
    """From a few parts, moved as one, to a plate full of squares."""
    items = [replace(SQUARE, quantity=quantity), TILE]
    wishes = Wishes(together=(("square",),))

    assert (
        sum(counts["square"] == quantity for counts in names(packed(items, [bed()], wishes=wishes)))
        == 1
    )


def test_groups_that_share_an_item_are_one():
    """A with b and b with c is a with b with c."""
    items = [item(name, rectangle(30, 20), 2) for name in "abcd"]
    wishes = Wishes(together=(("a", "b"), ("b", "c")))

    plates = names(packed(items, [bed()], wishes=wishes))

    assert Counter(a=2, b=2, c=2) in [
        Counter({n: c for n, c in p.items() if n != "d"}) for p in plates
    ]


def test_items_apart_never_share_a_plate_and_raise_the_bound():
    """Three that would fit one plate need three; copies of one may share."""
    items = [item(name, rectangle(20, 20), 2) for name in "abc"]

    packing = packed(items, [bed()], wishes=Wishes(apart=(("a", "b", "c"),)))

    assert sorted(map(tuple, names(packing))) == [("a",), ("b",), ("c",)]
    assert packing.lower_bound == 3


def test_limits_on_parts_and_time_hold_for_every_plate():
    """Sixteen tiles fit; three parts, or 25 seconds of tiles that take 10 each, are allowed."""
    by_count = packed([TILE], [bed(limit_parts=3)])
    by_time = packed([TILE], [bed(limit_s=25)])

    assert [sum(counts.values()) for counts in names(by_count)] == [3, 1]
    assert by_count.lower_bound == 2
    assert [sum(counts.values()) for counts in names(by_time)] == [2, 2]
    assert by_time.lower_bound == 2


def test_a_part_that_takes_longer_than_any_plate_may_is_told():
    """Left out, never squeezed in."""
    packing = packed([TILE], [bed(limit_s=9)])

    assert packing.unplaced == (("tile", 4, "its printing time of 10 s is over the 9 s of bed"),)


def pin(name, x_mm, y_mm, plate=1, rotation_deg=0.0):
    return Pin(plate=plate, bed="bed", id=name, x_mm=x_mm, y_mm=y_mm, rotation_deg=rotation_deg)


def test_a_pin_in_the_middle_stays_and_the_rest_goes_around_it():
    """A square in the middle leaves 27 mm on all sides: tiles only, on its own plate number."""
    items = [replace(SQUARE, quantity=2), replace(TILE, quantity=10)]
    wishes = Wishes(pins=(pin("square", 30.123, 30.456, plate=2),))

    packing = packed(items, [bed()], wishes=wishes)

    assert len(packing.plates) == 2
    assert packing.plates[1].placements[0] == Placement(
        id="square", x_mm=30.123, y_mm=30.456, rotation_deg=0.0
    )
    assert Counter(square=2, tile=10) == sum(names(packing), Counter())


def test_pins_on_two_plates_make_two_even_if_one_would_do():
    """The bound knows it."""
    wishes = Wishes(pins=(pin("tile", 3, 3, plate=1), pin("tile", 3, 3, plate=2)))

    packing = packed([TILE], [bed()], wishes=wishes)

    assert len(packing.plates) == 2
    assert packing.lower_bound == 2


def test_pinned_plates_count_among_those_there_are():
    """One plate of two is begun by a pin: eight squares fit, the ninth does not."""
    items = [replace(SQUARE, quantity=9)]
    wishes = Wishes(pins=(pin("square", 3, 3),))

    packing = packed(items, [bed(count=2)], wishes=wishes)

    (left,) = packing.unplaced
    assert left[:2] == ("square", 1)
    assert left[2].endswith("it may lie on bed (2) only")


def test_a_group_goes_where_one_of_it_is_pinned():
    """The group is on the pinned plate, wherever else there is room."""
    items = [replace(SQUARE, quantity=6), TILE]
    wishes = Wishes(pins=(pin("tile", 77, 77, plate=1),), together=(("tile",),))

    assert names(packed(items, [bed()], wishes=wishes))[0]["tile"] == 4


def test_a_group_without_room_beside_its_pins_is_told():
    """The pinned copy stays, the others are left out."""
    items = [replace(SQUARE, quantity=4)]
    wishes = Wishes(pins=(pin("square", 30, 30),), together=(("square",),))

    packing = packed(items, [bed()], wishes=wishes)

    why = "no room beside the pins of plate 1 (bed), whose plate they share"
    assert packing.unplaced == (("square", 3, why),)


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"limit_s": 250.0}, "too many hours"),
        ({"limit_g": 2.5}, "too much filament"),
        ({"limit_parts": 2}, "too many parts"),
    ],
)
def test_a_group_beyond_a_limit_is_told_which(limits, words):
    """Beside pins and without; there would be room for all three."""
    items = [replace(SQUARE, quantity=3, grams=1.0)]
    beds = [bed(width_mm=200.0, depth_mm=200.0, **limits)]
    group = (("square",),)

    pinned = packed(items, beds, wishes=Wishes(pins=(pin("square", 30, 30),), together=group))
    free = packed(items, beds, wishes=Wishes(together=group))

    beside = f"{words} beside the pins of plate 1 (bed), whose plate they share"
    assert pinned.unplaced == (("square", 2, beside),)
    together = f"no plate takes all 3 copies of square, which must be together: {words}"
    assert free.unplaced == (("square", 3, together),)


@pytest.mark.parametrize(
    ("pins", "words"),
    [
        ([pin("square", 2, 3)], "pin 1: square is 2.000000 mm from the edge"),
        ([pin("square", 3, 3), pin("tile", 30, 3)], "pin 2: square and tile overlap"),
        ([pin("square", 3, 3, rotation_deg=45)], "pin 1: square is turned by 45"),
        ([pin("stranger", 3, 3)], "names stranger"),
    ],
)
def test_a_pin_that_breaks_a_rule_is_refused(pins, words):
    """For callers in Python; files are refused with their line."""
    with pytest.raises(ValueError, match=words):
        pack([SQUARE, TILE], [bed()], clearance_mm=4, edge_mm=3, wishes=Wishes(pins=tuple(pins)))


def test_parts_lie_around_a_worn_patch():
    """Only its outline is forbidden: a tile fits the corner that its box would take away."""
    worn = Patch(points_mm=((0.0, 0.0), (100.0, 0.0), (0.0, 100.0)))
    beds = [bed(keep_out_patches=(worn,), count=1)]

    packing = packed([item("tile", rectangle(40, 40), 1)], beds)
    boxed = packed(
        [item("tile", rectangle(40, 40), 1)], [bed(keep_out=(keep_out(0, 0, 100, 100),))]
    )

    assert len(packing.plates) == 1
    assert boxed.unplaced[0][2].startswith("it finds no place beside the keep-outs")


def test_free_turns_lay_a_bar_along_the_diagonal():
    """A bar of 120 x 8 mm fits 94 x 94 mm only near 45 degrees."""
    bar = rectangle(120, 8)
    quarter = item("bar", bar)
    free = replace(quarter, free_turns=True, rotations_deg=free_turns(footprint(bar)))

    assert packed([quarter], [bed()]).plates == ()
    (plate,) = packed([free], [bed()]).plates
    assert plate.placements[0].rotation_deg in (45.0, 135.0, 225.0, 315.0)


@given(star(), st.integers(1, 6))
@settings(max_examples=12, deadline=None)
def test_the_bound_of_free_parts_rests_on_no_turn_in_particular(shape, copies):
    """With other turns tried than those that are drawn, no fewer plates than the bound."""
    each = item("part", shape, copies, rotations_deg=(0.0,), free_turns=True)
    beds = [bed(width_mm=70, depth_mm=70)]

    bound = least_plates([each], beds, clearance_mm=4, edge_mm=3)

    for angle in (17.0, 45.0, 71.0):
        best = packed([replace(each, rotations_deg=(angle, angle + 90))], beds, effort=1)
        assert bound.plates <= len(best.plates) or best.unplaced


def centre_of(plate):
    return np.mean([(p.x_mm, p.y_mm) for p in plate.placements], axis=0) + 10


def gaps(plate):
    corners = [(p.x_mm, p.y_mm) for p in plate.placements]
    boxes = [shapely.box(x, y, x + 20, y + 20) for x, y in corners]
    return min(a.distance(b) for n, a in enumerate(boxes) for b in boxes[:n])


def test_placing_moves_parts_and_costs_no_plate():
    """Four tiles: in a corner, around the middle or a point, or far from each other."""
    tiles = [replace(TILE, rotations_deg=(0.0,))]
    plates = {
        placing: packed(tiles, [bed()], wishes=Wishes(placing=placing)).plates
        for placing in ("compact", "centre", "spread")
    }
    aside = packed(tiles, [bed(preferred_mm=(70.0, 60.0))], wishes=Wishes(placing="centre")).plates

    assert {len(own) for own in plates.values()} == {1}
    assert centre_of(plates["centre"][0]) == pytest.approx([50, 50], abs=3)
    assert centre_of(aside[0]) == pytest.approx([70, 60], abs=4)
    # Fields of 50 mm, less 20 mm of tile: 30 mm at best; half of that is a wide miss.
    assert gaps(plates["spread"][0]) > 20
    assert gaps(plates["compact"][0]) < 6


def wrong(plates, items=(SQUARE, TILE), **wishes):
    places = tuple(
        PackedPlate(
            bed="bed",
            placements=tuple(
                Placement(id=name, x_mm=x, y_mm=y, rotation_deg=0.0) for name, x, y in plate
            ),
            fill=0.0,
        )
        for plate in plates
    )
    counts = Counter(name for plate in plates for name, _, _ in plate)
    items = [replace(each, quantity=counts[each.id]) for each in items]
    packing = Packing(plates=places, unplaced=(), lower_bound=0, bound_by="")
    return verify(packing, items, [bed(keep_out_patches=(PATCH,))], 4, 3, wishes=Wishes(**wishes))


def test_the_check_sees_broken_wishes():
    """Each by itself, and nothing where all is well."""
    one, two = [("tile", 3, 75)], [("tile", 77, 3)]
    both = [("square", 57, 57), ("tile", 77, 3)]

    assert wrong([one, two]) == ()
    assert "lie on plates [1, 2]" in wrong([one, two], together=(("tile",),))[0]
    assert "square and tile share a plate" in wrong([both], apart=(("square", "tile"),))[0]
    assert wrong([one, two], pins=(pin("tile", 77, 3, plate=2),)) == ()
    assert "pins of plate 1 are on plate 2" in wrong([one, two], pins=(pin("tile", 77, 3),))[0]
    moved = wrong([one, two], pins=(pin("tile", 77.000002, 3, plate=2),))
    assert moved == ("no plate holds every copy pinned on plate 2",)
    assert "no plate holds" in wrong([one], pins=(pin("tile", 3, 75), pin("tile", 3, 75)))[0]
    assert "tile lies on a keep-out" in wrong([[("tile", 40, 40)]])[0]


def test_rings_hold_pinned_parts_inside():
    """A pin may lie in the hole of a part that is packed."""
    items = [item("ring", ring(40, 30), 1), item("disc", shapely.Point(0, 0).buffer(20), 1)]
    wishes = Wishes(pins=(pin("disc", 50, 50),))

    packing = packed(items, [bed()], wishes=wishes)

    assert names(packing) == [Counter(disc=1, ring=1)]
