"""The checker goes red on each rule: a good plan is corrupted in one place at a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.schedule.check import check
from planner.schedule.solve import plan_weekend
from tests.schedule.weekends import plate, spool, weekend, window

HOUR = timedelta(hours=1)
H = 3600.0

PROBLEM = weekend(
    [
        plate("first", {"a": H, "b": H}, grams=100, priority=0),
        plate("batch 1", {"a": 2 * H, "b": 2 * H}, grams=100, gate=("first",), check_s=H / 2),
        plate("batch 2", {"a": 2 * H, "b": 2 * H}, grams=100, gate=("first",), check_s=H / 2),
        plate("night", {"a": 9 * H}, grams=300, colour="black"),
        plate("huge", {"a": H}, grams=5000),
    ],
    machines={"a": True, "b": False},
    spools=[spool("grey", 350), spool("black", 400, colour="black"), spool("petg", 999, "petg")],
    attendance=[window(0, 6 * H, "ada"), window(0, 6 * H, "bo"), window(14 * H, 30 * H, "ada")],
    hands_on_s=480,
)


@pytest.fixture(scope="module")
def plan():
    return plan_weekend(PROBLEM, effort=1)


def test_the_plan_before_corruption_keeps_the_rules(plan):
    """And it is rich enough: two people, two printers, a gate, a night, a plate left out."""
    assert check(PROBLEM, plan) == ()
    assert {run.machine for run in plan.runs} == {"a", "b"}
    assert [name for name, _ in plan.unscheduled] == ["huge"]
    assert any(run.alone_s > 0 for run in plan.runs)
    assert any(visit.take_off and not visit.start for visit in plan.visits)


def moved(plan, name, by, **changes):
    """Return the plan with one run, and the visit that starts it, moved in time."""
    runs = tuple(
        replace(run, start=run.start + by, end=run.end + by, **changes)
        if run.plate == name
        else run
        for run in plan.runs
    )
    visits = tuple(
        replace(
            visit,
            at=visit.at + by,
            until=visit.until + by,
            machine=changes.get("machine", visit.machine),
            spool=changes.get("spool", visit.spool),
        )
        if visit.start == name
        else visit
        for visit in plan.visits
    )
    return replace(plan, runs=runs, visits=visits)


def each(items, which, **changes):
    """Return the items with `changes` made to those for which `which` holds."""
    return tuple(replace(item, **changes) if which(item) else item for item in items)


def visits(plan, which, **changes):
    """Return the plan with changes to some visits."""
    assert any(which(visit) for visit in plan.visits)
    return replace(plan, visits=each(plan.visits, which, **changes))


def runs(plan, which, **changes):
    """Return the plan with changes to some runs."""
    return replace(plan, runs=each(plan.runs, which, **changes))


def named(plan, name):
    """Return the run of a plate."""
    return next(run for run in plan.runs if run.plate == name)


CORRUPTIONS = {
    "no such name": lambda p: runs(p, lambda r: r.plate == "night", machine="c"),
    "2 times, not once": lambda p: replace(p, runs=(*p.runs, p.runs[0])),
    "0 times, not once": lambda p: replace(p, unscheduled=()),
    "never asked for": lambda p: replace(p, unscheduled=(*p.unscheduled, ("ghost", "why"))),
    "without a reason": lambda p: replace(p, unscheduled=(("huge", ""),)),
    "cannot be printed on b": lambda p: moved(p, "night", 0 * HOUR, machine="b"),
    "and needs 32400 s": lambda p: runs(p, lambda r: r.plate == "night", end=PROBLEM.start + HOUR),
    "prints 32399 s on a and needs 32400": lambda p: runs(
        p, lambda r: r.plate == "night", end=named(p, "night").end - timedelta(seconds=1)
    ),
    "longer than its run": lambda p: runs(
        p, lambda r: r.plate == "night", end=PROBLEM.start + 30 * HOUR
    ),
    "before the weekend": lambda p: moved(p, "first", -HOUR),
    "no visit starts first": lambda p: visits(
        p, lambda v: v.start == "first", start=None, spool=None
    ),
    "started by 2 visits": lambda p: replace(
        p, visits=(*p.visits, *(v for v in p.visits if v.start == "first"))
    ),
    "lasts 60 s": lambda p: visits(
        p,
        lambda v: v.start == "first",
        until=next(v.at for v in p.visits if v.start == "first") + timedelta(seconds=60),
    ),
    "is not there for the visit": lambda p: moved(p, "night", 8 * HOUR),
    "at once at": lambda p: visits(p, lambda _: True, who="ada"),
    "two visits to a at once": lambda p: visits(p, lambda _: True, machine="a"),
    "before batch 1 has ended": lambda p: moved(p, "night", -HOUR),
    "is not taken off": lambda p: visits(p, lambda v: v.take_off == "first", take_off=None),
    "does nothing": lambda p: visits(p, lambda v: v.take_off and not v.start, take_off=None),
    "where it was never printed": lambda p: visits(
        p, lambda v: v.take_off == "night", take_off="huge"
    ),
    "before it has ended": lambda p: visits(
        p,
        lambda v: v.take_off == "night",
        at=PROBLEM.start + 2 * HOUR,
        until=PROBLEM.start + 2 * HOUR + timedelta(seconds=480),
    ),
    "taken off 2 times": lambda p: visits(p, lambda v: v.take_off == "batch 1", take_off="first"),
    "runs alone on b": lambda p: runs(p, lambda r: r.machine == "b", end=PROBLEM.start + 10 * HOUR),
    "another time than": lambda p: runs(p, lambda r: r.plate == "night", alone_s=0.0),
    "has been checked": lambda p: moved(p, "batch 1", -timedelta(hours=0.2)),
    "is never taken off": lambda p: visits(p, lambda v: v.take_off == "first", take_off="night"),
    "wrong material or colour": lambda p: moved(p, "night", 0 * HOUR, spool="petg"),
    "and holds 350.0 g": lambda p: moved(
        moved(p, "night", 0 * HOUR, spool="grey"), "first", 0 * HOUR, spool="grey"
    ),
    "what is left on grey": lambda p: replace(p, spool_left_g=(("grey", 1.0), ("black", 100.0))),
    "at once": lambda p: moved(p, "batch 2", p.runs[-1].start - p.runs[-2].start, spool="grey"),
    "wrong about changing": lambda p: visits(p, lambda v: v.start == "first", change_spool=False),
    "names a spool and starts nothing": lambda p: visits(
        p, lambda v: v.start is None, spool="grey"
    ),
    "the finish is stated": lambda p: replace(p, finish=p.finish + HOUR),
    "without one": lambda p: replace(p, lower_bound=None),
    "is after the finish": lambda p: replace(p, lower_bound=p.finish + HOUR),
    "given 60 s of hands-on time": lambda p: runs(p, lambda r: r.plate == "first", hands_on_s=60.0),
    "given 3600 s of hands-on time": lambda p: runs(
        p, lambda r: r.plate == "first", hands_on_s=3600.0
    ),
    "no remark says so": lambda p: replace(
        p, visits=tuple(v for v in p.visits if v.take_off != "night")
    ),
    "somebody has time for it": lambda p: replace(
        p,
        visits=tuple(v for v in p.visits if v.take_off != "night"),
        remarks=("night stays on a",),
    ),
}


@pytest.mark.parametrize("words", CORRUPTIONS)
def test_a_corrupted_plan_is_found_out(plan, words):
    """The rule that was broken is named, among what follows from it."""
    violations = check(PROBLEM, CORRUPTIONS[words](plan))

    assert any(words in violation for violation in violations), violations
