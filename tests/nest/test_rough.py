"""Very many kinds: plates of cells are right, and answers are bounded in size and checked."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.nest import options, outline, table
from planner.nest.cells import cells_of
from planner.nest.memory import Store
from planner.nest.pack import pack
from planner.nest.plate import Spot
from planner.nest.rough import RoughPlate, new_plate
from planner.nest.shape import SLABS, cells, outer_runs, turn
from planner.nest.table import Table
from planner.nest.verify import verify
from tests.nest.shapes import bed, item, keep_out, star


def quadrilaterals(count, seed, **more):
    """Return so many different parts, one copy each."""
    random = np.random.default_rng(seed)
    items = []
    for number in range(count):
        angles = np.radians(np.arange(4) * 90 + random.uniform(10, 80, 4))
        radii = random.uniform(8, 25) * random.uniform(0.6, 1, 4)
        corners = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
        items.append(item(f"p{number}", shapely.Polygon(corners), 1, **more))
    return items


@given(star(40.0), st.sampled_from([0, 1]))
@settings(max_examples=40, deadline=None)
def test_cells_cover_the_shape_and_the_blocks_are_the_cells(shape, layout):
    """The bitmap against shapely; the blocks, written out cell by cell, against the bitmap."""
    low_x, low_y, high_x, high_y = shape.bounds
    shape = shapely.affinity.translate(shape, -low_x, -low_y)
    size, stride = (cells(high_x - low_x, 1.0), cells(high_y - low_y, 1.0)), 64

    found = cells_of(
        outer_runs(shape, 1.0 / SLABS).bands(), step_mm=1.0, size=size, layout=layout, stride=stride
    )

    places = [
        divmod(bit, stride) for bit in range(found.mask.bit_length()) if found.mask >> bit & 1
    ]
    squares = [shapely.box(u, v, u + 1, v + 1) for v, u in places]
    if layout == 1:
        squares = [shapely.box(v, u, v + 1, u + 1) for v, u in places]
    assert shape.difference(shapely.union_all(squares)).area < 1e-6
    assert all(square.distance(shape) < 1.0 for square in squares)
    written = 0
    for block in found.blocks:
        for shift in block.shifts:
            for v in range(1 << block.high):
                written |= ((1 << (1 << block.wide)) - 1) << (shift + v * stride)
    assert written == found.mask


@given(star(40.0), star(40.0), st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_the_first_free_position_is_the_first_of_all(one, other, random):
    """Kept up to date or afresh, near or far, along x or y; the map itself cell by cell."""
    items = [item("one", one, 9), item("other", other, 9)]
    beds = [bed("b", 90, 70, keep_out=(keep_out(30, 0, 50, 9),))]
    problem = Table(items, beds, clearance_mm=3.0, edge_mm=2.0)
    plate = RoughPlate(problem, 0)
    plate.use_layout(random.randrange(2))
    stride = problem.stride(plate.layout)
    for _ in range(8):
        number = random.randrange(2)
        option = random.choice(problem.options[number])
        far = random.random() < 0.5
        bit = plate.first(option.shape, far=far)
        free = free_cell_by_cell(plate, option.shape)
        assert plate.free(option.shape) == free
        expected = None if not free else (free if far else free & -free).bit_length() - 1
        assert bit == expected
        if bit is not None:
            v, u = divmod(bit, stride)
            x, y = (u, v) if plate.layout == 0 else (v, u)
            plate.place(Spot(number, option, x, y))


def free_cell_by_cell(plate, shape):
    problem, taken, free = plate.table, 0, 0
    stride = problem.stride(plate.layout)
    for spot in plate.spots:
        u, v = (spot.x, spot.y) if plate.layout == 0 else (spot.y, spot.x)
        taken |= problem.cells(spot.option.shape, plate.layout).mask << (v * stride + u)
    inner = problem.inner(plate.bed, shape, plate.layout)
    mask = problem.cells(shape, plate.layout).mask
    for bit in range(inner.bit_length()):
        if inner >> bit & 1 and not (mask << bit) & taken:
            free |= 1 << bit
    return free


def test_a_hundred_kinds_are_laid_roughly_but_soundly():
    """Every copy once and the check is content, with keep-outs, two beds and no clearance too."""
    items = quadrilaterals(100, 1)
    beds = [bed("a", 120, 120, count=3), bed("b", 150, 90, keep_out=(keep_out(0, 0, 20, 15),))]
    for clearance_mm in (4.0, 0.0):
        packing = pack(items, beds, clearance_mm=clearance_mm, edge_mm=3.0, effort=5)

        assert Table(items, beds, clearance_mm=clearance_mm, edge_mm=3.0).rough
        assert packing.unplaced == ()
        assert verify(packing, items, beds, clearance_mm, 3.0) == ()
        assert packing.lower_bound <= len(packing.plates) <= 1.7 * packing.lower_bound


def test_the_answer_does_not_depend_on_what_is_kept(monkeypatch):
    """After other problems with the same shapes, or with stores that hold next to nothing."""
    few = quadrilaterals(12, 2)
    many = quadrilaterals(80, 2)
    beds = [bed("a", 110, 130)]

    def packings():
        return [
            pack(items, beds, clearance_mm=3, edge_mm=2, effort=8) for items in (few, many, few[:5])
        ]

    first = packings()
    assert packings() == first
    assert packings()[::-1] == first[::-1]
    for module, name in (
        (options, "_turned"),
        (table, "_pairs"),
        (table, "_cells"),
        (outline, "_outlines"),
        (outline, "_areas"),
    ):
        monkeypatch.setattr(module, name, Store(500))
    assert packings() == first


def test_turns_are_thinned_out_with_many_kinds_but_not_to_nothing():
    """A bar that fits at 45 degrees only is still laid; a slot between keep-outs is still found."""
    turns = tuple(float(angle) for angle in range(360))
    bar = item("bar", shapely.box(0, 0, 125, 4), 1, rotations_deg=turns)
    others = quadrilaterals(90, 3, rotations_deg=turns)

    problem = Table([bar, *others], [bed()], clearance_mm=4, edge_mm=3)

    assert problem.turns(0, 0)
    assert len(problem.shapes) <= options.SHAPES_ROUGH
    assert all(len(own) <= options.SHAPES_ROUGH // 91 for own in problem.options)


def test_a_turn_left_out_is_taken_in_if_no_other_finds_a_place():
    """Keep-outs leave a slanted alley for which one turn of 360 will do."""
    alley = shapely.affinity.rotate(shapely.box(-70, -3, 70, 3), 33, origin=(0, 0))
    alley = shapely.affinity.translate(alley, 50, 50)
    blocked = [
        keep_out(x, y, x + 4, y + 4)
        for x in range(0, 100, 4)
        for y in range(0, 100, 4)
        if not alley.intersects(shapely.box(x, y, x + 4, y + 4))
    ]
    turns = tuple(float(angle) for angle in range(360))
    stick = item("stick", shapely.box(0, 0, 84, 5), 1, rotations_deg=turns)
    small = [item(f"s{n}", shapely.box(0, 0, 5, 2 + n / 50), 1) for n in range(100)]

    packing = pack(
        [stick, *small], [bed(keep_out=tuple(blocked))], clearance_mm=0, edge_mm=3, effort=1
    )

    assert "stick" not in {name for name, _, _ in packing.unplaced}


def test_growing_roughly_is_never_less():
    """Against an exact buffer: what is free of the rough growth keeps the clearance."""
    shape = shapely.Polygon([(0, 0), (30, 5), (12, 9), (8, 28)])
    for angle in (0.0, 90.0, 21.0):
        rough = turn(shape, angle, clearance_mm=4, step_mm=1.0, rough=True)
        fine = turn(shape, angle, clearance_mm=4, step_mm=1.0)

        assert rough.width_mm == pytest.approx(fine.width_mm)
        boxes = shapely.box(
            rough.grown.low_mm,
            rough.grown.start / SLABS,
            rough.grown.high_mm,
            rough.grown.end / SLABS,
        )
        placed = shapely.affinity.rotate(shape, angle, origin=(0, 0))
        placed = shapely.affinity.translate(
            placed, 2 - placed.bounds[0], 2 - placed.bounds[1]
        ).buffer(2, quad_segs=64)
        assert placed.difference(shapely.union_all(boxes)).area < 1e-6


def test_every_plate_of_a_rough_problem_is_rough():
    """One choice for the whole packing."""
    rough = Table(quadrilaterals(100, 4), [bed()], clearance_mm=4, edge_mm=3)
    fine = Table(quadrilaterals(10, 4), [bed()], clearance_mm=4, edge_mm=3)

    assert isinstance(new_plate(rough, 0), RoughPlate)
    assert not isinstance(new_plate(fine, 0), RoughPlate)
