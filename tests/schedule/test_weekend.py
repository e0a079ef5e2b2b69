"""What a planned weekend looks like: visits, nights, gates, spools, deadlines, clock changes."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.errors import InputError
from planner.job.model import Window
from planner.schedule.board import ANY, Board
from planner.schedule.instance import instance_of
from planner.schedule.search import _calm_until_s, best_board
from planner.schedule.solve import effort_for, plan_weekend
from planner.schedule.told import schedule_document
from tests.schedule.weekends import at, plate, spool, weekend, window

H = 3600.0


def reasons(problem) -> dict[str, str]:
    """Return plate -> why it has no place."""
    return dict(plan_weekend(problem, effort=1).unscheduled)


def test_one_visit_takes_a_plate_off_and_starts_the_next():
    """Two plates on one printer are three visits; the first puts the spool on.

    The printer prints when the hands-on time is over: an hour of printing ends at 1 h 10.
    """
    plates = [plate("p", {"a": H}), plate("q", {"a": H})]
    problem = weekend(plates, attendance=[window(0, 9 * H)], hands_on_s=600)

    plan = plan_weekend(problem, effort=1)

    visits = plan.visits
    assert [(v.at, v.take_off, v.start, v.change_spool) for v in visits] == [
        (at(0), None, visits[0].start, True),
        (at(H + 600), visits[0].start, visits[1].start, False),
        (at(2 * H + 1200), visits[1].start, None, False),
    ]
    assert [(r.start, r.end) for r in plan.runs] == [
        (at(0), at(H + 600)),
        (at(H + 600), at(2 * H + 1200)),
    ]
    assert {v.until - v.at for v in visits} == {timedelta(seconds=600)}


def test_a_plate_that_ends_at_night_waits_for_the_morning():
    """The next start is when somebody comes; the night alone is counted."""
    plates = [plate("long", {"a": 8 * H}), plate("short", {"a": H}, gate=("long",))]
    problem = weekend(plates, attendance=[window(0, 2 * H), window(12 * H, 20 * H)], hands_on_s=0)

    long, short = plan_weekend(problem, effort=1).runs

    assert (long.end, long.alone_s) == (at(8 * H), 6 * H)
    assert short.start == at(12 * H)


def test_a_printer_that_must_not_run_alone_stays_within_presence():
    """Presence may be handed over from one person to the next without a break."""
    shifts = [window(0, 2 * H, "ada"), window(2 * H, 5 * H, "bo"), window(6 * H, 9 * H, "ada")]
    problem = weekend(
        [
            plate("p", {"a": 5 * H - 600}),  # fills the first presence to the second
            plate("q", {"a": 2 * H}),
            plate("r", {"a": 5 * H - 599}),
        ],
        machines={"a": False},
        attendance=shifts,
        hands_on_s=600,
    )

    plan = plan_weekend(problem, effort=1)

    assert {run.plate: run.start for run in plan.runs} == {"p": at(0), "q": at(6 * H)}
    assert dict(plan.unscheduled)["r"] == (
        "it takes 4 h 50 min and 10 min of hands-on time on a printer that must not run alone, "
        "and the longest presence is 5 h 00 min"
    )


def test_the_check_of_a_gate_passes_only_while_somebody_is_there():
    """Taken off from 1 h 10 to 1 h 20, checked for 30 min: 10 before the gap, 20 after it."""
    problem = weekend(
        [plate("gate", {"a": H}), plate("batch", {"a": H}, gate=("gate",), check_s=1800)],
        attendance=[window(0, 1.5 * H), window(5 * H, 9 * H)],
        hands_on_s=600,
    )

    plan = plan_weekend(problem, effort=1)

    assert [v.take_off for v in plan.visits] == [None, "gate", None, "batch"]
    assert plan.runs[1].start == at(5 * H + 1200)


def test_a_second_person_waits_for_the_first_to_take_a_gate_plate_off():
    """The gate is taken off from 1 h 20 to 1 h 40; the spool comes free in the middle of that."""
    problem = weekend(
        [
            plate("gate", {"a": H}, colour="grey"),
            plate("other", {"b": H + 600}, colour="black"),
            plate("next", {"a": H}, colour="black"),
            plate("batch", {"b": H}, colour="grey", gate=("gate",)),
        ],
        machines={"a": True, "b": True},
        spools=[spool("grey", 99), spool("black", 99, colour="black")],
        attendance=[window(0, 9 * H), window(0, 9 * H, "bo")],
        hands_on_s=1200,
    )
    board = Board(instance_of(problem), keep_spool=True)

    board.fill(order=[0, 1, 2, 3], wishes=[ANY] * 4)

    assert board.taken_off[0][0] == board.end[0] == H + 1200
    assert board.start[2] == H + 2400


def test_two_people_start_two_printers_at_once_and_one_person_does_not():
    """One person needs the hands-on time for each; who comes is said."""
    plates = [plate("p", {"a": H}), plate("q", {"b": H})]
    both = {"a": True, "b": True}
    alone = weekend(plates, machines=both, attendance=[window(0, 9 * H)], hands_on_s=600)
    two = [window(0, 9 * H), window(0, 9 * H, "bo")]
    crew = weekend(plates, machines=both, attendance=two, hands_on_s=600)

    assert [r.start for r in plan_weekend(alone, effort=1).runs] == [at(0), at(600)]
    plan = plan_weekend(crew, effort=1)
    assert [r.start for r in plan.runs] == [at(0), at(0)]
    assert {v.who for v in plan.visits[:2]} == {"ada", "bo"}


def test_a_spool_is_in_use_from_the_hands_on_time_to_the_end():
    """One spool for two printers: the second waits for the whole first run."""
    problem = weekend(
        [plate("p", {"a": H}), plate("q", {"b": H})],
        machines={"a": True, "b": True},
        spools=[spool("only", 99)],
        attendance=[window(0, 9 * H), window(0, 9 * H, "bo")],
        hands_on_s=600,
    )

    first, second = plan_weekend(problem, effort=1).runs

    assert (first.end, second.start) == (at(H + 600), at(H + 600))


def test_a_plate_that_can_be_taken_off_counts_for_more_than_the_finish():
    """Nobody can begin to take a plate off after 3 h 50.

    Side by side the plates end at 3 h 55 and 4 h 05 and both stay on; one after the other on
    the faster printer they end at 1 h 10 and 5 h 05, and only the second stays.
    """
    problem = weekend(
        [plate("p", {"a": H, "b": 3.75 * H}), plate("q", {"a": 3.75 * H})],
        machines={"a": True, "b": True},
        attendance=[window(0, 4 * H)],
        hands_on_s=600,
    )

    plan = plan_weekend(problem, effort=1)

    assert [(run.plate, run.machine) for run in plan.runs] == [("p", "a"), ("q", "a")]
    (remark,) = plan.remarks
    assert remark == (
        "q stays on a: it ends Fri 27 Nov 23:05, "
        "and nobody is there after Fri 27 Nov 22:00 to take it off"
    )


def test_a_watched_plate_waits_for_the_morning_or_is_remarked_on():
    """It may end with the presence if somebody comes again; at the very end it stays on."""
    plates = [plate("p", {"a": 2 * H - 600})]
    evening, morning = window(0, 2 * H), window(9 * H, 10 * H)
    once = weekend(plates, machines={"a": False}, attendance=[evening], hands_on_s=600)
    twice = weekend(plates, machines={"a": False}, attendance=[evening, morning], hands_on_s=600)

    (remark,) = plan_weekend(once, effort=1).remarks
    assert remark == (
        "p stays on a: it ends Fri 27 Nov 20:00, "
        "and nobody is there after Fri 27 Nov 20:00 to take it off"
    )
    plan = plan_weekend(twice, effort=1)
    assert (plan.visits[-1].take_off, plan.visits[-1].at) == ("p", at(9 * H))
    assert plan.remarks == ()


def test_a_plate_that_ends_with_nobody_free_is_remarked_on():
    """Two printers end at 1 h 10 and 1 h 20; the one person leaves at 1 h 25."""
    problem = weekend(
        [plate("p", {"a": H}), plate("q", {"b": H})],
        machines={"a": False, "b": False},
        attendance=[window(0, H + 1500)],
        hands_on_s=600,
    )

    plan = plan_weekend(problem, effort=1)

    assert [v.take_off for v in plan.visits if v.take_off] == ["p"]
    (remark,) = schedule_document(problem, plan)["remarks"]
    assert remark == (
        "q stays on b: it ends Fri 27 Nov 19:20, "
        "and nobody has time to take it off before attendance ends, Fri 27 Nov 19:25"
    )


def test_the_short_cut_past_the_last_visits_does_not_miss_a_rush_at_the_end():
    """Two plates end at 1 h 10, and nobody can begin a visit after 1 h 15: one stays on."""
    problem = weekend(
        [plate("p", {"a": H}), plate("q", {"b": H - 600})],
        machines={"a": True, "b": True},
        attendance=[window(0, H + 1500)],
        hands_on_s=600,
    )
    board = Board(instance_of(problem), keep_spool=True)

    board.fill(order=[0, 1], wishes=[ANY] * 2)

    assert board.end == [H + 600, H + 600]
    assert board.finish_s > _calm_until_s(board.instance)
    assert board.take_off_last() == (1,)


def test_spools_are_changed_as_little_as_the_rest_allows():
    """Four plates of two colours on one printer, given in turns: two changes are enough."""
    colours = {"p": "grey", "q": "black", "r": "grey", "s": "black"}
    problem = weekend(
        [plate(name, {"a": H}, colour=colour) for name, colour in colours.items()],
        spools=[spool("grey", 99), spool("black", 99, colour="black")],
        hands_on_s=600,
    )

    plan = plan_weekend(problem, effort=1)

    assert sum(visit.change_spool for visit in plan.visits) == 2


def test_remnants_are_used_where_they_suffice():
    """A plate of 90 g takes the remnant of 100 g and leaves the full spool alone."""
    problem = weekend(
        [plate("p", {"a": H}, grams=90)], spools=[spool("full", 1000), spool("remnant", 100)]
    )

    plan = plan_weekend(problem, effort=1)

    assert plan.runs[0].spool == "remnant"
    assert dict(plan.spool_left_g) == {"full": 1000.0, "remnant": 10.0}


def test_spools_are_shared_out_so_that_everything_fits():
    """60 + 40 and 70 + 30 g fill two spools of 100 g exactly; largest first finds it."""
    grams = {"p": 60.0, "q": 40.0, "r": 70.0, "s": 30.0}
    problem = weekend(
        [plate(name, {"a": H}, grams=g) for name, g in grams.items()],
        spools=[spool("one", 100), spool("two", 100)],
    )

    assert not plan_weekend(problem, effort=1).unscheduled


def test_says_how_many_grams_are_missing():
    """On the fullest spool at first, and on what the others leave of it."""
    problem = weekend(
        [
            plate("big", {"a": H}, grams=250),
            plate("p", {"a": H}, grams=150, priority=0),
            plate("q", {"a": H}, grams=120, priority=1),
            plate("black", {"a": H}, grams=10, colour="black"),
            plate("petg", {"a": H}, grams=10, material="petg"),
            plate("nothing", {"a": H}, grams=0, material="abs"),
        ],
        spools=[spool("grey", 200)],
    )

    assert reasons(problem) == {
        "big": "50 g of pla are missing: it needs 250 g on one spool, and the fullest, grey, "
        "has 200 g",
        "q": "70 g of pla are missing: it needs 120 g on one spool, and the fullest after the "
        "other plates, grey, has 50 g",
        "black": "10 g are missing: no spool of pla in black; there is grey (200 g)",
        "petg": "10 g are missing: no spool of petg",
        "nothing": "no spool of abs",
    }


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (("pla", "gray"), "no spool of pla in gray; there is grey (820 g)"),
        (("PLA", None), "no spool of PLA; there is pla (820 g)"),
        (("PLA", "grey"), "no spool of PLA in grey; there is pla in grey (820 g)"),
        (("pla", "white"), "no spool of pla in white; there is grey (820 g), black (390 g)"),
        (("abs", "grey"), "no spool of abs in grey"),
    ],
)
def test_names_the_spool_that_may_have_been_meant(wanted, said):
    """A near spelling if there is one, else the other colours of the material; no empty ones."""
    spools = [spool("a", 820), spool("b", 390, colour="black"), spool("c", 0, colour="red")]
    task = plate("p", {"a": H}, grams=40, material=wanted[0], colour=wanted[1])

    assert reasons(weekend([task], spools=spools)) == {"p": f"40 g are missing: {said}"}


def test_names_another_colour_only_if_it_has_enough():
    """Of two others, the one with 300 g could print the plate of 250 g."""
    spools = [spool("a", 200), spool("b", 300, colour="black"), spool("c", 240, colour="red")]
    task = plate("p", {"a": H}, grams=250, colour="grey")

    assert reasons(weekend([task], spools=spools)) == {
        "p": "50 g of pla in grey are missing: it needs 250 g on one spool, and the fullest, a, "
        "has 200 g; there is black (300 g)"
    }


@pytest.mark.parametrize(
    ("problem", "expected"),
    [
        (weekend([plate("p", {})]), "no printer can take it"),
        (weekend([plate("p", {"a": H})], attendance=[]), "nobody is there to start it"),
        (
            weekend([plate("p", {"a": H})], attendance=[window(0, 60)], hands_on_s=480),
            "nobody is there for the 8 min of hands-on time at a stretch",
        ),
        (
            weekend([plate("p", {"a": 3 * H})], attendance=[window(0, H)], deadline_s=2 * H),
            (
                "its 3 h 00 min find no room that ends by the deadline, Fri 27 Nov 20:00, "
                "and nobody is there afterwards"
            ),
        ),
        (
            weekend([plate("p", {"a": H}, gate=("g",)), plate("g", {})]),
            "it waits for the check of g, which has no place",
        ),
        (
            weekend(
                [plate("p", {"a": H}, gate=("g",)), plate("g", {"a": 2 * H})],
                attendance=[window(0, H)],
            ),
            "nobody is there to take off and check the plates it waits for",
        ),
    ],
)
def test_says_why_a_plate_has_no_place(problem, expected):
    """One sentence, and the rest is planned all the same."""
    assert reasons(problem)["p"] == expected


def test_what_does_not_fit_before_attendance_ends_is_left_out_by_priority():
    """Of three long plates two can be started; the one with the highest number stays out."""
    plates = [plate(f"p{n}", {"a": 5 * H}, priority=n) for n in (2, 0, 1)]
    problem = weekend(plates, attendance=[window(0, 6 * H)], hands_on_s=600)

    plan = plan_weekend(problem, effort=1)

    assert [run.plate for run in plan.runs] == ["p0", "p1"]
    ((left_out, reason),) = plan.unscheduled
    assert left_out == "p2"
    assert reason == (
        "no printer is free for its 5 h 00 min and 10 min of hands-on time "
        "before attendance ends, Sat 28 Nov 00:00"
    )


def test_late_plates_are_printed_if_somebody_comes_after_the_deadline():
    """The deadline decides which plates are late, not whether they are printed."""
    plates = [plate("low", {"a": 3 * H}, priority=1), plate("high", {"a": 3 * H}, priority=0)]
    problem = weekend(plates, attendance=[window(0, 9 * H)], deadline_s=4 * H)

    plan = plan_weekend(problem, effort=1)

    assert [run.plate for run in plan.runs] == ["high", "low"]


def test_urgent_plates_come_first_where_the_finish_is_the_same():
    """Lower priority numbers are wanted earlier."""
    plates = [plate(f"p{n}", {"a": H}, priority=n) for n in (3, 1, 2)]

    plan = plan_weekend(weekend(plates), effort=1)

    assert [run.plate for run in plan.runs] == ["p1", "p2", "p3"]


@pytest.mark.parametrize(
    ("evening", "hours_between"),
    [
        (datetime(2026, 10, 24, 22, tzinfo=ZoneInfo("Europe/Lisbon")), 11),  # clocks go back
        (datetime(2027, 3, 27, 22, tzinfo=ZoneInfo("Europe/Lisbon")), 9),  # clocks go forward
    ],
)
def test_the_night_of_the_clock_change_has_its_true_length(evening, hours_between):
    """From 22:00 to 8:00 on the wall pass 11 hours in October and 9 in March."""
    morning = evening.replace(hour=8) + timedelta(days=1)  # wall clock arithmetic, on purpose
    problem = weekend(
        [plate("night", {"a": 8 * H}), plate("day", {"a": H}, gate=("night",))],
        attendance=[
            Window(who="ada", start=evening, end=evening.replace(hour=23)),
            Window(who="ada", start=morning, end=morning.replace(hour=12)),
        ],
        start=evening,
    )

    night, day = plan_weekend(problem, effort=1).runs

    assert night.end - night.start == timedelta(hours=8)
    assert day.start - night.start == timedelta(hours=hours_between)
    assert (day.start.hour, day.start.utcoffset()) == (8, morning.utcoffset())
    assert night.alone_s == 7 * H


@pytest.mark.parametrize(
    ("problem", "words"),
    [
        (weekend([plate("p", {"z": H})]), "printer 'z'"),
        (weekend([plate("p", {"a": H}, gate=("q",))]), "plate 'q'"),
        (weekend([plate("p", {"a": H}), plate("p", {"a": H})]), "'p' 2 times"),
        (weekend([plate("p", {"a": float("nan")})]), "nan s"),
        (weekend([plate("p", {"a": -1.0})]), "-1 s"),
        (weekend([plate("p", {"a": H}, grams=float("inf"))]), "inf g"),
        (weekend([plate("p", {"a": H})], hands_on_s=-1), "-1 s"),
        (
            weekend([plate(n, {"a": H}, gate=(g,)) for n, g in ("ab", "bc", "ca")]),
            "plates that wait for each other",
        ),
    ],
)
def test_a_weekend_that_contradicts_itself_is_refused(problem, words):
    """Each in one sentence of its own."""
    with pytest.raises(InputError) as caught:
        plan_weekend(problem)

    assert len(caught.value.problems) == 1
    assert words in str(caught.value)


def test_a_ring_of_gates_is_named_in_full():
    """And in the direction of waiting."""
    ring = weekend([plate(n, {"a": H}, gate=(g,)) for n, g in ("ab", "bc", "ca")])

    with pytest.raises(InputError, match="a waits for b waits for c waits for a"):
        plan_weekend(ring)


def test_a_long_chain_of_gates_is_no_trouble():
    """600 plates, each waiting for the one before, given in the worst order."""
    chain = [plate("p0", {"a": 60})]
    chain += [plate(f"p{i}", {"a": 60}, gate=(f"p{i - 1}",)) for i in range(1, 600)]

    plan = plan_weekend(weekend(chain[::-1]), effort=1)

    assert (plan.finish - at(0)).total_seconds() == 600 * 60


def test_no_plates_make_an_empty_plan():
    """Everything may be in stock."""
    plan = plan_weekend(weekend([]))

    assert (plan.runs, plan.visits, plan.finish, plan.lower_bound) == ((), (), None, None)


def test_effort_stands_for_seconds():
    """At least one unit; whole units, so that it does not depend on a clock."""
    assert [effort_for(s) for s in (0.01, 0.1, 1, 2.6, 60)] == [1, 1, 10, 26, 600]


def test_an_earlier_plan_is_a_place_to_begin():
    """Runs of a long search, handed to a short one, come out no later; strangers are no matter."""
    hours = [5, 3, 3, 2, 2, 2, 7, 4, 4, 6, 1, 8, 3, 5]
    case = weekend(
        [plate(f"p{i}", {"a": h * H, "b": 1.1 * h * H}) for i, h in enumerate(hours)],
        attendance=[window(a * H, b * H) for a, b in ((0, 5), (14, 18), (20, 29), (39, 50))],
        machines={"a": True, "b": True},
    )
    good = plan_weekend(case, effort=20)
    runs = [(run.plate, run.machine) for run in good.runs]

    again = plan_weekend(case, effort=1, seed=9, first=[*runs, ("nobody", "a"), ("p1", "nowhere")])

    assert again.finish <= good.finish


def test_without_a_search_the_earlier_plan_is_kept():
    """The classical orders alone end later on this weekend."""
    case = weekend(
        [plate(f"p{i}", {"a": h * H}) for i, h in enumerate([6, 5, 4, 3, 2, 9])],
        attendance=[window(a * H, b * H) for a, b in ((0, 5), (14, 18), (20, 29), (39, 50))],
        machines={"a": True},
    )
    instance = instance_of(case)
    good = [(j, 0) for j in (1, 5, 0, 2, 3, 4)]

    plain, begun = (
        best_board(instance, placements=0, seed=0, bound_s=0, first=first).finish_s
        for first in ((), good)
    )

    assert begun < plain
