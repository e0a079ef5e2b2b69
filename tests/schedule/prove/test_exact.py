"""The constraint model: optima confirmed by trying everything, and never a false proof."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import HealthCheck, given, settings

from planner.schedule import solve
from planner.schedule.bound import heads_and_ends
from planner.schedule.check import check
from planner.schedule.instance import instance_of
from planner.schedule.prove.exact import is_small, solve_exactly
from planner.schedule.search import best_board
from planner.schedule.solve import plan_weekend
from planner.schedule.starts import starts_of
from tests.schedule.exhaustive import earliest_finish
from tests.schedule.weekends import identical_machines, plate, weekend, weekends, window

UNIT_S = 600
PROOF = 100
H = 3600
STAYS = [(0, 3 * H), (8 * H, 10 * H), (12 * H, 17 * H), (30 * H, 60 * H)]


def seconds(problem, moment) -> int:
    return round((moment - problem.start).total_seconds())


def best_of_all_orders(runs_s: list[int], machines: int, hands_on_s: int) -> int:
    """Return the earliest finish on printers alike with one person, by every order of starts.

    In the order of its starts the best plan can be moved to the earliest start of each plate:
    on the printer that is free first, the hands-on time after the start before, in a stay.
    """
    best = 10**9
    for order in permutations(runs_s):
        free, hands = [0] * machines, 0
        for run_s in order:
            free.sort()
            start = max(free[0], hands)
            start = next(max(start, a) for a, b in STAYS if max(start, a) + hands_on_s <= b)
            free[0], hands = start + run_s, start + hands_on_s
            if free[0] >= best:
                break
        best = min(best, max(free))
    return best


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("machines", "hands_on_s"), [(1, 300), (2, 0), (2, 600), (3, 900)])
def test_finds_and_proves_the_best_of_all_orders(monkeypatch, seed, machines, hands_on_s):
    """Six or seven plates with windows and a person: finish and bound both are the optimum."""
    monkeypatch.setattr(solve, "PLACEMENTS", 2_000)
    rng = random.Random(seed)
    runs_s = [rng.randrange(1800, 5 * H, 300) for _ in range(6 + seed // 5)]
    names = [f"m{i}" for i in range(machines)]
    problem = weekend(
        [plate(f"p{j}", dict.fromkeys(names, float(s))) for j, s in enumerate(runs_s)],
        machines=dict.fromkeys(names, True),
        attendance=[window(a, b) for a, b in STAYS],
        hands_on_s=hands_on_s,
    )
    plan = plan_weekend(problem, effort=1, proof=PROOF)

    best_s = best_of_all_orders([s + hands_on_s for s in runs_s], machines, hands_on_s)
    assert seconds(problem, plan.lower_bound) == best_s
    assert seconds(problem, plan.finish) == best_s


def modelled_s(problem) -> int:
    """Return what the model alone proves of a weekend, from the list's plan on."""
    instance = instance_of(problem)
    starts = starts_of(instance)
    heads, _ = heads_and_ends(instance, starts)
    by_list = best_board(instance, placements=0, seed=0, bound_s=0)
    heads_s = dict(zip(instance.plates, heads, strict=True))
    return solve_exactly(instance, starts, heads_s, by_list, low_s=0, work=1.0, seed=0).finish_s


def test_the_model_knows_printers_that_must_not_run_alone():
    """Two runs of 2 h: the second does not fit before hour 3 and waits for hour 8."""
    problem = weekend(
        [plate(name, {"a": 2.0 * H}) for name in "pq"],
        machines={"a": False},
        attendance=[window(a, b) for a, b in STAYS],
    )

    assert modelled_s(problem) == 10 * H


def test_the_model_knows_hands():
    """Three printers, a person of 15 min each: the third starts at 30 min, for 1 h 15."""
    names = ["a", "b", "c"]
    problem = weekend(
        [plate(f"p{j}", dict.fromkeys(names, float(H))) for j in range(3)],
        machines=dict.fromkeys(names, True),
        hands_on_s=900,
    )

    assert modelled_s(problem) == 2 * 900 + 900 + H


def test_the_model_knows_gates():
    """The second plate waits for the first, and its check of 20 min after it is taken off."""
    problem = weekend(
        [
            plate("p", {"a": float(H), "b": float(H)}),
            plate("q", {"a": float(H), "b": float(H)}, gate=("p",), check_s=1200.0),
        ],
        machines={"a": True, "b": True},
        hands_on_s=600,
    )

    assert modelled_s(problem) == (600 + H) + 600 + 1200 + (600 + H)


@settings(deadline=None, max_examples=20, suppress_health_check=list(HealthCheck))
@given(weekends(most_plates=3, generous=True))
def test_proves_nothing_false(problem):
    """With every rule in play no proof is above the exhaustive optimum, and plans keep rules."""
    problem = replace(
        problem, deadline=None, tasks=tuple(replace(task, gate=()) for task in problem.tasks)
    )
    plan = plan_weekend(problem, effort=1, proof=5)
    best_s = earliest_finish(problem, UNIT_S, horizon=46)

    assert check(problem, plan) == ()
    if best_s is not None and not plan.unscheduled:
        assert seconds(problem, plan.lower_bound) <= best_s


@settings(deadline=None, max_examples=12, suppress_health_check=list(HealthCheck))
@given(weekends())
def test_proving_leaves_no_plate_out_and_lowers_no_bound(problem):
    """Gates, deadlines, sets and scarce spools included; the bound only rises."""
    before = plan_weekend(problem, effort=1)
    after = plan_weekend(problem, effort=1, proof=3)

    assert check(problem, after) == ()
    assert len(after.unscheduled) <= len(before.unscheduled)
    if before.finish and len(after.unscheduled) == len(before.unscheduled):
        assert before.lower_bound <= after.lower_bound


def test_the_same_work_gives_the_same_plan():
    """Deterministic work, no clock: twice the same, bounds and words included."""
    rng = random.Random(3)
    names = ["a", "b", "c"]
    problem = weekend(
        [plate(f"p{j}", dict.fromkeys(names, rng.uniform(H, 5 * H))) for j in range(15)],
        machines=dict.fromkeys(names, True),
        attendance=[window(a, b) for a, b in STAYS],
        hands_on_s=300,
    )

    once, again = (plan_weekend(problem, effort=1, proof=20, seed=2) for _ in range(2))

    assert once == again


def test_large_weekends_do_without_the_model():
    """Forty plates on three printers are few enough, on eight they are not."""
    few = instance_of(identical_machines(list(range(60, 100)), 3))
    many = instance_of(identical_machines(list(range(60, 100)), 8))

    assert is_small(few, few.plates)
    assert not is_small(many, many.plates)
