"""The list of visits for a phone and the run sheets for the wall: what they say, and to whom."""

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.job.model import Blocked
from planner.report.errands import alone_words, check_words, errands_by_day
from planner.report.roster import roster_of_plan, roster_of_weekend
from planner.report.sheets import sheets_html
from planner.report.visits_page import visits_html

from .conftest import HOSTILE, at, make_plan
from .test_html import Page


def told(plan):
    """Return the run sheets of a plan."""
    return sheets_html(roster_of_plan(plan), plan)


@pytest.fixture(scope="module")
def roster(plan):
    """Return the weekend with all that the plan knows of its plates."""
    return roster_of_plan(plan)


@pytest.fixture(scope="module")
def bare(plan, roster):
    """Return the same weekend as if its plates were made elsewhere."""
    return roster_of_weekend("elsewhere", roster.weekend, plan.weekend)


def test_each_visit_says_what_to_do_in_order(roster):
    """Friday 21:10: the spool, the plate, when it is done; and what is next."""
    (friday, visits), (saturday, _) = errands_by_day(roster)

    assert (friday, saturday) == ("Fri 27 Nov", "Sat 28 Nov")
    assert visits[2].steps == (
        "Put on spool grey 1 (PLA, grey)",
        "Start P3: 6 key, 12 panel, 123 g",
        "It is done at Sat 11:10, after 14 h 00 min",
    )
    assert visits[2].alone == "P3 runs 10 h 30 min with nobody there"
    assert visits[2].after == "Next in 11 h 52 min: Sat 09:10, bench right"


def test_a_first_article_is_checked_when_it_is_taken_off(roster):
    """P2 and P3 and P4 wait for P1: 20 min of trying it stand in the list."""
    visits = dict(errands_by_day(roster))["Fri 27 Nov"]

    assert visits[1].steps == (
        "Take off P1: 1 crate, 1 key, 1 panel",
        "Check P1 for 20 min before P2, P3 and P4 may start",
    )
    assert check_words(roster, "P2") == ""


def test_the_last_visit_says_so(roster):
    """Nobody waits for another."""
    assert errands_by_day(roster)[-1][1][-1].after == "This was the last visit"


def test_a_spool_that_is_on_is_not_changed(roster):
    """The same words whether it stays from the last plate: start from it."""
    first = dict(errands_by_day(roster))["Fri 27 Nov"][0]

    assert first.steps[0] == (
        "Start P1 from grey 1, which is on it: 1 crate, 1 key, 1 panel, 123 g"
    )


def test_a_second_spool_has_steps_of_its_own(roster):
    """To be made ready with the first, or to be put on when that one ends."""
    visit = replace(roster.made.visits[2], second_spool="grey 2")
    later = replace(visit, start=None, spool="grey 2", second_spool=None, feeds="P3", at=at(1, 9))
    made = replace(roster.made, visits=(visit, later))
    (_, (one,)), (_, (other,)) = errands_by_day(replace(roster, made=made))

    assert "Make ready spool grey 2, which feeds after it" in one.steps
    assert other.steps == ("Put on spool grey 2 (PLA, grey)", "Let P3 go on")


def test_time_alone_is_told_only_where_there_is_some(roster):
    """P1 is watched all the time."""
    assert alone_words(roster.made.runs[0]) == ""
    assert alone_words(roster.made.runs[2]) == "P3 runs 10 h 30 min with nobody there"


def test_plates_made_elsewhere_are_told_by_what_they_take(bare):
    """Without parts there is still the material."""
    visits = dict(errands_by_day(bare))["Fri 27 Nov"]

    assert visits[1].steps[0] == "Take off P1: PLA, grey"


@pytest.mark.parametrize("known", [True, False])
def test_the_list_can_be_ticked_without_scripts(roster, bare, known):
    """A real box per visit inside its label; no script, no link to anywhere, nothing loaded."""
    text = visits_html(roster if known else bare)
    page = Page(text)

    assert page.open == []
    boxes = [v for t, n, v in page.attributes if (t, n) == ("input", "type")]
    assert boxes == ["checkbox"] * 6
    assert page.tags.count("label") == page.tags.count("time") == 6
    assert "script" not in page.tags
    assert [v for _, n, v in page.attributes if n in {"src", "href"}] == ["#day-1", "#day-2"]
    assert "default-src 'none'" in text


def test_the_list_tells_what_is_left_over(roster):
    """A plate without a run and a remark of the schedule are no secrets on the phone."""
    made = replace(roster.made, remarks=("P2 stays on bench right",))
    page = Page(visits_html(replace(roster, made=made)))

    assert "Not scheduled: P4: no attended hour is left" in page.text
    assert "P2 stays on bench right" in page.text


def test_an_empty_list_says_so(roster):
    """No visits is an answer."""
    made = replace(roster.made, visits=(), runs=(), finish=None)

    assert "no plate could be scheduled" in Page(visits_html(replace(roster, made=made))).text


