"""The odds of a plan, against closed forms of probability."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import timedelta
from math import exp, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.schedule.check import check
from planner.schedule.instance import Instance
from planner.schedule.odds.attempts import OF_A_PLATE
from planner.schedule.odds.model import Rates
from planner.schedule.odds.reorder import surest_order
from planner.schedule.odds.simulate import odds_of_plan
from planner.schedule.solve import plan_weekend
from tests.schedule.test_calibration import some_weekend
from tests.schedule.weekends import at, plate, slot, spool, weekend, weekends, window

HOUR = 3600.0
TRIALS = 2000
SURE = Rates(first_layer=0.0, per_hour=0.0)


def odds(problem, *, rates=SURE, ranges=None, trials=TRIALS, seed=1):
    """Plan the weekend and simulate it."""
    plan = plan_weekend(problem, effort=1)
    found = odds_of_plan(
        problem, plan, ranges_s=ranges or {}, rates=rates, seed=seed, trials=trials
    )
    assert found is not None
    return plan, found


def sigmas(share: float, expected: float, trials: int = TRIALS) -> float:
    """Return how many standard errors a counted share is from the expected one."""
    return abs(share - expected) / sqrt(expected * (1 - expected) / trials)


def one_plate(hours: float, deadline_h: float, *, grams: float = 10, on_spool: float = 1000):
    """One plate on one printer, with somebody there all the time."""
    return weekend(
        [plate("A", {"m": hours * HOUR}, grams=grams)],
        attendance=[window(0, 1000 * HOUR)],
        spools=[spool("s", on_spool)],
        machines={"m": True},
        deadline_s=deadline_h * HOUR,
    )


def test_a_plan_without_anything_uncertain_comes_out_as_planned() -> None:
    plan, found = odds(one_plate(5, 6), trials=50)
    assert found.by_deadline == 1.0
    assert {when for _, when in found.done_by} == {plan.finish}
    assert found.reprints == 0.0


@pytest.mark.parametrize("per_hour", [0.02, 0.1])
def test_validation_one_run_survives_as_the_poisson_process_says(per_hour: float) -> None:
    """With time for one run only, P = (1 - p) exp(-rate t).

    S. M. Ross, Introduction to Probability Models, the Poisson process (from memory). Four
    standard errors are allowed.
    """
    rates = Rates(first_layer=0.05, per_hour=per_hour)
    _, found = odds(one_plate(5, 5.1), rates=rates)
    assert sigmas(found.by_deadline, 0.95 * exp(-5 * per_hour)) < 4


def test_validation_reprints_are_geometric() -> None:
    """Three tries have room: P = 1 - p^3, the geometric distribution.

    A failed first layer costs a sixth of an hour, and there is time for two of them.
    """
    rates = Rates(first_layer=0.4, per_hour=0.0, first_layer_s=600)
    _, found = odds(one_plate(5, 5.4), rates=rates)
    assert sigmas(found.by_deadline, 1 - 0.4**3) < 4
    assert found.short_of_filament == 0.0


def test_validation_quantiles_of_the_triangular_distribution() -> None:
    """The quantile of a symmetric triangle over (-1, 1) is 1 - sqrt(2 (1 - q)) for q >= 1/2.

    The standard error of a quantile is sqrt(q (1 - q) / n) over the density there.
    """
    ranges = {"A": {"m": (8 * HOUR, 12 * HOUR)}}
    problem = one_plate(10, 100)
    _, found = odds(problem, ranges=ranges)
    for q, when in found.done_by:
        leaning = 1 - sqrt(2 * (1 - q))
        density = (1 - leaning) / (2 * HOUR)
        assert when is not None
        error_s = (when - at((10 + 2 * leaning) * HOUR)).total_seconds()
        assert abs(error_s) < 4 * sqrt(q * (1 - q) / TRIALS) / density


def test_what_is_unknown_of_a_printer_moves_all_its_plates_alike() -> None:
    """Two plates in a row spread twice as far as one, not sqrt(2) times."""
    both = weekend(
        [plate("A", {"m": 10 * HOUR}), plate("B", {"m": 10 * HOUR})],
        machines={"m": True},
        attendance=[window(0, 1000 * HOUR)],
        spools=[spool("s", 1000)],
    )
    bracket = {"m": (8 * HOUR, 12 * HOUR)}
    plan, found = odds(both, ranges={"A": bracket, "B": bracket})
    late_h = (dict(found.done_by)[0.95] - plan.finish).total_seconds() / HOUR
    q95 = 1 - sqrt(2 * 0.05)
    tolerance = 4 * sqrt(0.95 * 0.05 / TRIALS) / ((1 - q95) / 4)
    assert late_h == pytest.approx(4 * q95, abs=tolerance)


def test_a_failure_at_night_is_seen_in_the_morning() -> None:
    """The printer fails while nobody is there: the reprint begins when somebody comes."""
    problem = weekend(
        [plate("A", {"m": 10 * HOUR})],
        machines={"m": True},
        attendance=[window(0, HOUR), window(14 * HOUR, 15 * HOUR), window(30 * HOUR, 40 * HOUR)],
        spools=[spool("s", 1000)],
    )
    _, found = odds(problem, rates=Rates(first_layer=0.3, per_hour=0.0, first_layer_s=2 * HOUR))
    # 30 % fail once: seen at 14 h, and ten hours more; 9 % again at 16 h: seen at 30 h.
    assert dict(found.done_by) == {
        0.5: at(10 * HOUR),
        0.8: at(24 * HOUR),
        0.95: at(40 * HOUR),
    }


def test_a_reprint_that_no_spool_can_feed_is_counted() -> None:
    """50 g of 55 g are planned; what fails after a tenth or more cannot be printed again."""
    rates = Rates(first_layer=0.3, per_hour=0.0, first_layer_s=HOUR)
    _, found = odds(one_plate(5, 100, grams=50, on_spool=55), rates=rates)
    assert sigmas(found.short_of_filament, 0.3) < 4
    assert found.by_deadline == pytest.approx(1 - found.short_of_filament)


@pytest.mark.parametrize("changes_over", [True, False])
def test_a_plate_that_two_spools_feed_keeps_its_turn(changes_over) -> None:
    """A night's plate that needs both spools is not passed by a short one with enough on either."""
    problem = weekend(
        [plate("night", {"a": 10 * HOUR}, grams=150), plate("short", {"a": HOUR}, grams=50)],
        slots=[slot("a", changes_over=changes_over)],
        attendance=[window(0, HOUR / 2), window(6 * HOUR, 7 * HOUR), window(10 * HOUR, 13 * HOUR)],
        spools=[spool("s", 100), spool("t", 100)],
    )

    plan, found = odds(problem, trials=20)

    assert plan.runs[0].second_spool is not None
    assert {when for _, when in found.done_by} == {plan.finish}


