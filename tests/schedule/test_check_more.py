"""The checker goes red on the rules of rests, second spools, drying and sets."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.schedule.check import check
from planner.schedule.solve import plan_weekend
from tests.schedule.test_check import moved, named, runs, visits
from tests.schedule.weekends import at, blocked, plate, slot, spool, weekend, window

HOUR = timedelta(hours=1)
H = 3600.0

PROBLEM = weekend(
    [
        plate("by hand", {"a": 3 * H}, grams=300, colour="grey", sets=("done",)),
        plate("itself", {"b": 3 * H}, grams=150, colour="black", sets=("done",)),
        plate("dry", {"a": 2 * H}, grams=50, material="petg", priority=1),
        plate("late", {"b": 2 * H}, grams=10, colour="blue", priority=2),
        plate("huge", {"a": H}, grams=5000, sets=("missed",)),
    ],
    slots=[
        slot("a", blocked=(blocked(4 * H, 6 * H, "quiet hours"),)),
        slot("b", blocked=(blocked(4 * H, 6 * H),), cool_down_s=600.0, changes_over=True),
    ],
    spools=[
        spool("grey 1", 150),
        spool("grey 2", 200),
        spool("black 1", 100, colour="black"),
        spool("black 2", 100, colour="black"),
        spool("blue", 100, colour="blue"),
        spool("petg", 99, "petg", drying_s=2 * H),
    ],
    attendance=[window(0, 12 * H, "ada"), window(20 * H, 21 * H, "ada")],
    hands_on_s=480,
    deadline_s=11 * H,
    sets={"done": 5.0, "missed": 3.0},
)


@pytest.fixture(scope="module")
def plan():
    return plan_weekend(PROBLEM, effort=1)


def test_the_plan_before_corruption_keeps_the_rules(plan):
    """And it is rich enough: a change by hand, one by itself, a rest waited for, a dry spool."""
    assert check(PROBLEM, plan) == ()
    assert named(plan, "by hand").second_spool == "grey 2"
    assert named(plan, "itself").second_spool == "black 2"
    assert named(plan, "late").start >= at(6 * H)
    assert named(plan, "dry").start >= at(6 * H)
    assert (plan.sets_done, [name for name, _ in plan.sets_missed]) == (("done",), ["missed"])
    assert [visit.feeds for visit in plan.visits if visit.feeds] == ["by hand"]
    assert [visit.second_spool for visit in plan.visits if visit.second_spool] == ["black 2"]


def test_a_spool_that_fed_many_plates_is_at_its_end_but_for_rounding():
    """Each plate is counted to the next milligram, so five of 10.0001 g seem to leave nothing."""
    many = [plate(f"small {n}", {"a": H / 4}, grams=10.0001, priority=-1) for n in range(5)]
    problem = weekend(
        [*many, plate("large", {"a": H}, grams=64.0)],
        slots=[slot("a", changes_over=True)],
        spools=[spool("begun", 60), spool("next", 55)],
        attendance=[window(0, 12 * H, "ada")],
        hands_on_s=0,
    )
    made = plan_weekend(problem, effort=1)

    large = named(made, "large")
    assert large.second_spool is not None
    assert dict(made.spool_left_g)[large.spool] > 2e-3
    assert check(problem, made) == ()


def run(name, **changes):
    """Return a corruption of one run."""
    return lambda p: runs(p, lambda r: r.plate == name, **changes)


def change_visit(**changes):
    """Return a corruption of the visit at which a person changes spools."""
    return lambda p: visits(p, lambda v: v.feeds == "by hand", **changes)


def first_visit(name, **changes):
    """Return a corruption of the visit that starts a plate."""
    return lambda p: visits(p, lambda v: v.start == name, **changes)


CORRUPTIONS = {
    "during its maintenance": lambda p: moved(p, "late", named(p, "itself").end - at(5 * H)),
    "during its quiet hours": lambda p: moved(p, "by hand", HOUR),
    "no such name": run("by hand", second_spool="green"),
    "changes spools without a second one": run("dry", change_at=at(9 * H)),
    "is fed twice from grey 1": run("by hand", second_spool="grey 1"),
    "which are not alike": run("by hand", second_spool="black 2"),
    "is fed from black 2, the wrong": run("by hand", second_spool="black 2"),
    "takes 300.000 g of 300.000 g": run("by hand", second_g=300.0),
    "before grey 1 is at its end": lambda p: replace(
        p, spool_left_g=tuple((s, 9.0 if s == "grey 1" else g) for s, g in p.spool_left_g)
    ),
    "what is left on grey 2": run("by hand", second_g=160.0),
    "no time of its change": run("itself", change_at=None),
    "changes spools after": run("itself", change_at=at(HOUR.total_seconds())),
    "prints 10320 s on a and needs 10800": lambda p: runs(
        p,
        lambda r: r.plate == "by hand",
        end=named(p, "by hand").end - timedelta(seconds=480),
    ),
    "grey 2 feeds by hand and late at once": lambda p: runs(
        runs(p, lambda r: r.plate == "late", spool="grey 2"),
        lambda r: r.plate == "late",
        start=PROBLEM.start,
    ),
    "the change of spools of by hand has 0 visits": change_visit(feeds=None),
    "the change of spools of itself has 1 visits": change_visit(feeds="itself"),
    "changes no spool of by hand": change_visit(spool="grey 1"),
    "changes no spool of dry": change_visit(feeds="dry"),
    "wrong about its second spool": first_visit("itself", second_spool=None),
    "puts on a second spool for nothing": first_visit("late", second_spool="black 1"),
    "wrong about changing": first_visit("itself", change_spool=False),
    "names a spool and starts nothing": change_visit(feeds=None, spool=None, change_spool=True),
    "petg feeds dry before it has dried": lambda p: moved(
        p, "dry", at(HOUR.total_seconds()) - named(p, "dry").start
    ),
    "no remark says to put petg to dry": lambda p: replace(p, remarks=()),
    "the set done is not told once": lambda p: replace(p, sets_done=()),
    "the set missed is not complete": lambda p: replace(
        p, sets_done=("done", "missed"), sets_missed=()
    ),
    "the set done is complete": lambda p: replace(
        p, sets_done=(), sets_missed=(("done", "why"), *p.sets_missed)
    ),
    "missed is missed without a reason": lambda p: replace(p, sets_missed=(("missed", ""),)),
    "the set ghost is told of": lambda p: replace(p, sets_done=("done", "ghost")),
}


@pytest.mark.parametrize("words", CORRUPTIONS)
def test_a_corrupted_plan_is_found_out(plan, words):
    """The rule that was broken is named, among what follows from it."""
    violations = check(PROBLEM, CORRUPTIONS[words](plan))

    assert any(words in violation for violation in violations), violations


def test_a_set_whose_plate_ends_after_the_deadline_is_not_complete(plan):
    """Told as complete in a plan that is late, it is found out."""
    hurried = replace(PROBLEM, deadline=named(plan, "by hand").end - timedelta(seconds=1))

    assert "the set done is not complete, against what is told" in check(hurried, plan)


def test_a_lost_set_is_told_as_missed(plan):
    """A set of which something is on no plate."""
    problem = replace(PROBLEM, sets_lost=(("bay", "2 of panel on no plate"),))

    assert "the set bay is lost and not told as missed" in check(problem, plan)
    assert plan_weekend(problem, effort=1).sets_missed[-1] == ("bay", "2 of panel on no plate")


def test_visits_may_take_off_plates_in_quiet_hours():
    """Only printing is to be avoided then: the plate of 3:50 is taken off at 4:30."""
    problem = weekend(
        [plate("p", {"a": 3 * H})],
        slots=[slot("a", blocked=(blocked(4 * H, 12 * H, "quiet hours"),))],
        attendance=[window(0, H), window(4.5 * H, 5 * H)],
        hands_on_s=600,
    )

    plan = plan_weekend(problem, effort=1)

    assert [visit.at for visit in plan.visits] == [at(0), at(4.5 * H)]
    assert plan.visits[1].take_off == "p"
