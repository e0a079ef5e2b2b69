"""Odds held against weekends that another simulation lives: what is stated comes true.

Both sides are counted over 2,000 weekends of each of four jobs, on draws of their own. A
share q counted twice differs by chance by sqrt(2 q (1 - q) / 2000): 1.6 points at 50 %, 1.3
at 80 %, 0.7 at 95 %; the mean over four jobs by 0.8, 0.6 and 0.3. So 2 points for the mean
are two and a half of these at 50 %, and a single job gets four. The seeds are fixed.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import sqrt

import numpy as np
import pytest

from planner.schedule.odds.count import odds_of
from planner.schedule.odds.model import Rates
from planner.schedule.odds.simulate import live, odds_of_plan
from planner.schedule.solve import plan_weekend
from tests.schedule.lived import Life
from tests.schedule.weekends import at, plate, spool, weekend, window

HOUR = 3600.0
TRIALS = 2000
RATES = Rates(first_layer=0.02, per_hour=0.004)
JOBS = 4


def some_weekend(seed: int):
    """Return a weekend of 12 to 20 plates on 2 to 4 printers, and the ranges of their hours."""
    random = np.random.default_rng(seed)
    machines = dict(list({"a": True, "b": True, "c": False, "d": True}.items())[: 2 + seed % 3])
    slower = {"a": 1.0, "b": 1.0, "c": 0.8, "d": 1.3}  # a and b are alike
    names = [f"P{i}" for i in range(12 + 2 * (seed % 5))]
    plates, ranges = [], {}
    for i, name in enumerate(["F", *names]):
        hours = 1.0 if name == "F" else float(random.choice([0.7, 1.5, 2.5, 4, 6, 9]))
        seconds = {m: hours * slower[m] * HOUR for m in machines if m != "c" or hours < 5}
        gate = ("F",) if 0 < i < 5 else ()
        plates.append(plate(name, seconds, grams=10 * hours, gate=gate, check_s=1200.0))
        ranges[name] = {m: (0.92 * s, 1.13 * s) for m, s in seconds.items()}
    days = [0, 14.5, 38.5, 62.5, 86.5]
    there = [window(day * HOUR, (day + (5 if day == 0 else 13)) * HOUR) for day in days]
    there += [window(20 * HOUR, 24 * HOUR, "bo"), window(40 * HOUR, 47 * HOUR, "bo")]
    found = weekend(
        plates,
        machines=machines,
        attendance=there,
        spools=[spool(f"s{m}", 600.0) for m in machines],
        hands_on_s=480.0,
        deadline_s=(38.5 + 13) * HOUR,
    )
    return found, ranges


def lives(problem, plan, ranges, seed):
    """Return the finishes of the trials of the other simulation, in seconds, sorted."""
    random = np.random.default_rng(1000 + seed)
    return np.sort(
        [
            Life(problem, plan, ranges, RATES.first_layer, RATES.per_hour, random).finish()
            for _ in range(TRIALS)
        ]
    )


@pytest.fixture(scope="module")
def counted():
    """Return per stated share the shares in which it came true, one for each job."""
    found: dict[float | str, list[float]] = {}
    for seed in range(JOBS):
        problem, ranges = some_weekend(seed)
        plan = plan_weekend(problem, effort=1, seed=seed)
        assert plan.finish is not None
        assert not plan.unscheduled
        problem = replace(problem, deadline=plan.finish + timedelta(hours=1))
        draws = {"rates": RATES, "seed": seed, "trials": TRIALS}
        lived = live(problem, plan, ranges_s=ranges, **draws, ask_why=False)
        assert lived is not None
        odds = odds_of(lived)
        ends = lives(problem, plan, ranges, seed)
        for share, when in odds.done_by:
            assert when is not None
            true = float(np.mean(ends <= (when - at(0)).total_seconds()))
            found.setdefault(share, []).append(true)
        due = float(np.mean(ends <= (problem.deadline - at(0)).total_seconds()))
        found.setdefault("by deadline", []).append(due - odds.by_deadline)
    return found


def chance(share: float) -> float:
    """Return the standard error of the difference of a share counted twice."""
    return sqrt(2 * share * (1 - share) / TRIALS)


@pytest.mark.parametrize("share", [0.5, 0.8, 0.95])
def test_stated_hours_come_true(counted, share):
    """The hour by which it is 50, 80, 95 % sure: so many weekends are done by then."""
    errors = [true - share for true in counted[share]]

    assert abs(np.mean(errors)) < 0.02, errors
    assert max(abs(error) for error in errors) < 4 * chance(share), errors


def test_the_odds_by_the_deadline_come_true(counted):
    """The deadline is an hour after the planned finish, where the odds are in doubt."""
    errors = counted["by deadline"]

    assert abs(np.mean(errors)) < 0.02, errors
    assert max(abs(error) for error in errors) < 4 * chance(0.5), errors


def test_without_failures_both_simulations_end_at_the_same_second():
    """Nothing is left to chance then, and the policy is the same, written twice."""
    sure = Rates(first_layer=0.0, per_hour=0.0)
    for seed in range(2 * JOBS):
        problem, _ = some_weekend(seed)
        plan = plan_weekend(problem, effort=1, seed=seed)
        odds = odds_of_plan(problem, plan, ranges_s={}, rates=sure, trials=1)
        life = Life(problem, plan, {}, 0.0, 1e-12, np.random.default_rng(0))
        assert odds is not None
        (_, when), *_ = odds.done_by
        assert when is not None
        # Whole seconds on one side, fractions on the other: one per plate in a row at most.
        assert abs((when - at(0)).total_seconds() - life.finish()) < len(plan.runs)
