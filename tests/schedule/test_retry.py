"""Climbing towards the bound itself: how short a plan falls, and that trying again never harms."""

from __future__ import annotations

import random

import pytest

from planner.schedule.board import GAPS, Board
from planner.schedule.bound import lower_bound
from planner.schedule.instance import instance_of
from planner.schedule.search import best_board, rank_of
from planner.schedule.solve import plan_weekend
from tests.schedule.weekends import plate, spool, weekend, window

H = 3600.0


def two_evenings(count, seed=1):
    """Return a weekend on two printers that differ; a plate that misses an evening waits."""
    rng = random.Random(seed)
    tasks = []
    for n in range(count):
        run_s = rng.uniform(0.3, 2.2) * H
        tasks.append(plate(f"p{n}", {"a": run_s, "b": 0.8 * run_s}, grams=10))
    return weekend(
        tasks,
        machines={"a": True, "b": True},
        spools=[spool("s1", 1e4), spool("s2", 1e4)],
        attendance=[window(0, 5 * H), window(24 * H, 40 * H)],
        hands_on_s=0,
    )


def test_short_of_counts_late_runs_and_the_squares_of_gaps():
    """Runs of 2 h and 3 h: by 2.5 h the one is late, and the other leaves half an hour free."""
    case = weekend(
        [plate("p0", {"a": 2 * H}, grams=1), plate("p1", {"b": 3 * H}, grams=1)],
        machines={"a": True, "b": True},
        spools=[spool("s1", 100), spool("s2", 100)],
        attendance=[window(0, 9 * H)],
        hands_on_s=0,
    )
    board = Board(instance_of(case), keep_spool=True)
    board.fill([0, 1], [-1, -1])

    assert board.short_of(int(2.5 * H)) == pytest.approx((0, 3.0 - GAPS * 0.5**2, 3 * H))
    assert board.short_of(int(4 * H))[1] == pytest.approx(-GAPS * (2.0**2 + 1.0**2))


@pytest.mark.parametrize("seed", range(4))
def test_trying_again_never_harms(seed):
    """The best of the first climbs is kept, whatever the climbs towards the bound find."""
    instance = instance_of(two_evenings(12, seed))
    first, again = (
        best_board(instance, placements=3000, seed=seed, bound_s=4 * 3600, retry=retry)
        for retry in (False, True)
    )

    assert rank_of(again) <= rank_of(first)


def test_trying_again_pays_where_a_plan_ends_a_night_after_the_bound():
    """Regression: the bound is on the first evening; the second climbs end the next day sooner."""
    instance = instance_of(two_evenings(11, 2))
    bound = lower_bound(instance, list(instance.plates))
    first, again = (
        best_board(instance, placements=600, seed=0, bound_s=bound.finish_s, retry=retry)
        for retry in (False, True)
    )

    assert first.finish_s > 3 * bound.finish_s
    assert again.finish_s < first.finish_s


def test_the_same_seed_gives_the_same_plan():
    """Trying again is counted work too."""
    case = two_evenings(14)

    one, other = (plan_weekend(case, effort=2, proof=2, seed=5) for _ in range(2))

    assert one == other
