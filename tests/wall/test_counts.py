"""Counts of cells, edges and junctions against closed forms and plain enumeration."""

from __future__ import annotations

from collections import Counter
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from planner.errors import InputError
from planner.job.layout.model import Hung, PartRule
from planner.wall import fill
from planner.wall.count import count_walls, with_fixings
from planner.wall.mounting import mount
from tests.wall.plain import drawn, numbers, reasons, rectangle, system, walls

MASKS = st.sets(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=1, max_size=60)


def filled(cells):
    return count_walls(walls(drawn(cells))).panellings[0]


@given(columns=st.integers(1, 12), rows=st.integers(1, 12))
def test_rectangles_follow_the_closed_forms(columns, rows):
    """Validation: cells mn, shared edges 2mn - m - n, rim 2(m + n), (m + 1)(n + 1) junctions.

    Of the junctions 4 are corners, 2(m - 1) + 2(n - 1) lie on the rim, (m - 1)(n - 1) inside.
    """
    counted = count_walls(walls(rectangle(columns, rows)))
    panelling = counted.panellings[0]
    shapes = Counter(junction.shape for junction in panelling.junctions)

    assert numbers(counted) == {
        key: count
        for key, count in {
            "panel": columns * rows,
            "key": 2 * columns * rows - columns - rows,
            "trim": 2 * (columns + rows),
            "standoff": (columns + 1) * (rows + 1),
            "corner": 4,
        }.items()
        if count
    }
    assert shapes["outer corner"] == 4
    assert shapes["straight"] == 2 * (columns - 1) + 2 * (rows - 1)
    assert shapes["middle"] == (columns - 1) * (rows - 1)
    assert len(panelling.junctions) == shapes.total() - shapes["diagonal"] - shapes["inner corner"]
    assert panelling.islands == 1


@given(cells=MASKS)
def test_any_cells_are_counted_as_by_plain_enumeration(cells):
    """Brute force on random drawings, holes and islands included: no graph, only corners.

    An edge is a pair of corner points, shared if two cells have it; a junction is a corner
    point with the cells around it.
    """
    edges, corners = Counter(), {}
    for column, row in cells:
        square = [(column - 1, row - 1), (column, row - 1), (column, row), (column - 1, row)]
        edges.update(frozenset((square[k], square[k - 1])) for k in range(4))
        for corner in square:
            corners.setdefault(corner, set()).add((column, row))
    panelling = filled(cells)

    assert {(cell.column, cell.row) for cell in panelling.cells} == cells
    assert sum(edge.shared for edge in panelling.edges) == list(edges.values()).count(2)
    assert sum(not edge.shared for edge in panelling.edges) == list(edges.values()).count(1)
    assert {(j.column, j.row): j.panels for j in panelling.junctions} == {
        corner: len(around) for corner, around in corners.items()
    }
    assert {(j.column, j.row) for j in panelling.junctions if j.shape == "diagonal"} == {
        corner for corner, around in corners.items() if across(around)
    }


def across(around):
    """Two cells that share neither column nor row."""
    return len(around) == 2 and all(len(set(axis)) == 2 for axis in zip(*around, strict=True))


@given(cells=MASKS)
def test_islands_are_those_that_an_image_library_labels(cells):
    """Validation against scipy.ndimage.label, neighbours by sides only."""
    grid = np.zeros((10, 10), dtype=int)
    grid[tuple(np.array(sorted(cells)).T)] = 1

    assert filled(cells).islands == ndimage.label(grid)[1]


@given(cells=MASKS)
def test_eulers_formula_holds(cells):
    """V - E + F = pieces - holes (Euler 1758; Hatcher, Algebraic Topology, theorem 2.44).

    Pieces may touch at a corner; holes are what is shut in by sides and corners: labelled by
    scipy.ndimage, eight neighbours for pieces and four for the ground.
    """
    grid = np.zeros((12, 12), dtype=int)
    grid[tuple(np.array(sorted(cells)).T)] = 1
    pieces = ndimage.label(grid, structure=np.ones((3, 3)))[1]
    holes = ndimage.label(1 - grid)[1] - 1
    panelling = filled(cells)
    euler = len(panelling.junctions) - len(panelling.edges) + len(panelling.cells)

    assert euler == pieces - holes


@given(cells=MASKS)
def test_every_side_of_a_cell_is_one_edge(cells):
    """Four sides each; a shared edge takes two of them. And open sides are the free edges."""
    panelling = filled(cells)
    shared = sum(edge.shared for edge in panelling.edges)
    free = len(panelling.edges) - shared

    assert 4 * len(cells) == 2 * shared + free
    assert sum(len(cell.open_sides) for cell in panelling.cells) == free


@given(cells=MASKS)
def test_everything_counted_has_its_place(cells):
    """One `Placed` per copy, in the middle of what it sits on, and never two alike in one."""
    counted = count_walls(walls(drawn(cells)))
    placed = Counter(each.part for each in counted.panellings[0].placed)
    places = Counter((each.part, each.x_mm, each.y_mm) for each in counted.panellings[0].placed)

    assert placed == Counter(numbers(counted))
    assert set(places.values()) == {1}


