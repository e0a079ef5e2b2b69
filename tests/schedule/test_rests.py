"""Quiet hours, maintenance, cooling, drying and second spools, by examples done in the head."""

from __future__ import annotations

from itertools import product

import pytest

from planner.schedule.solve import plan_weekend
from tests.schedule.weekends import at, blocked, plate, slot, spool, weekend, window

H = 3600.0


def only_run(problem):
    """Return the run of a weekend with one plate."""
    (run,) = plan_weekend(problem, effort=1).runs
    return run


def why_not(problem) -> str:
    """Return why the one plate has no place."""
    ((_, reason),) = plan_weekend(problem, effort=1).unscheduled
    return reason


def test_a_run_ends_before_the_quiet_hours_or_begins_after_them():
    """3 h do not fit before hour 2, so the run starts at hour 10; 2 h fit exactly."""
    rest = (blocked(2 * H, 10 * H, "quiet hours"),)
    long, short = (
        weekend([plate("p", {"a": hours * H})], slots=[slot("a", blocked=rest)]) for hours in (3, 2)
    )

    assert only_run(long).start == at(10 * H)
    assert only_run(short).start == at(0)


def test_the_hands_on_time_is_outside_the_quiet_hours_too():
    """2 h and 10 min of hands-on time do not fit before hour 2."""
    problem = weekend(
        [plate("p", {"a": 2 * H})],
        slots=[slot("a", blocked=(blocked(2 * H, 10 * H, "quiet hours"),))],
        hands_on_s=600,
    )

    assert only_run(problem).start == at(10 * H)


def test_another_printer_runs_during_maintenance():
    """Printers that rest at different times are of different kinds."""
    problem = weekend(
        [plate("p", {"a": 3 * H, "b": 3 * H})],
        slots=[slot("a", blocked=(blocked(0, 50 * H),)), slot("b")],
    )

    assert (only_run(problem).machine, only_run(problem).start) == ("b", at(0))


def test_stretches_that_overlap_or_touch_are_one():
    """No run of any length squeezes in between."""
    rest = (blocked(H, 3 * H), blocked(2 * H, 5 * H, "quiet hours"), blocked(5 * H, 6 * H))
    problem = weekend([plate("p", {"a": 2 * H})], slots=[slot("a", blocked=rest)])

    assert only_run(problem).start == at(6 * H)


def test_a_watched_run_waits_for_a_visit_outside_the_quiet_hours():
    """Windows of hours 0-3 and 10-14, quiet in 2-12: two hours fit at hour 0 and 12 only."""
    plates = [plate("p", {"a": 2 * H}), plate("q", {"a": 2 * H})]
    problem = weekend(
        plates,
        slots=[slot("a", unattended=False, blocked=(blocked(2 * H, 12 * H),))],
        attendance=[window(0, 3 * H), window(10 * H, 14 * H)],
    )

    assert [run.start for run in plan_weekend(problem, effort=1).runs] == [at(0), at(12 * H)]


def test_says_that_rests_swallow_all_attendance():
    """The plate would fit without them."""
    problem = weekend(
        [plate("p", {"a": 3 * H})],
        slots=[slot("a", blocked=(blocked(2 * H, 40 * H), blocked(0, 3 * H, "quiet hours")))],
        attendance=[window(0, 5 * H)],
    )

    assert why_not(problem) == (
        "outside maintenance and quiet hours there is no stretch for its 3 h 00 min that "
        "somebody is there to start"
    )


def test_a_printer_that_changes_over_feeds_a_plate_from_two_spools():
    """The emptier one to its end after 2 of 6 h, at night; nobody need be there."""
    problem = weekend(
        [plate("p", {"a": 6 * H}, grams=300)],
        slots=[slot("a", changes_over=True)],
        spools=[spool("full", 250), spool("started", 100)],
        attendance=[window(0, H), window(20 * H, 30 * H)],
        hands_on_s=600,
    )
    plan = plan_weekend(problem, effort=1)
    (run,) = plan.runs

    assert (run.spool, run.second_spool, run.second_g) == ("started", "full", 200.0)
    assert run.change_at == at(600 + 2 * H)
    assert run.end == at(600 + 6 * H)
    assert dict(plan.spool_left_g) == {"full": 50.0, "started": 0.0}
    assert [(v.spool, v.second_spool, v.feeds) for v in plan.visits] == [
        ("started", "full", None),
        (None, None, None),
    ]