def test_a_plate_that_nobody_can_change_spools_for_is_not_short_of_filament() -> None:
    """Somebody is there to change at the planned time; mostly it comes later in life."""
    problem = weekend(
        [plate("p", {"a": HOUR}, grams=150)],
        slots=[slot("a")],
        attendance=[window(0, HOUR)],
        spools=[spool("s", 100), spool("t", 100)],
    )
    slow = {"p": {"a": (HOUR, 4 * HOUR)}}

    _, found = odds(problem, ranges=slow, trials=200)

    assert 0.0 < found.by_deadline < 1.0
    assert found.short_of_filament == 0.0


def test_what_waits_for_a_first_article_waits_for_its_reprint() -> None:
    problem = weekend(
        [plate("F", {"m": HOUR}), plate("P", {"m": HOUR, "n": HOUR}, gate=("F",))],
        machines={"m": False, "n": False},
        attendance=[window(0, 1000 * HOUR)],
        spools=[spool("s", 1000), spool("t", 1000)],
        deadline_s=2.01 * HOUR,
    )
    _, found = odds(problem, rates=Rates(first_layer=0.2, per_hour=0.0, first_layer_s=600))
    assert sigmas(found.by_deadline, 0.8**2) < 4


def test_the_riskiest_plate_is_the_long_one_before_the_deadline() -> None:
    problem = weekend(
        [plate("long", {"m": 9 * HOUR}), plate("short", {"n": HOUR})],
        machines={"m": False, "n": False},
        attendance=[window(0, 1000 * HOUR)],
        spools=[spool("s", 1000), spool("t", 1000)],
        deadline_s=10 * HOUR,
    )
    _, found = odds(problem, rates=Rates(first_layer=0.0, per_hour=0.05))
    first, second = found.risks
    assert first.plate == "long"
    assert first.late_by_it > 10 * second.late_by_it
    assert sigmas(first.fails, 1 - exp(-0.45)) < 4


@given(weekends())
@settings(max_examples=25)
def test_any_weekend_has_odds_between_0_and_1(problem) -> None:
    plan = plan_weekend(problem, effort=1)
    found = odds_of_plan(
        problem, plan, ranges_s={}, rates=Rates(first_layer=0.2, per_hour=0.05), trials=10
    )
    if found is None:
        assert not plan.runs
        return
    assert 0.0 <= found.by_deadline <= 1.0
    certain = odds_of_plan(problem, plan, ranges_s={}, rates=SURE, trials=1)
    assert certain is not None
    if problem.deadline is not None and plan.finish <= problem.deadline:
        assert certain.by_deadline == 1.0


