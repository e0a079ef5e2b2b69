"""How reasons and sums are put into words."""

from dataclasses import replace
from datetime import UTC, timedelta

from hypothesis import given
from hypothesis import strategies as st

from planner.handover.spares import SpareAdvice
from planner.report.surely import told
from planner.report.words import by_material, finish, hands_on, merged, weekend_odds


def test_a_cause_is_told_once_with_its_widest_range():
    """Lowest of the lows, highest of the highs, wherever each was found."""
    reasons = ["flow: -2% to +3%", "flow: -1% to +7%", "corners: -5% to +4%", "flow: -2% to +3%"]

    assert merged(reasons) == ["flow: -2 % to +7 %", "corners: -5 % to +4 %"]


def test_a_cause_without_effect_is_left_out_and_a_plain_reason_stays():
    """Zero to zero says nothing, unless another part gives the same cause an effect."""
    assert merged(["flow: +0% to -0%", "from areas", "from areas"]) == ["from areas"]
    assert merged(["flow: +0% to +0%", "flow: +0% to +1%"]) == ["flow: +0 % to +1 %"]
    assert merged(["set to 3: halved and doubled"]) == ["set to 3: halved and doubled"]


@given(st.lists(st.tuples(st.sampled_from("ab"), st.integers(-99, 0), st.integers(0, 99))))
def test_merging_twice_changes_nothing(found):
    """What was merged is in the form that merging reads."""
    once = merged(f"{cause}: {low:+d}% to {high:+d}%" for cause, low, high in found)

    assert merged(once) == once
    assert len(once) <= 2


def test_one_material_is_not_told_twice():
    """A sum leads only where there is something to add up."""
    assert by_material({"pla": 96.0}) == "96 g pla"
    assert by_material({"petg": 363.0, "pla": 1050.0}) == "1.41 kg: 363 g petg, 1.05 kg pla"
    assert by_material({}) == "none"


def test_the_odds_of_a_weekend_are_told_with_what_may_upset_it(plan):
    """Shares that were not reached are left out; two standard errors stand beside the share."""
    said = weekend_odds(plan)

    assert plan.weekend.unscheduled
    assert said[0] == (
        "81 % (give or take 2 points) that every plate that is scheduled is good by the deadline"
    )
    assert said[1] == "done: 50 % by Sat 14:00, 80 % by Sun 09:00"
    assert said[2] == "the riskiest plate is P2: its failures cost 6 points"
    assert said[3] == "in 3 % no spool has enough for a reprint"


def test_a_plate_that_waits_for_somebody_is_told_with_its_finish(plan):
    """Printed at night and taken off in the morning: both moments; else one says it all."""
    weekend, (*visits, last) = plan.weekend, plan.weekend.visits
    at_once = replace(last, at=weekend.finish, take_off="P2", start=None)
    late = replace(at_once, at=weekend.finish + timedelta(hours=2, minutes=5))

    assert finish(replace(weekend, visits=(*visits, at_once)), UTC) == "Sat 28 Nov 13:40"
    said = finish(replace(weekend, visits=(*visits, late)), UTC)
    assert said == "Sat 28 Nov 13:40 (the last plate is taken off Sat 28 Nov 15:45)"


def test_an_empty_weekend_has_no_odds(plan):
    """Nothing is said where nothing is planned."""
    assert weekend_odds(replace(plan, weekend_odds=None)) == []


def test_one_point_is_one_and_all_plates_scheduled_are_every_plate(plan):
    """Of 10,000 lives 50 in a hundred come out: two standard errors are 1 point."""
    odds = replace(plan.weekend_odds, trials=10_000, by_deadline=0.5)
    sure = replace(plan, weekend_odds=odds, weekend=replace(plan.weekend, unscheduled=()))

    assert weekend_odds(sure)[0] == (
        "50 % (give or take 1 point) that every plate is good by the deadline"
    )


def test_plates_that_are_not_scheduled_are_what_costs_the_odds(plan):
    """Neither bad copies nor spares are to blame then; else the points are told."""
    advice = SpareAdvice(odds=0.0, odds_if_worth=0.0, rows=(), more_s=0.0, more_g=0.0)
    lacking = replace(plan, spares=advice)
    whole = replace(lacking, left_out=(), weekend=replace(plan.weekend, unscheduled=()))

    assert told(lacking)[0] == (
        "0 % that all is there by the deadline, with 3 copies on no plate and 1 plate not scheduled"
    )
    assert not any("points that are lost" in line for line in told(lacking))
    assert hands_on(lacking).endswith(" for the 3 plates scheduled")
    assert " for " not in hands_on(whole)
    assert any("points that are lost" in line for line in told(whole))
    assert told(whole)[-1] == "no spare copies: none would be worth its hours"
