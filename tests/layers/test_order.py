"""The order of strokes: against a plain greedy walk, and the rules of stages and islands."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st
from manifold3d import Manifold

from planner.layers import order as ordering
from planner.layers.lay import lay
from planner.layers.middle import middle_mm
from planner.layers.order import order
from planner.layers.route import route
from planner.layers.strokes import (
    BRIDGE,
    BRIM,
    INNER,
    OUTER,
    SOLID,
    SPARSE,
    SUPPORT,
    TRAVEL,
    Strokes,
    laid_but_last,
)

PLACE = st.tuples(st.floats(-50, 50), st.floats(-50, 50))
STROKE = st.tuples(PLACE, PLACE, st.sampled_from([INNER, OUTER, SOLID, SPARSE]), st.integers(0, 2))
LAYER = st.lists(STROKE, min_size=1, max_size=9)


def strokes_of(layers):
    rows = [(owner, *stroke) for owner, layer in enumerate(layers) for stroke in layer]
    size = np.full(len(rows), 2)
    return Strokes(
        points_mm=np.array([end for _, first, last, _, _ in rows for end in (first, last)]),
        size=size,
        owner=np.array([row[0] for row in rows]),
        code=np.array([row[3] for row in rows]),
        lays=laid_but_last(size),
    ), np.array([row[4] for row in rows])


def plain_walk(layer):
    """One stroke after the other: same island, earliest stage, then nearest end."""
    rank = {INNER: 0, OUTER: 1, SOLID: 2, SPARSE: 3}
    here, island, left, found = np.zeros(2), None, list(range(len(layer))), []
    while left:
        costs = []
        for n in left:
            first, last, code, own = layer[n]
            near = min(np.hypot(*(np.array(end) - here)) for end in (first, last))
            costs.append((own != island, rank[code], near, n))
        best = min(costs)[-1]
        first, last, _, island = layer[best]
        back = np.hypot(*(np.array(last) - here)) < np.hypot(*(np.array(first) - here))
        here = np.array(first if back else last)
        found.append(best)
        left.remove(best)
    return found


def without_ties(layer):
    """Move every end by its own fraction of a millimetre, or equally near ones are a draw."""
    chance = np.random.default_rng(17)
    moves = chance.uniform(-0.01, 0.01, (len(layer), 2, 2))
    return [
        (tuple(first + move[0]), tuple(last + move[1]), code, island)
        for (first, last, code, island), move in zip(layer, moves, strict=True)
    ]


@limits(max_examples=60, deadline=None)
@given(layers=st.lists(LAYER.map(without_ties), min_size=1, max_size=4))
def test_all_layers_in_step_equal_a_plain_walk_of_each(layers):
    """Rebuild and compare: the same choices, layer by layer."""
    strokes, island = strokes_of(layers)

    found = order(strokes, island)

    for owner, layer in enumerate(layers):
        own = found.stroke[strokes.owner[found.stroke] == owner]
        first = int(np.flatnonzero(strokes.owner == owner)[0])
        assert (own - first).tolist() == plain_walk(layer)


def test_a_layer_is_left_where_its_last_stroke_ends():
    """Codes, rests, entry and exit of three strokes, worked by hand."""
    strokes, island = strokes_of(
        [[((1, 0), (9, 0), OUTER, 0), ((30, 5), (9, 5), SOLID, 0), ((9, 1), (9, 3), INNER, 0)]]
    )
    found = route(
        strokes,
        order(strokes, island),
        kind=np.array([0, 0]),
        section_mm2=np.array([0.1]),
        remarks=(),
    )

    assert found.points_mm.tolist() == [[9, 1], [9, 3], [9, 0], [1, 0], [9, 5], [30, 5]]
    assert found.code.tolist() == [TRAVEL, INNER, TRAVEL, OUTER, TRAVEL, SOLID]
    assert found.rests.tolist() == [False, False, True, False, True, False]
    assert found.entry_mm.tolist() == [[9, 1], [9, 1]]
    assert found.exit_mm.tolist() == [[30, 5], [30, 5]]


def codes_of(layering, layer):
    """Codes in the order drawn, without travel and repeats."""
    paths = layering.paths
    own = slice(*paths.start[paths.kind[layer] :][:2])
    code = paths.code[own][paths.code[own] != TRAVEL]
    return code[np.flatnonzero(np.diff(code, prepend=-1))].tolist()


def test_a_piece_is_finished_before_the_next(posed, settings):
    """Two blocks: inner walls, outer wall, filling of the one, then those of the other."""
    blocks = Manifold.cube((20, 20, 3)) + Manifold.cube((20, 20, 3)).translate((40, 0, 0))

    layering = lay(posed(blocks), settings(brim_mm=2.0))

    each = [INNER, OUTER, SOLID]
    assert codes_of(layering, 0) == [BRIM, *each, *each]
    assert codes_of(layering, 7) == 2 * [INNER, OUTER, SPARSE]


def test_support_is_drawn_before_the_part(posed, settings):
    """So that no wall has to be crossed for it later."""
    table = Manifold.cube((30, 30, 2)).translate((0, 0, 10)) + Manifold.cube((10, 30, 10))

    assert codes_of(lay(posed(table), settings(support=True)), 20)[0] == SUPPORT


def test_layers_of_very_many_strokes_are_drawn_in_strips(monkeypatch):
    """Every stroke once, stage by stage, and not much longer than greedy choice."""
    chance = np.random.default_rng(11)
    places = chance.uniform(-50, 50, (200, 2))
    layer = [((x, y), (x + 1, y), (INNER, SOLID)[n % 2], 0) for n, (x, y) in enumerate(places)]
    strokes, island = strokes_of([layer, layer])

    def travelled(found):
        ends = strokes.points_mm[2 * found.stroke[:200]]
        return np.hypot(*np.diff(ends, axis=0).T).sum()

    greedy = order(strokes, island)
    monkeypatch.setattr(ordering, "MOST", 100)
    strips = order(strokes, island)

    assert sorted(strips.stroke.tolist()) == list(range(400))
    assert np.all(np.diff(strokes.code[strips.stroke[:200]]) >= 0)
    assert travelled(strips) < 1.6 * travelled(greedy)


def test_support_of_all_pieces_is_drawn_in_one_go(posed, settings):
    """Two tables: all of their support comes before either of them."""
    table = Manifold.cube((20, 20, 2)).translate((0, 0, 6)) + Manifold.cube((6, 20, 6))
    both = table + table.translate((40, 0, 0))

    assert codes_of(lay(posed(both), settings(support=True)), 10).count(SUPPORT) == 1


def test_solid_fill_over_air_is_a_bridge(posed, settings):
    """The first layer of a slab between two posts, unless support holds it."""
    posts = Manifold.cube((5, 20, 8)) + Manifold.cube((5, 20, 8)).translate((25, 0, 0))
    gate = posts + Manifold.cube((30, 20, 3)).translate((0, 0, 8))
    layering = lay(posed(gate), settings())

    assert BRIDGE in codes_of(layering, 40)
    assert BRIDGE not in codes_of(layering, 39) + codes_of(layering, 41)
    assert BRIDGE not in codes_of(lay(posed(gate), settings(support=True)), 40)


def test_a_part_turns_about_its_middle(posed):
    """A quarter turn of an ell turns the point its paths start from with it, off the middle."""
    ell = Manifold.cube((30, 10, 4)) + Manifold.cube((10, 20, 4))

    x, y = middle_mm(posed(ell))
    turned = middle_mm(posed(ell.rotate((0, 0, 90))))

    assert turned == pytest.approx((20 - y, x))
    assert np.hypot(x - 15, y - 10) > 0.3
