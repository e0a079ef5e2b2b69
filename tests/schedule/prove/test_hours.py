"""Hours filled one printer after the other: every plate once, and a night earlier than by lists."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings

from planner.schedule.board import ANY, Board
from planner.schedule.bound import lower_bound
from planner.schedule.instance import instance_of
from planner.schedule.prove.hours import filled_hours
from planner.schedule.search import best_board
from planner.schedule.solve import plan_weekend
from tests.schedule.weekends import plate, spool, weekend, weekends, window

H = 3600.0


def many(hands_on_s: float, seed: int = 1):
    """Return 150 plates for 15 printers, whose work nearly fills a day and a half."""
    rng = random.Random(seed)
    names = [f"m{i}" for i in range(15)]
    plates = [plate(f"p{j}", dict.fromkeys(names, rng.uniform(0.5, 4.6) * H)) for j in range(150)]
    return weekend(
        plates,
        machines=dict.fromkeys(names, True),
        attendance=[window(a * H, b * H) for a, b in [(0, 5), (14, 18), (20, 29), (39, 50)]],
        spools=[spool(f"s{i}", 1e6) for i in range(15)],
        hands_on_s=hands_on_s,
    )


@pytest.mark.parametrize("hands_on_s", [0, 60])
def test_many_plates_are_done_before_the_night_that_lists_run_into(hands_on_s):
    """The classical orders have plates left for Sunday, 39 h; filled hours end before."""
    problem = many(hands_on_s)
    instance = instance_of(problem)
    by_list = best_board(instance, placements=0, seed=0, bound_s=0)
    assert by_list.finish_s > 39 * H

    plan = plan_weekend(problem, effort=1, proof=20)

    assert not plan.unscheduled
    assert plan.lower_bound <= plan.finish
    assert (plan.finish - problem.start).total_seconds() < 39 * H


def test_without_proof_nothing_of_it_is_done():
    """Small efforts stay small: the plan is that of the search alone."""
    problem = many(60)
    instance = instance_of(problem)
    goal = lower_bound(instance, instance.plates)
    alone = best_board(
        instance, placements=0, seed=0, bound_s=goal.finish_s, advice=goal.advice
    ).finish_s

    plan = plan_weekend(problem, effort=0)

    assert (plan.finish - problem.start).total_seconds() == alone


@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
@given(weekends())
def test_what_is_found_is_every_plate_once_and_ends_sooner(problem):
    """With every rule in play the decoder makes of it a plan that ends before the one at hand."""
    instance = instance_of(problem)
    by_list = best_board(instance, placements=0, seed=0, bound_s=0)
    plates = [plate for plate in instance.plates if by_list.end[plate] >= 0]
    if not plates:
        return
    low_s = lower_bound(instance, plates).finish_s

    choice = filled_hours(
        instance, plates, low_s=low_s, high_s=by_list.finish_s + 3600, steps=100_000
    )

    if choice:
        assert sorted(plate for plate, _ in choice) == plates
        kinds = [ANY] * len(instance.options)
        for own, kind in choice:
            kinds[own] = kind
        board = Board(instance, keep_spool=True)
        board.fill([own for own, _ in choice], kinds)
        assert max(board.end[own] for own in plates) < by_list.finish_s + 3600
        assert max(board.end[own] for own in plates) >= low_s