def test_the_same_seed_gives_the_same_odds() -> None:
    problem = one_plate(5, 6)
    rates = Rates(first_layer=0.1, per_hour=0.05)
    assert odds(problem, rates=rates)[1] == odds(problem, rates=rates)[1]
    assert odds(problem, rates=rates)[1] != odds(problem, rates=rates, seed=2)[1]


def test_a_failure_is_charged_to_the_plate_without_which_it_was_in_time() -> None:
    """One plate and room for one try: all the odds that are lost are lost by its failures."""
    _, found = odds(one_plate(5, 5.1), rates=Rates(first_layer=0.1, per_hour=0.02))
    (risk,) = found.risks
    assert risk.late_by_it == pytest.approx(1 - found.by_deadline)
    assert found.if_none_failed == 1.0


def test_hours_that_vary_are_charged_to_nobody() -> None:
    ranges = {"A": {"m": (8 * HOUR, 12 * HOUR)}}
    _, found = odds(one_plate(10, 10), ranges=ranges)
    assert sigmas(found.by_deadline, 0.5) < 4
    assert found.if_none_failed == found.by_deadline
    assert found.risks[0].late_by_it == 0.0


@given(weekends(most_plates=5), st.floats(0, 0.5), st.floats(0, 0.3), st.floats(0, 0.3))
@settings(max_examples=25)
def test_higher_rates_never_raise_the_odds_of_one_printer(problem, first, per_hour, more) -> None:
    """The luck is the same, so whatever failed fails again; with one printer nothing gains."""
    one = replace(
        problem,
        machines=problem.machines[:1],
        tasks=tuple(
            replace(task, seconds=task.seconds[:1], gate=(), sets=())
            for task in problem.tasks
            if task.seconds and task.seconds[0][0] == problem.machines[0].id
        ),
        attendance=tuple(w for w in problem.attendance if w.who == "ada"),
        spools=tuple(spool(f"s{i}", 1e6, colour=c) for i, c in enumerate(("grey", "black"))),
        sets=(),
        sets_lost=(),
    )
    plan = plan_weekend(one, effort=1)
    found = [
        odds_of_plan(one, plan, ranges_s={}, rates=rates, trials=20)
        for rates in (
            Rates(first_layer=first, per_hour=per_hour, first_layer_s=600),
            Rates(first_layer=first, per_hour=per_hour + more, first_layer_s=600),
        )
    ]
    if found[0] is not None and found[1] is not None:
        assert found[1].by_deadline <= found[0].by_deadline


@given(weekends(generous=True))
@settings(max_examples=15)
def test_surer_takes_longer(problem) -> None:
    plan = plan_weekend(problem, effort=1)
    found = odds_of_plan(
        problem, plan, ranges_s={}, rates=Rates(first_layer=0.1, per_hour=0.1), trials=30
    )
    if found is not None:
        hours = [when for _, when in found.done_by]
        known = [when for when in hours if when is not None]
        assert known == sorted(known)
        assert hours[: len(known)] == known  # once not sure enough, never sure enough


def test_every_field_of_an_instance_is_of_a_plate_or_of_the_weekend() -> None:
    """Tries are plates of their own: whoever adds a field per plate has to add it here too."""
    of_the_weekend = {
        *("gates_first", "kinds", "spool_milligrams", "spool_ready_s", "spool_alike", "sets"),
        *("who", "people", "presence", "hands", "hands_on_s", "late_after_s", "latest_end_s"),
    }
    assert {field.name for field in fields(Instance)} == of_the_weekend | set(OF_A_PLATE)


@pytest.mark.parametrize("seed", [1])
def test_a_surer_order_is_surer_on_weekends_that_it_was_not_chosen_by(seed: int) -> None:
    problem, ranges = some_weekend(seed)
    plan = plan_weekend(problem, effort=1, seed=seed)
    assert plan.finish is not None
    problem = replace(problem, deadline=plan.finish + timedelta(hours=2))
    rates = Rates(first_layer=0.04, per_hour=0.01)
    surer = surest_order(
        problem, plan, ranges_s=ranges, rates=rates, wanted=0.9, placements=30_000, seed=7
    )
    share = [
        odds_of_plan(problem, each, ranges_s=ranges, rates=rates, seed=99, trials=500)
        for each in (plan, surer)
    ]
    assert share[0] is not None
    assert share[1] is not None
    assert check(problem, surer) == ()
    # Two standard errors of the difference of 500 lives each: 6 points at the most.
    assert share[1].by_deadline >= share[0].by_deadline - 0.06
