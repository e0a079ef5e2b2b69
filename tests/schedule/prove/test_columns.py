"""Bounds from fractions of schedules: never above the optimum, and tight where done in the head."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.schedule.bound import heads_and_ends, lower_bound
from planner.schedule.instance import instance_of
from planner.schedule.prove.columns import Prover, column_bound
from planner.schedule.prove.grid import grid_of
from planner.schedule.prove.pricing import Pricing
from planner.schedule.starts import starts_of
from tests.schedule.exhaustive import earliest_finish
from tests.schedule.weekends import (
    blocked,
    identical_machines,
    plate,
    slot,
    weekend,
    weekends,
    window,
)

UNIT_S = 600
STEPS = 200_000
H = 3600.0
QUICK = settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))


def bound_s(problem, high_s: int, steps: int = STEPS) -> int:
    """Return the bound by columns alone, for all plates."""
    instance = instance_of(problem)
    starts = starts_of(instance)
    heads, _ = heads_and_ends(instance, starts)
    all_heads = {plate: heads[plate] for plate in instance.plates}
    return column_bound(instance, starts, all_heads, low_s=0, high_s=high_s, steps=steps)


def grid(problem, unit_s: int, until_s: int):
    """Return the grid of all plates of a weekend."""
    instance = instance_of(problem)
    starts = starts_of(instance)
    heads, _ = heads_and_ends(instance, starts)
    heads_s = {plate: heads[plate] for plate in instance.plates}
    return grid_of(instance, starts, heads_s, unit_s=unit_s, until_s=until_s)


@QUICK
@given(weekends(most_plates=3, generous=True), st.integers(1, 12))
def test_never_above_the_exhaustive_optimum(problem, slack):
    """Whatever the finish of the plan at hand, no bound is above the best of all plans."""
    problem = replace(
        problem, deadline=None, tasks=tuple(replace(task, gate=()) for task in problem.tasks)
    )
    best_s = earliest_finish(problem, UNIT_S, horizon=46)
    if best_s is None:
        return

    assert bound_s(problem, best_s + (slack - 1) * UNIT_S // 2) <= best_s


@QUICK
@given(
    weekends(most_plates=3, generous=True),
    st.sampled_from([7, 60, 250, 600]),
    st.lists(st.floats(0, 10), min_size=3, max_size=3),
    st.floats(0, 3),
)
def test_any_prices_on_any_grid_prove_nothing_false(problem, unit_s, prices, toll):
    """Weak duality: with prices out of the hat, too, what is proven is below the optimum."""
    problem = replace(
        problem, deadline=None, tasks=tuple(replace(task, gate=()) for task in problem.tasks)
    )
    best_s = earliest_finish(problem, UNIT_S, horizon=46)
    if best_s is None:
        return
    made = grid(problem, unit_s, best_s + UNIT_S)
    prover = Prover(made, -1)
    prover.prices = np.array(prices[: len(made.classes)])
    prover.tolls = np.full(len(made.crowds), toll)

    prover.take_round(made.cells)

    assert (prover.proven + 1) * unit_s <= best_s


@pytest.mark.parametrize(("price", "toll"), [(0.0, 3.0), (1e-9, 3.0), (1.0, 1e15)])
def test_tolls_beyond_all_worth_prove_nothing_false(price, toll):
    """Two printers, two plates each of 1 h, with hands for 10 min: all is done by 2:30."""
    problem = weekend(
        [plate(f"p{i}", {"a": H, "b": H}) for i in range(4)],
        machines={"a": True, "b": True},
        hands_on_s=600,
    )
    made = grid(problem, 60, 4 * 3600)
    prover = Prover(made, -1)
    prover.prices, prover.tolls = np.full(1, price), np.full(len(made.crowds), toll)

    prover.take_round(made.cells)

    assert (prover.proven + 1) * 60 <= 2.5 * H


@pytest.mark.parametrize("unit_s", [7, 30, 60, 90])
def test_rounding_never_lifts_a_bound(unit_s):
    """Three runs of 100 s in a row end at 300 s, on whatever grid; it proves nearly as much."""
    problem = weekend([plate(f"p{i}", {"a": 100.0}) for i in range(3)])
    prover = Prover(grid(problem, unit_s, 400), -1)

    prover.prove({}, 10_000)

    assert 3 * (100 - unit_s) <= (prover.proven + 1) * unit_s <= 300


@pytest.mark.parametrize("unit_s", [1, 30, 60, 90])
def test_rounding_never_lifts_what_hands_prove(unit_s):
    """Five printers, one person of 100 s each: the fifth starts at 400 s and runs to 600 s."""
    names = [f"m{i}" for i in range(5)]
    problem = weekend(
        [plate(f"p{i}", dict.fromkeys(names, 100.0)) for i in range(5)],
        machines=dict.fromkeys(names, True),
        hands_on_s=100,
    )
    prover = Prover(grid(problem, unit_s, 800), -1)

    prover.prove({}, 20_000)

    assert (prover.proven + 1) * unit_s <= 600
    if unit_s == 1:
        assert prover.proven + 1 == 600


def test_a_run_may_end_as_quiet_hours_begin_or_as_people_leave():
    """Two runs of 1 h, the second over at hour 2 sharp: nothing is proven beyond."""
    for alone in (True, False):
        quiet = [slot("a", unattended=alone, blocked=(blocked(2 * H, 5 * H),))]
        problem = weekend(
            [plate(name, {"a": H}) for name in "pq"],
            slots=quiet,
            attendance=[window(0, (20 if alone else 2) * H), window(20 * H, 30 * H)],
        )

        assert bound_s(problem, 10 * 3600) == pytest.approx(2 * H, abs=3)


@QUICK
@given(st.data())
def test_the_dearest_schedule_is_that_of_a_plain_recursion(data):
    """The arrays deal with many cells at a time; here one cell and one run are, by definition."""
    whole = st.integers(0, 9)
    lengths = data.draw(st.lists(st.integers(2, 9), min_size=1, max_size=4, unique=True))
    stays = [(0, data.draw(st.integers(1, 7))), (data.draw(st.integers(9, 15)), 19)]
    problem = weekend(
        [plate(f"p{n}", {"a": float(n)}) for n in lengths],
        attendance=[window(a, b) for a, b in stays],
    )
    last = 24
    prices = np.array([data.draw(whole) for _ in lengths], dtype=np.int64)
    tolls = np.array([data.draw(whole) for _ in range(last + 1)], dtype=np.int64)

    @cache
    def most(cell: int) -> int:
        best = most(cell - 1) if cell else 0
        for length, price in zip(lengths, prices.tolist(), strict=True):
            start = cell - length
            if any(a <= start <= b for a, b in stays):
                best = max(best, most(start) - int(tolls[start]) + price)
        return best

    pricing = Pricing(grid(problem, 1, last), 0)
    earned = pricing.earned(prices, tolls)
    column = pricing.trace(earned, prices, tolls, last)

    assert earned.tolist() == [most(cell) for cell in range(last + 1)]
    assert sum(int(prices[cls] - tolls[cell]) for cls, cell in column.runs) == earned[last]
    ends = [cell + lengths[cls] for cls, cell in column.runs]
    assert all(end <= cell for end, (_, cell) in zip(ends, column.runs[1:], strict=False))


def test_a_plate_that_misses_the_evening_ends_in_the_morning():
    """Of three plates of 36 min two start in the first hour, the third when it opens again.

    In fractions too: a printer that starts at 0 and 36 min has no more starts before the night.
    """
    problem = weekend(
        [plate(f"p{i}", {"a": 0.6 * H}) for i in range(3)],
        attendance=[window(0, H), window(10 * H, 12 * H)],
    )
    instance = instance_of(problem)

    assert lower_bound(instance, instance.plates).finish_s == pytest.approx(10.2 * H, abs=1)
    assert bound_s(problem, round(11 * H)) == pytest.approx(10.6 * H, abs=11 * H / 10_000)


def test_printers_that_start_one_after_the_other_are_seen():
    """Two plates of 1 h on two printers, one pair of hands of 10 min: the second ends at 1:20."""
    problem = weekend(
        [plate(name, {"a": H, "b": H}) for name in "pq"],
        machines={"a": True, "b": True},
        hands_on_s=600,
    )

    assert bound_s(problem, 2 * 3600) == pytest.approx(H + 1200, abs=1)


def test_quiet_hours_and_runs_that_need_somebody_are_seen():
    """A run of 2 h on a printer that rests from hour 1 to 5 starts at 5, if alone it may not."""
    quiet = [slot("a", blocked=(blocked(H, 5 * H),))]
    problem = weekend([plate("p", {"a": 2 * H})], slots=quiet, attendance=[window(0, 20 * H)])

    assert bound_s(problem, 10 * 3600) == pytest.approx(7 * H, abs=1)


def test_without_windows_the_bound_is_no_less_than_mcnaughtons():
    """Fractions of schedules of a machine without windows fill it: max(longest, total / m)."""
    times = [4, 5, 6, 7, 8]

    assert bound_s(identical_machines(times, 2), 16) == 15
    assert bound_s(identical_machines(times, 3), 11) >= 10


def test_the_coarse_grid_hands_its_prices_to_the_fine_one():
    """Many plates go the long way; the bound is the work, but for 2 s of rounding a run."""
    times = [600 + 7 * i for i in range(130)]
    problem = identical_machines(times, 10)

    work_s, most_runs = sum(times) / 10, 20_000 / min(times)
    assert work_s - 2 * most_runs <= bound_s(problem, 20_000) <= work_s + max(times)


def test_more_work_proves_no_less():
    """What was proven stays so."""
    problem = weekend(
        [plate(f"p{i}", {"a": (0.3 + 0.1 * i) * H, "b": H}) for i in range(8)],
        machines={"a": True, "b": True},
        attendance=[window(0, H), window(3 * H, 4 * H), window(6 * H, 7 * H)],
        hands_on_s=300,
    )
    found = [bound_s(problem, 10 * 3600, steps) for steps in (0, 5_000, 500_000)]

    assert found == sorted(found)
    assert found[0] < found[-1]
