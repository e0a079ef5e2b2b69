"""Random weekends: every plan keeps the rules, and no bound is above a plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.schedule import solve
from planner.schedule.board import ANY, Board
from planner.schedule.bound import lower_bound
from planner.schedule.check import check
from planner.schedule.instance import instance_of
from planner.schedule.search import _calm_until_s
from planner.schedule.solve import plan_weekend
from planner.schedule.visits import visits_of
from tests.schedule.exhaustive import best_value, earliest_finish
from tests.schedule.weekends import lean_weekends, weekends

UNIT_S = 600
QUICK = settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))


@pytest.fixture(autouse=True)
def _little_search(monkeypatch):
    """Rules and bounds hold after little search as well as after much."""
    monkeypatch.setattr(solve, "PLACEMENTS", 500)


@QUICK
@given(weekends(), st.integers(0, 3))
def test_every_plan_keeps_the_rules(problem, seed):
    """`plan_weekend` raises if its own check fails; here the check is asked once more."""
    plan = plan_weekend(problem, effort=1, seed=seed)

    assert check(problem, plan) == ()


@QUICK
@given(lean_weekends(), st.integers(0, 3))
def test_plans_from_nearly_empty_spools_keep_the_rules(problem, seed):
    """Here many plates are fed from two spools."""
    assert check(problem, plan_weekend(problem, effort=1, seed=seed)) == ()


@QUICK
@given(st.one_of(weekends(), lean_weekends()), st.randoms(use_true_random=False))
def test_hands_are_booked_as_a_plain_list_of_visits_says(problem, random):
    """Every visit fits: hands-on times of one person do not overlap, and none can be earlier.

    The board keeps the moments that are still open; here they come from the visits themselves,
    asked on a grid of time (changes of spools fall between its lines).
    """
    board = filled(problem, random)
    hands_on_s = board.instance.hands_on_s
    visits = visits_of(problem, board)

    for person, who in enumerate(board.instance.who):
        busy = [(v.at - problem.start).total_seconds() for v in visits if v.who == who]
        moments = {
            second
            for begin, end in board.instance.people[person]
            for second in range(begin, end - hands_on_s + 1, UNIT_S)
            if all(abs(second - other) >= hands_on_s for other in busy)
        }
        still_open = {
            second
            for begin, end in zip(board.opens[person], board.closes[person], strict=True)
            for second in range(-(-begin // UNIT_S) * UNIT_S, end + 1, UNIT_S)
        }
        assert still_open == moments


@QUICK
@given(lean_weekends(), st.randoms(use_true_random=False))
def test_spools_that_are_put_on_are_counted(problem, random):
    """Each that the printer has not held since its last run; counted here run by run."""
    board = filled(problem, random)
    begins = sorted(
        (s, m, j) for j, (s, m) in enumerate(zip(board.start, board.machine, strict=True))
    )
    on: dict[int, int] = {}
    put_on = 0
    for start, machine, plate in begins:
        if start < 0:
            continue
        spools = [board.spool[plate]]
        if plate in board.second:
            spools.append(board.second[plate].spool)
        for spool in spools:
            put_on += on.get(machine) != spool
            on = {m: s for m, s in on.items() if s != spool} | {machine: spool}

    assert board.changes == put_on


@QUICK
@given(weekends(), st.randoms(use_true_random=False))
def test_the_short_cut_past_the_last_visits_is_safe(problem, random):
    """Where the finish is early enough by the rule of thumb, every plate is taken off."""
    board = filled(problem, random)

    if board.finish_s <= _calm_until_s(board.instance):
        assert board.take_off_last() == ()


def filled(problem, random) -> Board:
    """Return a board filled in a random order."""
    instance = instance_of(problem)
    board = Board(instance, keep_spool=random.random() < 0.5)
    board.fill(random.sample(instance.plates, len(instance.plates)), [ANY] * len(instance.plates))
    board.take_off_last()
    return board


@QUICK
@given(weekends(most_plates=3, generous=True))
def test_bound_and_plan_lie_on_either_side_of_the_exhaustive_optimum(problem):
    """Bound <= best of all plans on the grid <= the plan, if all plates can be printed."""
    problem = replace(
        problem,
        deadline=None,
        tasks=tuple(replace(task, gate=()) for task in problem.tasks),
    )
    best_s = earliest_finish(problem, UNIT_S, horizon=46)
    plan = plan_weekend(problem, effort=1)
    if any(run.second_spool for run in plan.runs):
        return  # the exhaustive search knows of one spool per plate

    if best_s is None:
        assert plan.unscheduled
        return
    instance = instance_of(problem)
    assert lower_bound(instance, instance.plates).finish_s <= best_s
    if not plan.unscheduled:
        assert (plan.finish - problem.start).total_seconds() >= best_s


@QUICK
@given(weekends(most_plates=3, generous=True))
def test_no_plan_completes_more_than_the_exhaustive_best(problem):
    """The value told is at most that of the best choice of sets that can be done in time."""
    problem = replace(
        problem,
        deadline=problem.start + timedelta(seconds=20 * UNIT_S),
        tasks=tuple(replace(task, gate=()) for task in problem.tasks),
    )
    values = dict(problem.sets)
    plan = plan_weekend(problem, effort=1)
    if any(run.second_spool for run in plan.runs):
        return  # as above

    assert sum(values[name] for name in plan.sets_done) <= best_value(problem, UNIT_S, horizon=46)


@QUICK
@given(weekends())
def test_the_same_seed_gives_the_same_plan(problem):
    """Nothing depends on the clock or on the order of a set."""
    assert plan_weekend(problem, effort=1, seed=7) == plan_weekend(problem, effort=1, seed=7)
