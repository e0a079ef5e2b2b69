"""Ground that parts must leave empty: never more is claimed than is true, and it is claimed."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.nest.bound import lower_bound
from planner.nest.bound.form import form_of
from planner.nest.bound.mass import Ground, Mover
from planner.nest.bound.master import Weights
from planner.nest.bound.places import places_of
from planner.nest.bound.problem import problem_of
from planner.nest.bound.raster import WHOLE, raster
from planner.nest.bound.site import hole_site, plate_site
from planner.nest.bound.tried import Tried
from planner.nest.bound.waste import least_by_waste, proven
from planner.nest.model import NO_WISHES, Wishes
from planner.nest.outline import outline_of
from planner.nest.pack import pack
from tests.nest.shapes import bed, item, keep_out, problem, rectangle, ring, star


def bound(items, beds, clearance_mm=0.0, edge_mm=0.0, wishes=NO_WISHES):
    return lower_bound(items, beds, clearance_mm=clearance_mm, edge_mm=edge_mm, wishes=wishes)


def by_ground_alone(items, beds):
    """Return what weighted ground proves without any other argument to start from."""
    case = problem_of(items, beds, 0.0, 0.0, NO_WISHES)
    return least_by_waste(case, range(len(items)), range(len(beds)), known=0)


def frame(outer_mm, inner_mm):
    gap = (outer_mm - inner_mm) / 2
    return rectangle(outer_mm, outer_mm).difference(
        shapely.box(gap, gap, outer_mm - gap, outer_mm - gap)
    )


def test_a_hole_that_nothing_fits_counts_as_part_of_the_part():
    """Frames of 50 mm lie four to a plate; 13 need four plates, and so do 12 with a post."""
    frames = item("frame", frame(50, 30), 12)
    post = item("post", rectangle(31, 31), 1)

    assert bound([frames], [bed()]).plates == 3
    assert bound([frames, post], [bed()]).plates == 4
    assert "empty" in bound([frames, post], [bed()]).by


@pytest.mark.parametrize(("squares", "plates"), [(33, 3), (34, 4)])
def test_a_hole_holds_what_fits_into_it_and_no_more(squares, plates):
    """Eight frames fill two plates and take one square of 20 mm each; 25 more fill a third."""
    items = [item("frame", frame(50, 30), 8), item("square", rectangle(20, 20), squares)]

    assert bound(items, [bed()]).plates == plates
    assert by_ground_alone(items, [bed()]) == plates


def test_what_a_hole_can_hold_is_taken_off():
    """By area alone: 8 x 50^2 + 33 x 20^2 - 8 x 30^2 = 26,000 mm2 on plates of 10,000 mm2."""
    items = [item("frame", frame(50, 30), 8), item("square", rectangle(20, 20), 33)]
    places = places_of(problem_of(items, [bed()], 0.0, 0.0, NO_WISHES), [0, 1], [0])
    even = Weights(
        value=0.0,
        worth=np.array([2500.0, 400.0]),
        everywhere=(1.0, 1.0),
        extra=tuple(np.zeros(ground.blocks) for ground in places.grounds),
    )

    assert proven(places, Tried.of(places.grounds, even), [{0: 0, 1: 0}, {1: 0}]) == 3


def test_holes_within_holes_are_counted_once():
    """A frame in a frame in a frame: nine of each, and four of the largest to a plate."""
    items = [
        item("large", frame(50, 40), 9),
        item("middle", frame(30, 25), 9),
        item("small", frame(20, 10), 9),
    ]

    assert bound(items, [bed()]).plates == 3


def test_one_small_part_does_not_give_up_all_holes():
    """Of 13 frames only one can hold the one disc there is."""
    frames = item("frame", frame(50, 30), 13)

    assert bound([frames], [bed()]).plates == 4
    assert bound([frames, item("disc", ring(5, 1), 1)], [bed()]).plates == 4


def test_edges_that_round_parts_cannot_reach_count():
    """Discs of 33 mm lie nine to a plate of 100 mm; their area alone would allow eleven."""
    discs = [item("disc", shapely.Point(0, 0).buffer(16.6), 22, rotations_deg=(0.0,))]
    area = 22 * np.pi * 16.6**2 / 100**2

    assert area < 2
    assert bound(discs, [bed()]).plates == 3


def test_pieces_of_one_part_may_reach_into_holes():
    """A part of two pieces lies partly in a hole: two plates hold eight of either."""
    pair = shapely.union_all([shapely.box(0, 0, 25, 25), shapely.box(50, 0, 75, 25)])
    items = [item("frame", frame(50, 30), 8), item("pair", pair, 4)]

    assert bound(items, [bed()]).plates <= 2


def test_the_piece_that_lies_in_a_hole_need_not_be_the_largest_as_drawn():
    """A strip grows larger than a disc of more area: with the disc outside, it fits the hole."""
    strip, disc = shapely.box(0, 0, 33, 3), shapely.Point(80, 30).buffer(5.7)
    tray = rectangle(60, 20).difference(shapely.box(8, 6, 52, 14))
    items = [item("tray", tray, 1), item("two", shapely.union_all([strip, disc]), 1)]
    forms = [form_of(outline_of(part.footprint, 1.0)[0], 2.0) for part in items]

    assert forms[0].holes[0].region.bounds[3] == pytest.approx(4.0, abs=0.1)
    assert forms[1].bare.bounds[2:] == (33.0, 3.0)


def test_parts_that_turn_freely_may_lie_in_holes_aslant():
    """A square of 29 mm goes into a hole of 30 mm whatever its turn is called."""
    items = [
        item("frame", frame(50, 30), 4),
        item("square", rectangle(29, 29), 4, free_turns=True, rotations_deg=(45.0,)),
    ]

    assert bound(items, [bed()]).plates == 1


def test_turns_in_a_hole_are_counted_from_the_part_around_it():
    """A bar along x lies in a hole along y if the frame may be turned; else it does not."""
    sleeve = rectangle(50, 50).difference(shapely.box(20, 5, 30, 45))
    bar = rectangle(39, 9)

    def plates(turns):
        items = [
            item("sleeve", sleeve, 4, rotations_deg=turns),
            item("bar", bar, 4, rotations_deg=(0.0,)),
        ]
        return bound(items, [bed()]).plates

    assert (plates((0.0,)), plates((0.0, 90.0))) == (2, 1)


def test_keep_outs_bar_the_part_and_not_its_clearance():
    """A part of 48 mm lies beside a keep-out of half the bed, closer than the clearance."""
    half = bed("b", 100, 100, keep_out=(keep_out(0, 0, 100, 49),))

    assert bound([item("s", rectangle(48, 48), 2)], [half], clearance_mm=4.0).plates == 1


def test_parts_of_a_group_together_are_one():
    """Three groups of which each takes 600 of 1000 s: three plates, though 1800 s fit two."""
    items = [item(f"p{n}", rectangle(9, 9), 3, seconds=100.0) for n in range(6)]
    groups = tuple((f"p{n}", f"p{n + 1}") for n in (0, 2, 4))

    slow = [bed(limit_s=1000.0)]
    assert bound(items, slow).plates == 2
    assert bound(items, slow, wishes=Wishes(together=groups)).plates == 3


def test_groups_apart_and_large_parts_join_into_one_argument():
    """Two large parts exclude each other; a small one is kept apart from both."""
    items = [item("a", rectangle(60, 60)), item("b", rectangle(60, 70)), item("c", rectangle(9, 9))]

    assert bound(items, [bed()]).plates == 2
    apart = Wishes(apart=(("a", "c"), ("b", "c")))
    assert bound(items, [bed()], wishes=apart).plates == 3


def test_parts_per_plate_count_like_sizes():
    """Sets of three parts at five a plate: one to a plate, though the sum would fit three."""
    sets = item("set", rectangle(9, 9), 5, parts=3)

    assert bound([sets], [bed(limit_parts=5)]).plates == 5


PIECES = {
    "dot": ["#"],
    "bar": ["###"],
    "ell": ["#.", "##"],
    "square": ["##", "##"],
    "trough": ["#.#", "###"],
    "tee": ["###", ".#."],
    "ring": ["###", "#.#", "###"],
    "ess": ["##.", ".##"],
    "wide": ["####", "#..#", "####"],
}


def cells(rows):
    return frozenset(
        (x, y) for y, row in enumerate(rows) for x, mark in enumerate(row) if mark == "#"
    )


def turned(shape):
    high = max(y for _, y in shape)
    return frozenset((high - y, x) for x, y in shape)


def places(shape, side, *, turns):
    """Return all places of a piece on a square of cells, as bit masks, by trying each."""
    found = set()
    for _ in range(turns):
        wide, high = max(x for x, _ in shape), max(y for _, y in shape)
        for dx in range(side - wide):
            for dy in range(side - high):
                found.add(sum(1 << ((y + dy) * side + x + dx) for x, y in shape))
        shape = turned(shape)
    return sorted(found)


def fits(plates, options, number):
    """Say whether the rest of the pieces can be laid on plates that are partly taken."""
    if number == len(options):
        return True
    for at in range(len(plates)):
        if plates[at] in plates[:at]:
            continue
        for mask in options[number]:
            if not plates[at] & mask:
                rest = [*plates[:at], plates[at] | mask, *plates[at + 1 :]]
                if fits(rest, options, number + 1):
                    return True
    return False


def fewest(names, side, *, turns):
    """Solve the packing of pieces of cells exactly.

    Pieces with corners at whole numbers need no other places: pushed left and down, each stops
    at the edge or at another piece.
    """
    order = sorted(names, key=lambda name: -len(cells(PIECES[name])))
    options = [places(cells(PIECES[name]), side, turns=turns) for name in order]
    return next(count for count in range(1, len(names) + 1) if fits([0] * count, options, 0))


@given(
    st.lists(st.sampled_from(sorted(PIECES)), min_size=1, max_size=7),
    st.sampled_from([4, 5]),
    st.sampled_from([1, 4]),
)
@settings(max_examples=50)
def test_no_bound_beats_an_exhaustive_search(names, side, turns):
    """Pieces of cells, with holes and dents, against every way to lay them."""
    items = [
        item(
            name,
            shapely.union_all([shapely.box(x, y, x + 1, y + 1) for x, y in cells(PIECES[name])]),
            names.count(name),
            rotations_deg=tuple(90.0 * turn for turn in range(turns)),
        )
        for name in sorted(set(names))
    ]

    exact = fewest(names, side, turns=turns)
    assert bound(items, [bed("b", side, side)]).plates <= exact
    assert by_ground_alone(items, [bed("b", side, side)]) <= exact


@given(st.integers(1, 3), st.lists(st.floats(0.1, 0.9), min_size=9, max_size=9), st.booleans())
@settings(max_examples=20)
def test_plates_cut_into_pieces_are_needed_again(plates, cuts, extra):
    """The optimum is known: guillotine cuts of whole plates, and one piece more."""
    pieces = [shapely.box(0, 0, 100, 100)] * plates
    for number, share in enumerate(cuts):
        whole = pieces.pop(0)
        wide, deep = whole.bounds[2:]
        along = number % 2 == 0
        low = (wide * share, deep) if along else (wide, deep * share)
        high = (wide * (1 - share), deep) if along else (wide, deep * (1 - share))
        pieces += [rectangle(*low), rectangle(*high)]
    items = [item(f"p{n}", piece, rotations_deg=(0.0,)) for n, piece in enumerate(pieces)]
    more = [item("more", rectangle(5, 5))] if extra else []

    assert bound([*items, *more], [bed()]).plates == plates + extra


@st.composite
def holed(draw):
    """Draw frames and rings, small parts that may or may not fit into them, and a bed."""
    outer = draw(st.floats(25.0, 60.0))
    inner = outer * draw(st.floats(0.4, 0.8))
    shapes = [
        frame(outer, inner),
        ring(draw(st.floats(10.0, 30.0)), 7.0),
        draw(star(30.0)),
        rectangle(draw(st.floats(5.0, 30.0)), draw(st.floats(5.0, 15.0))),
    ]
    items = [item(f"p{n}", shape, draw(st.integers(0, 6))) for n, shape in enumerate(shapes)]
    size = draw(st.floats(70.0, 120.0))
    closed = draw(st.sampled_from([(), (keep_out(0, 0, 20, 15),)]))
    return items, [bed("b", size, size, keep_out=closed)], draw(st.sampled_from([0.0, 3.0]))


@given(holed())
@settings(max_examples=15)
def test_no_packing_found_beats_the_bound(case):
    """Frames with parts in them, packed and verified: never fewer plates than the bound."""
    items, beds, clearance_mm = case

    packing = pack(items, beds, clearance_mm=clearance_mm, edge_mm=2.0, effort=20)

    assert packing.lower_bound <= len(packing.plates)


@given(holed(), st.integers(0, 3), st.integers(1, 3))
@settings(max_examples=20)
def test_more_copies_of_holed_parts_never_lower_the_bound(case, which, more):
    """One kind has more copies, is missing altogether, or is there under two names."""
    items, beds, clearance_mm = case
    own = items[which]
    kept = [*items[:which], *items[which + 1 :]]
    before = bound(items, beds, clearance_mm, 2.0).plates

    added = replace(own, quantity=own.quantity + more)
    twin = replace(own, id="twin", quantity=more)
    assert bound(kept, beds, clearance_mm, 2.0).plates <= before
    assert bound([*kept, added], beds, clearance_mm, 2.0).plates >= before
    assert bound([*items, twin], beds, clearance_mm, 2.0).plates >= before


@given(holed())
@settings(max_examples=15)
def test_turning_everything_on_a_square_bed_changes_nothing(case):
    """All parts drawn a quarter turn on, with quarter turns allowed."""
    items, beds, clearance_mm = case
    beds = [bed("b", beds[0].width_mm, beds[0].width_mm)]
    quarter = [
        item(own.id, affinity.rotate(whole(own), 90, origin=(0, 0)), own.quantity) for own in items
    ]

    found = bound(items, beds, clearance_mm, 2.0).plates

    assert bound(quarter, beds, clearance_mm, 2.0).plates == found


def whole(own):
    return shapely.union_all(
        [shapely.Polygon(rings[0], rings[1:]) for rings in own.footprint.polygons_mm]
    )


@given(star(50.0), st.integers(0, 2**32 - 1))
@settings(max_examples=15)
def test_what_a_part_is_said_to_cover_it_covers_at_any_place(shape, seed):
    """Random weights and real-valued places, against areas measured with shapely."""
    random = np.random.default_rng(seed)
    form = form_of(outline_of(item("s", shape).footprint, 1.0)[0], 2.0)
    site = plate_site(bed("b", 90.3, 71.7), clearance_mm=4.0, edge_mm=2.0, alone=True)
    low_x, low_y, high_x, high_y = form.bare.bounds
    size = (high_x - low_x + 4.0, high_y - low_y + 4.0)
    laid = affinity.translate(form.filled, 2.0 - low_x, 2.0 - low_y)
    ground = Ground(site)
    mover = Mover(ground, raster(laid, size, site.cell_mm), None)
    weights = random.integers(0, 1000, ground.blocks)
    least, spot = mover.least(ground.spread(weights.astype(float)))

    joints = weights[ground.joints].min(axis=1)
    assert least == mover.by_block(spot) @ np.concatenate([weights, joints])
    rows, columns = site.block.shape
    x, y = np.meshgrid(np.arange(columns) * site.cell_mm[0], np.arange(rows) * site.cell_mm[1])
    cells = shapely.box(x, y, x + site.cell_mm[0], y + site.cell_mm[1])
    spare = np.array(site.room_mm) - size
    for place in random.uniform(0, 1, (3, 2)) * spare:
        covered = shapely.area(shapely.intersection(cells, affinity.translate(laid, *place)))
        assert least * site.unit_mm2 <= (covered * weights[site.block]).sum() * (1 + 1e-9) + 1e-6


@given(star(60.0), st.sampled_from([0.5, 2.0, 5.0]))
@settings(max_examples=40)
def test_growth_is_never_more_than_half_the_clearance(shape, radius_mm):
    """Every point of the boundary, closely sampled, is within reach of the part itself."""
    form = form_of(outline_of(item("s", shape).footprint, 1.0)[0], radius_mm)
    bounds = form.bare.bounds
    for part in shapely.get_parts(form.filled.boundary):
        points = shapely.line_interpolate_point(part, np.linspace(0, part.length, 400))
        assert shapely.distance(form.bare, points).max() <= radius_mm + 1e-9
    assert form.filled.bounds[0] >= bounds[0] - radius_mm - 1e-9
    assert form.filled.area >= 0.98 * form.bare.area


def test_a_raster_never_covers_more_than_the_shape():
    """Cells marked as whole lie in the disc, and the sum stays below its area by little."""
    disc = shapely.Point(10, 10).buffer(10, quad_segs=64)
    found = raster(disc, (20.0, 20.0), (0.5, 0.5))
    row, column = np.nonzero(found.share == WHOLE)

    boxes = shapely.box(column * 0.5, row * 0.5, column * 0.5 + 0.5, row * 0.5 + 0.5)
    assert shapely.covers(disc, boxes).all()
    assert 0.97 * disc.area < found.share.sum() * 0.25 / WHOLE <= disc.area


def test_a_hole_weighs_no_less_than_its_area():
    """A round hole: the cells it touches count with what the hole covers of them."""
    form = form_of(outline_of(item("s", ring(30, 20)).footprint, 1.0)[0], 0.0)
    site = hole_site(form.holes[0], 0, 3)

    area = site.most.sum() * site.unit_mm2
    assert form.holes[0].region.area <= area < 1.03 * form.holes[0].region.area
    assert site.shut[0, 0]
    assert not site.shut[24, 24]


@pytest.mark.parametrize(("copies", "plates"), [(12, 3), (13, 4)])
def test_whole_plates_are_whole(copies, plates):
    """Four tiles fill a plate to the last of it: rounding does not ask for one more."""
    tile = item("tile", rectangle(50, 50), copies, rotations_deg=(0.0,))
    assert by_ground_alone([tile], [bed()]) == plates


@given(problem(most_items=3, most_copies=5))
@settings(max_examples=20)
def test_asked_twice_the_bound_is_the_same(case):
    """What is remembered is what was worked out."""
    items, beds, clearance_mm, edge_mm = case

    assert bound(items, beds, clearance_mm, edge_mm) == bound(items, beds, clearance_mm, edge_mm)