def test_every_printer_has_its_sheet_in_order(plan):
    """A sheet for each of three, with its own plates by time, a picture and boxes each."""
    text = told(plan)
    page = Page(text)
    sheets = text.split('<section class="sheet"')[1:]

    assert page.open == []
    assert len(sheets) == 3
    assert [re.findall(r'class="id">(\w+)<', sheet) for sheet in sheets] == [["P1"], ["P2"], ["P3"]]
    assert page.tags.count("svg") == 3
    assert page.tags.count("input") == 4 * 3


def test_a_sheet_says_what_to_fit_feed_and_set(plan):
    """Nozzle, spool, layers, temperatures, counts, grams, hours and checks."""
    page = Page(told(plan))

    for said in (
        "cupboard Nozzle 0.4 mm",
        "open_frame_220, 1 plate, 3 copies, 123 g",
        "grey 1 (PLA, grey) PLA, layers 0.2 mm, nozzle 0.4 mm at 210 \u00b0C, bed 55 \u00b0C",
        "21:10 Fri 27 Nov done Sat 11:10 after 14 h 00 min",
        "18 copies, 123 g; may take 11 h 54 min to 18 h 12 min",
        "Check P1 for 20 min before P2, P3 and P4 may start.",
        "Only once P1 is found to fit.",
        "Alone: P3 runs 10 h 30 min with nobody there.",
        "Somebody is there as long as it runs, if the plan is kept.",
    ):
        assert said in page.text, said


def test_cautions_of_the_printer_stand_on_every_sheet(plan):
    """Fire and fumes, not the wall: three printers, three times."""
    warned = replace(plan, cautions=("Fire: be there.", "Fumes: air.", "Drilling: mind cables."))
    text = Page(told(warned)).text

    assert text.count("Fire: be there.") == text.count("Fumes: air.") == 3
    assert "Drilling" not in text


def test_a_sheet_begins_on_a_new_page_and_no_plate_is_cut(plan):
    """The rules of paper: a break after each sheet, none inside a plate, no size of our own."""
    text = told(plan)
    paper = text[text.index("@media print") :]

    assert ".sheet{margin:0;break-after:page}" in paper
    assert "break-inside:avoid" in text
    assert not re.search(r"@page\{[^}]*size", text)


def test_parts_of_different_heat_are_told(plan):
    """What a plate asks for is a range if its parts differ."""
    cool = replace(plan.parts[1].part.settings, nozzle_c=200)
    parts = list(plan.parts)
    parts[1] = replace(parts[1], part=replace(parts[1].part, settings=cool))

    assert "at 200 to 210 \u00b0C" in Page(told(replace(plan, parts=tuple(parts)))).text


def test_a_sheet_says_when_its_printer_must_not_run(plan):
    """Its own quiet hours and maintenance, up to a day after its last run on Friday evening."""
    first, *others = plan.job.machines
    nights = tuple(Blocked(start=at(n, 22), end=at(n + 1, 7), why="quiet hours") for n in range(2))
    quiet = replace(plan, job=replace(plan.job, machines=(replace(first, blocked=nights), *others)))

    said = "Must not run: Fri 22:00 to Sat 07:00. "
    assert Page(told(quiet)).text.count(said) == 1
    assert "Must not run" not in Page(told(plan)).text


def test_a_printer_without_plates_has_a_sheet_that_says_so(plan):
    """An empty page on the wall is better than one that is missing."""
    weekend = replace(plan.weekend, runs=(), visits=(), finish=None)

    assert Page(told(replace(plan, weekend=weekend))).text.count("Nothing runs on") == 3


def test_hostile_names_are_text_on_both_pages(hostile_plan):
    """No element that a name brought along, no character that steers."""
    for text in (visits_html(roster_of_plan(hostile_plan)), told(hostile_plan)):
        assert "script" not in Page(text).tags
        assert "\x1b" not in text
        assert HOSTILE.replace("\x1b", "\ufffd") in Page(text).text


@given(name=st.text(min_size=1, max_size=30))
def test_any_name_leaves_the_pages_whole(plan, name):
    """Whatever a printer, a person and a spool are called, what opens closes."""
    roster = roster_of_plan(plan)
    visit = replace(roster.made.visits[2], machine=name, who=name, spool=name)
    made = replace(roster.made, visits=(visit,), remarks=(name,))

    assert Page(visits_html(replace(roster, made=made))).open == []


def test_the_same_plan_gives_the_same_pages():
    """No clock, no order of sets."""
    one, other = make_plan(), make_plan()

    assert told(one) == told(other)
    assert visits_html(roster_of_plan(one)) == visits_html(roster_of_plan(other))


def test_plates_made_elsewhere_have_sheets_without_pictures(bare):
    """Hours, spool, grams, checks and boxes are known; nozzle and settings are not."""
    page = Page(sheets_html(bare))

    assert page.open == []
    assert "svg" not in page.tags
    assert page.tags.count("input") == 4 * 3
    assert "grey 1 (PLA, grey) 123 g" in page.text
    assert "Nozzle" not in page.text
    assert "Fire: do not leave printers on" in page.text