def test_else_somebody_is_there_when_the_first_spool_ends():
    """Ada starts the print before hour 1, Bo changes the spools 2 h later, at 2:30 when he comes.

    So it is started at 0:20, 10 min of hands-on time and 2 h before. It stands still for the
    10 min of the change.
    """
    problem = weekend(
        [plate("p", {"a": 6 * H}, grams=300)],
        spools=[spool("full", 250), spool("started", 100)],
        attendance=[window(0, H), window(2.5 * H, 4 * H, "bo"), window(20 * H, 30 * H)],
        hands_on_s=600,
    )
    plan = plan_weekend(problem, effort=1)
    (run,) = plan.runs
    change = next(visit for visit in plan.visits if visit.feeds)

    assert run.start == at(0.5 * H - 600)
    assert run.change_at == at(2.5 * H)
    assert run.end == at(2.5 * H + 600 + 4 * H)
    assert plan.remarks == (
        "started ends on a at about Fri 27 Nov 20:30, an estimate: be there before to put on full",
    )
    assert (change.at, change.who, change.spool, change.change_spool) == (
        at(2.5 * H),
        "bo",
        "full",
        True,
    )


def test_one_spool_is_tried_before_two():
    """Even where two emptier ones would do."""
    problem = weekend(
        [plate("p", {"a": H}, grams=100)],
        slots=[slot("a", changes_over=True)],
        spools=[spool("x", 60), spool("y", 60), spool("z", 200)],
    )

    assert (only_run(problem).spool, only_run(problem).second_spool) == ("z", None)


def test_a_plate_waits_until_both_of_its_spools_are_free():
    """The fuller one feeds another printer, which has no time for more, until hour 5."""
    problem = weekend(
        [
            plate("other", {"b": 5 * H}, grams=80, priority=0),
            plate("two", {"a": H}, grams=100, priority=1),
        ],
        slots=[slot("a", changes_over=True), slot("b")],
        spools=[spool("x", 60), spool("y", 150)],
        deadline_s=6 * H,
        attendance=[window(0, 6 * H)],
    )
    runs = {run.plate: run for run in plan_weekend(problem, effort=1).runs}

    assert runs["other"].start == at(0)
    assert (runs["two"].start, runs["two"].spool, runs["two"].second_spool) == (at(5 * H), "x", "y")


def test_a_second_spool_is_put_on_though_the_first_one_is_on_already():
    """So the visit changes a spool; the one after it, from the second, does not."""
    plates = [
        plate(name, {"a": H}, grams=grams, priority=i)
        for i, (name, grams) in enumerate({"p": 70, "q": 70, "r": 15}.items())
    ]
    problem = weekend(
        plates, slots=[slot("a", changes_over=True)], spools=[spool("x", 100), spool("y", 60)]
    )
    plan = plan_weekend(problem, effort=1)
    starts = [visit for visit in plan.visits if visit.start]

    assert [run.spool for run in plan.runs] == ["x", "x", "y"]
    assert [run.second_spool for run in plan.runs] == [None, "y", None]
    assert [visit.change_spool for visit in starts] == [True, True, False]


def test_two_spools_must_be_alike():
    """A plate of any colour is not fed from grey and black."""
    problem = weekend(
        [plate("p", {"a": H}, grams=100)],
        slots=[slot("a", changes_over=True)],
        spools=[spool("x", 60), spool("y", 60, colour="black")],
    )

    assert "40 g of pla are missing: it needs 100 g on one spool" in why_not(problem)


def test_says_what_two_spools_are_short_of():
    """60 + 30 g of the same colour, and 100 g are wanted."""
    problem = weekend(
        [plate("p", {"a": H}, grams=100)],
        spools=[spool("x", 60), spool("y", 30), spool("z", 20)],
    )

    assert why_not(problem) == (
        "10 g of pla are missing: it needs 100 g on one spool or two alike, and the fullest "
        "two, x and y, have 90 g"
    )


def test_says_that_nobody_is_there_to_change_spools():
    """Enough on two, and a window of half an hour for a print of ten."""
    problem = weekend(
        [plate("p", {"a": 10 * H}, grams=100)],
        spools=[spool("x", 60), spool("y", 60)],
        attendance=[window(0, H / 2)],
    )

    assert why_not(problem).startswith("no spool has enough for it, and there is no time")


def test_a_printer_that_changes_over_is_not_told_to_want_somebody_for_it():
    """Two spools alike, but the only half hour goes to a plate that is wanted earlier."""
    problem = weekend(
        [plate("p", {"a": 10 * H}, grams=100), plate("q", {"a": 10 * H}, priority=-1)],
        slots=[slot("a", changes_over=True)],
        spools=[spool("x", 60), spool("y", 60)],
        attendance=[window(0, H / 2)],
    )

    assert why_not(problem).startswith("no printer is free for its 10 h 00 min")


def test_a_spool_that_has_to_dry_feeds_when_it_has_dried():
    """From hour 2, when somebody comes, for 4 h; the remark says so."""
    problem = weekend(
        [plate("p", {"a": H})],
        spools=[spool("damp", 100, drying_s=4 * H)],
        attendance=[window(2 * H, 10 * H)],
    )
    plan = plan_weekend(problem, effort=1)

    assert plan.runs[0].start == at(6 * H)
    assert plan.remarks == (
        "put damp to dry at Fri 27 Nov 20:00: it feeds from Sat 28 Nov 00:00 on",
    )


