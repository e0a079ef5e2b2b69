"""Mounting order and kits: on grids built by hand, by properties that any order must have."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import product
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.job.layout.model import Levelling, PanelSystem, PartRule, Walls, WallShape
from planner.wall.model import Cell, Count, Counted, Fixing, Panelling, Placed
from planner.wall.order.graph import mounting_graph, mounting_order
from planner.wall.order.kits import CELLS_IN_A_BAG, order_of

PITCH = 100.0
OFFSET = (12.5, 30.0)
MASKS = st.sets(st.tuples(st.integers(1, 30), st.integers(1, 5)), min_size=1, max_size=60)
RULES = (
    PartRule(part="panel", spot="cell"),
    PartRule(part="key", spot="shared edge"),
    PartRule(part="trim", spot="free edge"),
    PartRule(part="standoff", spot="junction"),
)


def _placed(cells):
    """Place the parts of the rules by plain enumeration."""
    cells = sorted(cells)
    spots = [("panel", "cell", c - 0.5, r - 0.5, False, (c, r)) for c, r in cells]
    sides = Counter(
        side
        for c, r in cells
        for side in (
            (c - 0.5, r - 1.0, False),
            (c - 0.5, float(r), False),
            (c - 1.0, r - 0.5, True),
            (float(c), r - 0.5, True),
        )
    )
    for (x, y, upright), cells_on_it in sorted(sides.items()):
        part, spot = ("key", "shared edge") if cells_on_it == 2 else ("trim", "free edge")
        spots.append((part, spot, x, y, upright, None))
    corners = {(c - a, r - b) for c, r in cells for a, b in product((0, 1), repeat=2)}
    spots += [("standoff", "junction", x, y, False, None) for x, y in sorted(corners)]
    return tuple(
        Placed(
            part=part,
            spot=spot,
            x_mm=OFFSET[0] + x * PITCH,
            y_mm=OFFSET[1] + y * PITCH,
            upright=upright,
            cell=cell,
        )
        for part, spot, x, y, upright, cell in spots
    )


def counted_of(cells, **hung):
    """Return one wall of these cells, counted; `hung` are accessories without a place."""
    placed = _placed(cells)
    panelling = Panelling(
        wall=WallShape(name="north", width_mm=9000, height_mm=2000),
        offset_mm=OFFSET,
        margins_mm=(0, 0, 0, 0),
        cells=tuple(
            Cell(column=c, row=r, x_mm=OFFSET[0] + (c - 1) * PITCH, y_mm=0, open_sides=())
            for c, r in sorted(cells)
        ),
        edges=(),
        junctions=(),
        islands=1,
        placed=placed,
    )
    counts = Counter(one.part for one in placed) + Counter(hung)
    walls = Walls(
        name="test",
        path=Path("wall.yaml"),
        system=PanelSystem(
            name="test", pitch_mm=(PITCH, PITCH), thickness_mm=5, joint_play_mm=0.4, rules=RULES
        ),
        walls=(panelling.wall,),
        extra=hung,
        pattern="every junction",
        anchor=None,
        levelling=Levelling(level_mm_m=0.5, first_panel_mm_m=0.5),
        band_mm=50,
    )
    return Counted(
        walls=walls,
        panellings=(panelling,),
        counts=tuple(Count(part=p, count=n, because="") for p, n in sorted(counts.items())),
    )


@given(MASKS)
def test_order_respects_the_graph(cells):
    """No panel goes up before the neighbour to its left or below it (networkx as judge)."""
    order = mounting_order(cells)
    place = {cell: n for n, cell in enumerate(order)}

    assert set(order) == cells
    assert all(place[before] < place[after] for before, after in mounting_graph(cells).edges)
    assert nx.is_directed_acyclic_graph(mounting_graph(cells))


def test_first_panel_is_the_bottom_left_one():
    """A rectangle begins at the datum and runs course by course."""
    order = mounting_order(product(range(1, 4), range(1, 3)))

    assert order == ((1, 1), (2, 1), (3, 1), (1, 2), (2, 2), (3, 2))


@given(MASKS)
def test_kits_hold_every_part_once(cells):
    """All bags together are the counts, and every cell is in one bag."""
    counted = counted_of(cells, hook=7)
    order = order_of(counted)
    packed = Counter[str]()
    for kit in order.kits:
        packed.update(dict(kit.parts))

    assert packed == Counter(counted.quantities)
    assert sorted(cell for kit in order.kits for cell in kit.cells) == sorted(cells)
    assert max(len(kit.cells) for kit in order.kits) <= CELLS_IN_A_BAG


@given(MASKS)
def test_kits_can_be_mounted_in_their_order(cells):
    """Whatever a panel follows on is in the same bag or an earlier one."""
    order = order_of(counted_of(cells))
    bag = {cell: kit.number for kit in order.kits for cell in kit.cells}

    assert all(bag[before] <= bag[after] for before, after in mounting_graph(cells).edges)


def test_kits_of_two_courses_by_hand():
    """3 x 2 panels: the lower course brings 8 of 12 standoffs and the keys between its own."""
    kits = order_of(counted_of(set(product(range(1, 4), range(1, 3))), hook=2)).kits

    assert dict(kits[0].parts) == {"panel": 3, "key": 2, "standoff": 8, "trim": 5}
    assert dict(kits[1].parts) == {"panel": 3, "key": 5, "standoff": 4, "trim": 5}
    assert kits[2].parts == (("hook", 2),)
    assert [kit.name for kit in kits[:2]] == [
        "course 1, columns 1 to 3",
        "course 2, columns 1 to 3",
    ]


def test_accessories_go_by_their_stage():
    """Hooks of stage 2 and bins of stage 3 are two bags."""
    counted = counted_of({(1, 1)}, hook=2, bin=1)

    kits = order_of(counted, stage_of={"hook": 2, "bin": 3}).kits[1:]

    assert [kit.parts for kit in kits] == [(("hook", 2),), (("bin", 1),)]
    assert kits[1].name.endswith("stage 3")


def test_trims_of_a_later_stage_wait_for_it():
    """Trims of stage 3 are in no bag of a course, but in one after it."""
    kits = order_of(counted_of({(1, 1), (2, 1)}), stage_of={"trim": 3}).kits

    assert "trim" not in dict(kits[0].parts)
    assert kits[1].parts == (("trim", 6),)


@pytest.mark.parametrize(("corner", "bag"), [((0, 0), 1), ((1, 1), 1), ((1, 2), 2)])
def test_a_screw_comes_due_with_the_first_panel_that_it_holds(corner, bag):
    """The screw at a junction belongs to the lowest course that touches it."""
    screw = Fixing(wall="north", x_mm=0, y_mm=0, column=corner[0], row=corner[1])

    kits = order_of(counted_of({(1, 1), (1, 2), (2, 1)}), [screw]).kits

    assert [kit.number for kit in kits if kit.screws] == [bag]


def test_a_long_course_is_shared_out_evenly():
    """25 panels are bags of 8, 8 and 9, not of 12, 12 and 1."""
    kits = order_of(counted_of({(c, 1) for c in range(1, 26)})).kits

    assert [len(kit.cells) for kit in kits] == [8, 8, 9]


def test_what_is_bought_comes_with_the_panels_whatever_stage_these_have():
    """Keys that are bought are in no job: they do not say when the panels go up."""
    counted = counted_of({(1, 1), (2, 1)}, hook=1)
    rules = (RULES[0], replace(RULES[1], bought=True), *RULES[2:])
    system = replace(counted.walls.system, rules=rules)
    counted = replace(counted, walls=replace(counted.walls, system=system))

    course, last = order_of(
        counted, stage_of={"panel": 2, "trim": 2, "standoff": 2, "hook": 3}
    ).kits

    assert dict(course.parts) == {"panel": 2, "key": 1, "trim": 6, "standoff": 6}
    assert dict(last.parts) == {"hook": 1}
