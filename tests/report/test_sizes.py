"""Why plates are small, and what plates made for the hours win."""

from dataclasses import replace

import pytest

from planner.handover.model import HoursWon
from planner.job.model import Blocked
from planner.report.document import plan_document
from planner.report.html import plan_html
from planner.report.roster import roster_of_plan
from planner.report.schedule_page import schedule_html
from planner.report.sizes import hours_won, small_plates, why_small

from .conftest import at
from .test_html import Page
from .test_terminal import print_plan, print_weekend, said

WON = HoursWon(
    full_plates=3,
    full_finish=at(1, 19, 10),
    full_missing=0,
    plates=4,
    finish=at(1, 13, 40),
    missing=0,
)


def test_what_is_won_is_told_beside_full_plates(plan):
    """5 h 30 min earlier than three full plates, which would end on Saturday at 19:10."""
    assert hours_won(replace(plan, hours=WON)) == (
        "Sizes and hours were chosen together, which wins 5 h 30 min: filled first and given "
        "their hours then, 3 plates would end Sat 28 Nov 19:10"
    )


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            {"full_finish": at(1, 13, 40)},
            "Other sizes win nothing: filled first, 3 plates would end Sat 28",
        ),
        ({"full_missing": 5}, "filled first, 3 plates would lack 5 copies more"),
        ({"full_finish": None}, ""),
    ],
)
def test_what_is_not_won_is_not_claimed(plan, change, told):
    """The same end, fewer copies, and nothing to compare with."""
    words = hours_won(replace(plan, hours=replace(WON, **change)))

    assert told in words
    assert bool(words) == bool(told)


def test_nothing_is_said_where_nothing_was_compared(plan):
    """A plan of an older kind has no such sentence."""
    assert hours_won(replace(plan, hours=None)) == ""


def test_a_small_plate_has_its_reason(plan):
    """P2 is the last on its printer; one that another follows at once is done in time for it."""
    first = plan.weekend.runs[1]
    after = replace(first, plate="P3", start=at(1, 14), end=at(1, 20))
    weekend = replace(plan.weekend, runs=(first, after))
    followed = replace(plan, weekend=weekend)
    later = replace(plan, weekend=replace(weekend, runs=(first, replace(after, start=at(1, 18)))))
    crew = (replace(plan.job.attendance[2], start=at(1, 17)),)
    alone = replace(later, job=replace(plan.job, attendance=crew))

    assert why_small(plan, plan.plates[1]) == (
        "Small on purpose: the last on bench right, so that all printers are done early"
    )
    assert why_small(followed, plan.plates[1]) == (
        "Small on purpose: done in time for P3 to start at Sat 14:00, while somebody is there"
    )
    assert "chosen for the hours" in why_small(later, plan.plates[1])
    assert "there again" not in why_small(alone, plan.plates[1])
    crew = (replace(crew[0], start=at(1, 18)),)
    alone = replace(later, job=replace(plan.job, attendance=crew))
    assert why_small(alone, plan.plates[1]).endswith(
        "done before somebody is there again, who starts P3 at Sat 18:00"
    )


def test_full_plates_first_articles_and_only_ones_need_no_reason(plan):
    """Nor do plates that do not run: there the reason is another."""
    full = replace(plan.plates[1], fill=0.5)
    alone = replace(plan, plates=plan.plates[:2])

    assert why_small(plan, full) == ""
    assert why_small(plan, plan.plates[0]) == ""
    assert why_small(alone, plan.plates[1]) == ""
    assert small_plates(plan) == ("P2", "P3")  # P4 has no run


def test_full_plates_leave_something_over(plan):
    """Where full plates end as early, the small one has what is left."""
    full = replace(plan, hours=replace(WON, full_finish=WON.finish))

    assert why_small(full, plan.plates[1]) == "Holds what the fuller plates of its kind leave over"
    assert small_plates(full) == ()


def test_every_report_tells_it(plan):
    """Terminal, page and document."""
    told = replace(plan, hours=WON)
    screen = " ".join(said(print_plan, told, width=100).split())
    page, document = Page(plan_html(told)).text, plan_document(told)

    assert "Small on purpose, for the hours: P2, P3." in screen
    for text in (screen, page):
        assert "which wins 5 h 30 min: filled first and given their hours then" in text
    assert "Small on purpose: the last on cupboard" in page
    assert document["hours_won"]["won_s"] == 5.5 * 3600
    assert [plate["why_small"] is None for plate in document["plates"]] == [
        True,
        False,
        False,
        True,
    ]


def test_complete_sets_are_told_everywhere(plan):
    """What is worth something once complete, and what is not complete in time, with the reason."""
    weekend = replace(
        plan.weekend, sets_done=("wall",), sets_missed=(("shelf", "P4 is not scheduled"),)
    )
    told = replace(plan, weekend=weekend)
    lines = ("Complete in time: wall", "shelf is not complete in time: P4 is not scheduled")
    pages = (
        said(print_plan, told),
        said(print_weekend, roster_of_plan(told)),
        Page(plan_html(told)).text,
        Page(schedule_html(roster_of_plan(told))).text,
    )

    for text in pages:
        for line in lines:
            assert line in text
    assert plan_document(told)["sets"] == [
        {"set": "wall", "complete": True},
        {"set": "shelf", "complete": False, "reason": "P4 is not scheduled"},
    ]


def test_what_is_missed_stands_out_whatever_its_name(plan):
    """A set may be called as the sentence on the complete ones begins."""
    missed = (("Complete wall", "P4 is not scheduled"),)
    weekend = replace(plan.weekend, sets_done=("shelf",), sets_missed=missed)
    page = schedule_html(roster_of_plan(replace(plan, weekend=weekend)))

    assert '<p class="warn">Complete wall is not complete in time' in page
    assert "<p>Complete in time: shelf" in page


def test_blocked_hours_are_in_the_legend_where_there_are_some(plan):
    """Hatched, with the reason for those who point at them."""
    quiet = Blocked(start=at(1, 1), end=at(1, 3), why="quiet hours")
    first, *others = plan.job.machines
    job = replace(plan.job, machines=(replace(first, blocked=(quiet,)), *others))
    blocked = Page(plan_html(replace(plan, job=job))).text

    assert "must not run" in blocked
    assert "bench left: quiet hours" in blocked
    assert "must not run" not in Page(plan_html(plan)).text