def test_says_that_a_spool_is_not_dry_in_time():
    """30 h from the start, and nobody is there after hour 20."""
    problem = weekend(
        [plate("p", {"a": H})],
        spools=[spool("damp", 100, drying_s=30 * H)],
        attendance=[window(0, 20 * H)],
    )

    assert why_not(problem) == (
        "damp is dry from Sun 29 Nov 00:00 on, and the last visit can be Sat 28 Nov 14:00"
    )


def test_a_spool_that_is_not_used_is_not_put_to_dry():
    """The dry one feeds at once."""
    problem = weekend(
        [plate("p", {"a": H})], spools=[spool("damp", 100, drying_s=4 * H), spool("dry", 100)]
    )

    assert plan_weekend(problem, effort=1).remarks == ()


@pytest.mark.parametrize(
    ("values", "done"),
    [
        ({"big": 5.0, "one": 1.0, "two": 1.0}, ("big",)),
        ({"big": 1.0, "one": 1.0, "two": 1.0}, ("one", "two")),
        ({"big": 3.0, "one": 2.0, "two": 2.0}, ("one", "two")),
    ],
)
def test_the_most_valuable_complete_sets_are_printed_by_the_deadline(values, done):
    """6 h on one printer: either the two plates of the big set, or those of both small ones."""
    plates = [plate(f"big {i}", {"a": 3 * H}, sets=("big",)) for i in (1, 2)]
    plates += [plate(name, {"a": 3 * H}, sets=(name,)) for name in ("one", "two")]
    problem = weekend(
        plates,
        attendance=[window(0, 6 * H)],
        deadline_s=6 * H,
        sets=values,
    )

    plan = plan_weekend(problem, effort=1)

    assert plan.sets_done == done
    assert {name for name, _ in plan.sets_missed} == set(values) - set(done)
    assert len(plan.unscheduled) == 2


def test_half_a_set_is_worth_nothing():
    """A set of 9 whose last plate is too long does not keep the printer from a set of 1."""
    problem = weekend(
        [
            plate("a1", {"a": 3 * H}, sets=("all",)),
            plate("a2", {"a": 30 * H}, sets=("all",)),
            plate("b1", {"a": 4 * H}, sets=("small",), priority=9),
        ],
        attendance=[window(0, 6 * H)],
        deadline_s=6 * H,
        sets={"all": 9.0, "small": 1.0},
    )

    plan = plan_weekend(problem, effort=1)

    assert plan.sets_done == ("small",)
    assert plan.sets_missed == (("all", "a1, a2 without a place"),)


def test_a_set_that_ends_late_says_by_how_much():
    """Somebody comes after the deadline, so the plate is printed, and the set is missed."""
    problem = weekend(
        [plate("p", {"a": 5 * H}, sets=("all",))],
        attendance=[window(0, 20 * H)],
        deadline_s=4 * H,
        sets={"all": 1.0},
    )

    assert plan_weekend(problem, effort=1).sets_missed == (
        ("all", "p ends Fri 27 Nov 23:00, after the deadline, Fri 27 Nov 22:00"),
    )


@pytest.mark.parametrize("deadline_s", [None, 9 * H])
def test_a_set_that_nobody_can_take_off_says_until_when_somebody_could(deadline_s):
    """Two hours of presence, hands for 5 min: taken off by 19:55, whatever the deadline."""
    problem = weekend(
        [plate("p", {"a": 5 * H}, sets=("all",))],
        attendance=[window(0, 2 * H)],
        hands_on_s=300,
        deadline_s=deadline_s,
        sets={"all": 1.0},
    )

    ((name, why),) = plan_weekend(problem, effort=1).sets_missed
    assert name == "all"
    assert why == (
        "p ends Fri 27 Nov 23:05, after Fri 27 Nov 19:55, the last time that somebody can take "
        "it off"
    )


def test_sets_of_one_plate_on_one_printer_are_the_knapsack_problem():
    """Ten plates, and not the time for all: the best of all 1024 choices is found.

    Numbers are those of a small problem that goes round among teachers of the knapsack
    problem (from memory; best value 309); the choices are counted here.
    """
    hours = (23, 31, 29, 44, 53, 38, 63, 85, 89, 82)
    values = (92, 57, 49, 68, 60, 43, 67, 84, 87, 72)
    plates = [plate(f"p{i}", {"a": h * H}, sets=(f"s{i}",)) for i, h in enumerate(hours)]
    problem = weekend(
        plates,
        attendance=[window(0, 165 * H)],
        deadline_s=165 * H,
        sets={f"s{i}": float(value) for i, value in enumerate(values)},
    )
    best = max(
        sum(value for value, take in zip(values, chosen, strict=True) if take)
        for chosen in product([0, 1], repeat=len(hours))
        if sum(h for h, take in zip(hours, chosen, strict=True) if take) <= 165
    )

    plan = plan_weekend(problem, effort=1)

    assert sum(value for name, value in problem.sets if name in plan.sets_done) == best == 309
