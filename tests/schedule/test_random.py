"""Random weekends: every plan keeps the rules, and no bound is above a plan."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.schedule import solve
from planner.schedule.bound import lower_bound
from planner.schedule.check import check
from planner.schedule.instance import instance_of
from planner.schedule.solve import plan_weekend
from tests.schedule.exhaustive import earliest_finish
from tests.schedule.weekends import weekends

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

    if best_s is None:
        assert plan.unscheduled
        return
    instance = instance_of(problem)
    assert lower_bound(instance, instance.plates).finish_s <= best_s
    if not plan.unscheduled:
        assert (plan.finish - problem.start).total_seconds() >= best_s


@QUICK
@given(weekends())
def test_the_same_seed_gives_the_same_plan(problem):
    """Nothing depends on the clock or on the order of a set."""
    assert plan_weekend(problem, effort=1, seed=7) == plan_weekend(problem, effort=1, seed=7)
