"""Pressing one part more onto a plate, and never a worse packing for more work."""

import pickle
from random import Random

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.nest.build import Task
from planner.nest.cram import Depths, crammed, depths_of, unpacked
from planner.nest.nofit import packed
from planner.nest.pack import pack
from planner.nest.plate import Plate, Spot
from planner.nest.search import search
from planner.nest.squeeze import Squeeze
from planner.nest.table import Table
from tests.nest.shapes import bed, item, keep_out, rectangle, star


def table_of(items, beds, clearance_mm=4.0, edge_mm=3.0):
    return Table(items, beds, clearance_mm=clearance_mm, edge_mm=edge_mm)


def are_apart(plate):
    """Say whether every spot is a free position of the plate without it."""
    for place, spot in enumerate(plate.spots):
        rest = plate.without(frozenset([place]))
        bit = spot.y * plate.table.stride(0) + spot.x
        if not rest.free(spot.option.shape) >> bit & 1:
            return False
    return True


def test_parts_in_the_way_move_over():
    """Two bars lie in the middle of a bed; a third fits only once they have moved aside."""
    table = table_of([item("bar", rectangle(90, 25), 3, rotations_deg=(0.0,))], [bed()])
    (option,) = table.turns(0, 0)
    middle = [round(y / table.step_mm) for y in (14, 45)]
    plate = Plate(table, 0, tuple(Spot(0, option, 0, y) for y in middle))
    assert plate.first(option.shape, far=False) is None

    full = crammed(Depths(table), plate, 0, Random(1), 10**6)

    assert full is not None
    assert len(full.spots) == 3
    assert are_apart(full)


def test_what_cannot_fit_is_given_up():
    """Five squares of 45 need more than the bed has."""
    table = table_of([item("square", rectangle(45, 45), 5)], [bed()])
    plate = Plate(table, 0)
    (option, *_) = table.turns(0, 0)
    for _ in range(4):
        bit = plate.first(option.shape, far=False)
        plate.place(Spot(0, option, bit % table.stride(0), bit // table.stride(0)))

    assert crammed(Depths(table), plate, 0, Random(1), 10**6) is None


@given(star(40.0), star(40.0), st.integers(0, 99))
@settings(max_examples=15, deadline=None)
def test_whatever_is_pressed_on_lies_by_the_rules(one, other, seed):
    """Parts are apart, inside the bed and off its keep-out."""
    items = [item("one", one, 9), item("other", other, 9)]
    table = table_of(items, [bed("b", 90, 90, keep_out=(keep_out(0, 0, 30, 20),))])
    depths, plate, random = Depths(table), Plate(table, 0), Random(seed)
    for number in (0, 1, 0, 1, 0):
        if table.turns(0, number):
            plate = crammed(depths, plate, number, random, 10**6) or plate

            assert are_apart(plate)


@given(st.integers(1, 9), st.integers(1, 20), st.randoms(use_true_random=False))
def test_unpacking_undoes_packing(rows, stride, random):
    """Bit by bit."""
    bits = np.array([[random.random() < 0.4 for _ in range(stride)] for _ in range(rows)])

    assert (unpacked(packed(bits, stride), stride, rows) == bits).all()


def mix():
    """Return a few shapes that do not fill plates evenly."""
    ell = shapely.box(0, 0, 40, 12).union(shapely.box(0, 0, 12, 34))
    return [
        item("ell", ell, 12),
        item("disc", shapely.Point(0, 0).buffer(11), 14),
        item("bar", rectangle(63, 14), 7),
        item("wedge", shapely.Polygon([(0, 0), (41, 0), (0, 27)]), 9),
    ]


def test_states_of_an_attempt_leave_less_and_less_homeless():
    """And count every copy."""
    table = table_of(mix(), [bed()])
    task = Task(table, [(0,)] * 4, Random(2))
    start = search(task, 1, bound=1, progress=lambda *_, **__: None)
    attempt = Squeeze(task, start, 0, table.work + 300_000, table.work + 300_000)

    states = list(attempt.states())

    left = [sum(n * table.area_mm2[i] for i, n in enumerate(state.left)) for state in states]
    assert left == sorted(left, reverse=True)
    assert depths_of(task) is not None
    for state in states:
        laid = [0] * 4
        for _, spots in state.plates:
            for spot in spots:
                laid[spot.item] += 1
        assert [a + b for a, b in zip(laid, state.left, strict=True)] == task.wanted


@pytest.mark.parametrize("seed", [0, 1])
def test_more_effort_is_never_worse(seed):
    """Fewer plates or as many; if as many, the emptiest is no fuller."""
    answers = []
    for effort in (1, 6, 20):
        packing = pack(mix(), [bed()], clearance_mm=4, edge_mm=3, effort=effort, seed=seed)
        answers.append((len(packing.plates), min(plate.fill for plate in packing.plates)))

    assert answers == sorted(answers, reverse=True)


def test_more_runs_are_never_worse_and_may_be_done_elsewhere():
    """The first run is the one that a single run is; who does the others has no say."""
    rules = {"clearance_mm": 4, "edge_mm": 3, "effort": 5}
    seen = []

    def elsewhere(function, jobs):
        jobs = pickle.loads(pickle.dumps(list(jobs)))
        seen.extend(job.seed for job in jobs)
        return iter([pickle.loads(pickle.dumps(function(job))) for job in jobs])

    one = pack(mix(), [bed()], **rules)
    three = pack(mix(), [bed()], runs=3, **rules)

    assert len(three.plates) <= len(one.plates)
    assert three == pack(mix(), [bed()], runs=3, workers=elsewhere, **rules)
    assert len(set(seen)) == 2