def test_middles_lie_where_two_cells_say():
    """Two cells side by side: worked out by hand."""
    places = {
        (each.part, each.x_mm, each.y_mm, each.upright) for each in filled([(1, 1), (2, 1)]).placed
    }

    assert {p[1:] for p in places if p[0] == "panel"} == {(50, 50, False), (150, 50, False)}
    assert {p[1:] for p in places if p[0] == "key"} == {(100, 50, True)}
    assert {p[1:] for p in places if p[0] == "trim"} == {
        *product((50, 150), (0, 100), (False,)),
        *product((0, 200), (50,), (True,)),
    }
    assert {p[1:3] for p in places if p[0] == "standoff"} == set(product((0, 100, 200), (0, 100)))
    assert {p[1:3] for p in places if p[0] == "corner"} == set(product((0, 200), (0, 100)))


def test_pitches_may_differ_across_and_up():
    """Cells of 120 x 80 mm: places follow."""
    from tests.wall.plain import system

    panels = system(pitch=(120.0, 80.0))
    shape = drawn([(1, 1), (1, 2)], pitch=(120.0, 80.0))
    panelling = count_walls(walls(shape, panels=panels)).panellings[0]

    assert [(cell.x_mm, cell.y_mm) for cell in panelling.cells] == [(0, 0), (0, 80)]
    assert [(p.x_mm, p.y_mm) for p in panelling.placed if p.part == "key"] == [(60, 80)]


def test_reasons_say_what_was_counted():
    """The L of three cells, by hand: 2 shared edges, 8 free, 8 junctions."""
    counted = count_walls(walls(drawn([(1, 1), (2, 1), (1, 2)])))

    assert reasons(counted) == {
        "panel": "3 cells",
        "key": "2 shared edges",
        "trim": "8 free edges",
        "standoff": "8 junctions (5 outer corners, 2 straight, 1 inner corner)",
        "corner": "5 outer corners",
    }


def test_several_walls_are_added_up():
    """Ten walls of two by three: ten times the numbers, each wall with its own as well."""
    shapes = [rectangle(2, 3, name=f"wall {n}") for n in range(10)]
    counted = count_walls(walls(*shapes))

    assert numbers(counted) == {
        "panel": 60, "key": 70, "trim": 100, "standoff": 120, "corner": 40,
    }  # fmt: skip
    assert reasons(counted)["key"] == "70 shared edges"
    assert [{c.part: c.count for c in each.counts}["key"] for each in counted.panellings] == [
        7
    ] * 10


def test_the_same_walls_give_the_same_bytes():
    """No order of sets shows."""
    cells = [(c, r) for c in range(1, 8) for r in range(1, 8) if (c * r) % 3]
    one, other = filled(cells), filled(cells[::-1])

    for name in ("cells", "edges", "junctions", "placed", "counts"):
        assert repr(getattr(one, name)) == repr(getattr(other, name))


@pytest.mark.parametrize(
    ("cells", "islands"),
    [([(1, 1), (2, 2)], 2), ([(1, 1), (2, 1)], 1), ([(1, 1), (3, 1), (5, 1)], 3)],
)
def test_pieces_are_remarked_on_by_cell(cells, islands):
    """Cells that touch at a corner only are not joined."""
    counted = count_walls(walls(drawn(cells)))

    assert counted.panellings[0].islands == islands
    assert len(counted.remarks) == islands - 1
    for (column, row), remark in zip(cells[1:], counted.remarks, strict=False):
        if islands > 1:
            assert f"column {column}, row {row}" in remark


PANEL = PartRule(part="panel", spot="cell")


@pytest.mark.parametrize(
    ("rules", "hung", "told"),
    [
        ((PartRule(part="panel", spot="cell", count=20),), (), "120 copies with the wall 'north'"),
        ((PANEL,), (Hung(thing="hook", cell=(1, 1), count=95),), "101 copies"),
        ((PANEL, PartRule(part="nut", spot="fixing", count=9)), (), "114 copies"),
    ],
)
def test_more_copies_than_can_be_drawn_are_refused(monkeypatch, rules, hung, told):
    """Six cells, twelve screws and room for a hundred: refused before they are made."""
    monkeypatch.setattr(fill, "PLACED_MAX", 100)
    wall = rectangle(3, 2, hung=hung)

    def screwed():
        counted = count_walls(walls(wall, panels=system(*rules)))
        return with_fixings(counted, mount(counted).fixings)

    with pytest.raises(InputError, match=told):
        screwed()


def test_copies_are_bounded_on_all_walls_together(monkeypatch):
    monkeypatch.setattr(fill, "PLACED_MAX", 17)
    shapes = [rectangle(3, 2, name=f"wall {n}") for n in range(3)]
    panels = system(PANEL)

    assert numbers(count_walls(walls(*shapes[:2], panels=panels)))["panel"] == 12
    with pytest.raises(InputError, match="18 copies with the wall 'wall 2'"):
        count_walls(walls(*shapes, panels=panels))
