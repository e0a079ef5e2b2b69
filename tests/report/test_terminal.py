"""What the terminal says, in 80 columns, whatever things are called."""

import io
import re
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from planner.handover.estimates import Estimate
from planner.nest.model import PackedPlate, Packing
from planner.report.packing import print_packing
from planner.report.roster import roster_of_plan
from planner.report.screen import Column, fold, print_table
from planner.report.terminal import (
    print_estimate,
    print_findings,
    print_plan,
    print_visits,
    print_weekend,
)
from planner.report.words import clock_hours

from .conftest import PLA

ZONE = ZoneInfo("Europe/Lisbon")


def said(show, *args, width=80, colour=False, **kwargs):
    """Return what a print function writes on a console of a given width."""
    stream = io.StringIO()
    show(Console(file=stream, width=width, force_terminal=colour), *args, **kwargs)
    return stream.getvalue()


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_is_wider_than_the_terminal(plan, hostile_plan, width):
    """Long names fold; nothing runs over the edge."""
    for told in (plan, hostile_plan):
        lines = said(print_plan, told, width=width).splitlines()
        assert max(map(len, lines)) <= width


def test_findings_lead_and_the_gravest_first(plan):
    """Stop before warn before note, before anything else; each with its remedy."""
    text = said(print_plan, plan)

    places = [text.index(mark) for mark in ("stop key", "warn panel", "note infill", "Parts")]
    assert places == sorted(places)
    assert text.count("set walls: 3 for this part") == 4


def test_notes_take_one_line_per_rule_in_the_plan_and_all_their_lines_in_an_audit(plan):
    """A screenful of remarks must not push the plan away; asked for by itself, all is told."""
    note = plan.findings[2]
    notes = [replace(note, part="panel"), replace(note, part="key")]

    brief = said(print_findings, notes, brief_notes=True)
    full = said(print_findings, notes)

    assert "note infill: key, panel\n" in brief
    assert "Do:" not in brief
    assert "note key and panel: infill: found 12 %" in full
    assert full.count("Do:") == 1


def test_sources_are_told_when_asked_for(plan):
    """The place always, what a rule rests on only with `sources`: the pages have it."""
    walls = plan.findings[:1]

    assert "job.yaml:20\n" in said(print_findings, walls)
    assert "job.yaml:20; source: common practice" in said(print_findings, walls, sources=True)


def test_findings_of_different_kinds_stay_apart(plan):
    """Equal rules with another value found are two things to mend."""
    walls = plan.findings[0]
    text = said(print_findings, [walls, replace(walls, part="key", found="1")])

    assert text.count("Do:") == 2


def test_nothing_ends_in_blanks(plan, hostile_plan):
    """A redirected plan can be compared and quoted line by line."""
    for told in (plan, hostile_plan):
        for width in (60, 80, 120):
            lines = said(print_plan, told, width=width).splitlines()
            assert [line for line in lines if line != line.rstrip()] == []


def test_plan_ends_in_short(plan):
    """What was found, when it is done and in hand, and where to begin: last on the screen."""
    mended = replace(plan, findings=plan.findings[2:3])
    late = replace(mended, job=replace(mended.job, deadline=mended.weekend.runs[0].end))

    assert said(print_plan, mended, width=100).splitlines()[-5:] == [
        "Findings: 0 stop, 0 warn, 1 note, told at the top",
        (
            "Finish:   Sat 28 Nov 13:40, 30 h 20 min before the deadline, Sun 29 Nov 20:00; "
            "1 plate of 4 not"
        ),
        "scheduled",
        "In hand:  Sat 28 Nov 14:00, when the last plate is taken off",
        "First:    Fri 27 Nov 18:05, bench left: start P1 with grey 1",
    ]
    assert "17 h 05 min after the deadline" in said(print_plan, late, width=100)
    assert said(print_plan, plan).endswith(
        "First:    mend what is marked stop at the top, then plan again\n"
    )


def test_an_empty_plan_ends_in_words(plan):
    """Nothing to start and nothing to finish are said, without a sum of nothing."""
    weekend = replace(plan.weekend, visits=(), runs=(), finish=None)
    totals = replace(plan.totals, filament_g=0.0, filament_g_by_material={})
    text = said(print_plan, replace(plan, weekend=weekend, totals=totals, findings=()))

    assert text.endswith("Finish:   nothing is scheduled\nFirst:    nothing to start\n")
    assert "Filament     none\n" in text


def test_hours_say_whose_they_are(plan):
    """Of a part: the quickest printer's; of a plate: with start-up."""
    text = said(print_plan, plan)

    quickest = min(time.middle_s for time in plan.parts[0].times.values())
    assert f"  {clock_hours(quickest)} (" in text
    assert "Hours each: on the quickest printer, start-up aside.\n" in text
    assert "Hours: on that printer, with start-up and cooling.\n" in text


def test_plan_says_what_to_act_on(plan):
    """One telling fact of every table, unbroken in 100 columns."""
    text = re.sub(" +", " ", said(print_plan, plan, width=110))

    for fact in (
        "left out: found 3 crate on no plate",
        "plate P4: no attended hour",
        "Fri 27 Nov 18:05 bench left: start P1 with grey 1",
        "0.4 mm, 0.2 mm, PLA, grey 4 3 area",
        "PLA grey: 6 key, 12 panel 123 g 14:00 31 %",
        "573 g",
        "26 h 33 min (22 h 34 min to 34 h 31 min)",
        "before the deadline, Sun 29 Nov 20:00",
        "Cautions",
    ):
        assert fact in text, fact


def test_names_cannot_steer_the_terminal(hostile_plan):
    """No escape character of a name reaches the screen, no [tag] is obeyed."""
    text = said(print_plan, hostile_plan, width=200)

    assert "\x1b" not in text
    assert "\ufffd[31m" in text


def test_rich_mark_up_in_a_name_is_text(plan):
    """A name such as [bold] is shown as typed."""
    visit = replace(plan.weekend.visits[0], machine="[bold red]bench[/]")

    assert "[bold red]bench[/]" in said(print_visits, [visit], ZONE)


def test_no_findings_is_said():
    """An empty list is an answer."""
    assert "Findings: none." in said(print_findings, [])


def test_estimate_shows_the_range_and_the_repairs(plan):
    """One copy: hours with bracket, repairs and an open mesh beneath."""
    ready = plan.parts[2]
    time = ready.times["open_frame_220"]

    text = said(print_estimate, [estimated(plan, "crate.stl")])

    spent = f"{clock_hours(time.middle_s)} ({clock_hours(0.85 * time.middle_s)}-"
    assert spent in text
    assert re.search(r"crate.stl +40.0x25.0x20.0 +100 +\d+ g +\d+\.\d\d m +1:14", text)
    assert "crate.stl: 1 triangle is missing" in text
    assert "not closed" in text


def estimated(plan, name, **changes):
    """Return the estimate of the crate under another name."""
    ready = plan.parts[2]
    estimate = Estimate(
        name=name,
        posed=ready.posed,
        layering=ready.layering,
        time=ready.times["open_frame_220"],
        filament=PLA,
        grams_range=(ready.grams * 0.96, ready.grams * 1.05),
        settings=ready.part.settings,
        printer=plan.plates[0].printer,
        quantity=1,
    )
    return replace(estimate, **changes)


def test_estimate_says_what_it_holds_for_once(plan):
    """Settings, printer and filament: one line for all meshes, or one per combination."""
    crate, box = estimated(plan, "crate"), estimated(plan, "box")
    thick = replace(crate.settings, name="draft_030")

    same = said(print_estimate, [crate, box])
    two = said(print_estimate, [crate, box, replace(box, settings=thick)])

    assert same.count("With settings sturdy_020 on open_frame_220 in pla.\n") == 1
    assert "2 meshes with settings sturdy_020 on open_frame_220 in pla" in two
    assert "1 mesh with settings draft_030 on open_frame_220 in pla" in two


def test_estimate_remarks_on_a_part_larger_than_the_bed(plan):
    """The crate is 40 x 25 x 20 mm: it fits a bed of 25 x 40 turned, and none of 24 x 40."""
    small = replace(plan.plates[0].printer, bed_width_mm=25, bed_depth_mm=40, height_mm=20)
    remark = "40.0x25.0x20.0 mm does not fit open_frame_220 ("

    assert remark not in said(print_estimate, [estimated(plan, "crate", printer=small)])
    for change in ({"bed_width_mm": 24}, {"height_mm": 19}):
        printer = replace(small, **change)
        assert remark in said(print_estimate, [estimated(plan, "crate", printer=printer)])


def test_estimate_tells_each_doubt_once(plan):
    """However many meshes; the corners are at 50 mm/s, so -5 % by the fixture."""
    meshes = [estimated(plan, "crate"), estimated(plan, "box")]
    text = " ".join(said(print_estimate, meshes).split())

    assert text.count("corners: -5 % to +9 %") == text.count("corners") == 1
    assert "melt" not in text


def test_estimate_of_a_job_keeps_each_part_on_one_line(plan):
    """In 80 columns: long names, three-digit sizes and ranges of ten hours and more."""
    time = replace(plan.parts[2].times["open_frame_220"], middle_s=45_000, range_s=(4e4, 6e4))
    rack = estimated(plan, "screwdriver_rack", quantity=12, time=time)
    rack = replace(rack, posed=replace(rack.posed, size_mm=(198.0, 44.0, 134.0)))

    text = said(print_estimate, [rack])

    line = r"^ +12  screwdriver_rack  198.0x44.0x134.0 +100 +\d+ g  12:30 \(11:07-16:40\)$"
    assert re.search(line, text, re.MULTILINE)


def test_names_break_after_an_underscore():
    """A word that fits a line is not broken at all; one that is too long at its joints."""
    assert fold("1 key, 1 screwdriver_rack", 17) == ["1 key, 1", "screwdriver_rack"]
    assert fold("screwdriver_rack", 13) == ["screwdriver_", "rack"]
    assert fold("meshes/wall/panel.stl", 12) == ["meshes/wall/", "panel.stl"]


@given(st.text(alphabet="ab_/ \u65e5"), st.integers(2, 12))
def test_folding_loses_nothing_and_fits(text, width):
    """Only blanks may go; no line takes more cells than there are."""
    lines = fold(text, width)

    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert max(map(cell_len, lines)) <= width


def test_a_table_takes_room_from_what_may_wrap():
    """Numbers stay whole, right under their heads; a blank row parts two days."""
    columns = (Column(head="On it", flow=True), Column(head="Mass", right=True))
    rows = [("one two three four", "1234 g"), (), ("five", "5 g")]

    assert said(print_table, "Plates", columns, rows, width=22).splitlines() == [
        "",
        "Plates",
        "On it             Mass",
        "\u2500" * 22,
        "one two three   1234 g",
        "four",
        "",
        "five               5 g",
    ]


def test_packing_and_weekend_stand_alone(plan):
    """The two smaller commands print their tables and bounds."""
    packed = PackedPlate(bed="big", placements=plan.plates[2].placements, fill=0.5)
    unplaced = (("rail", 2, "longer than any bed"),)
    packing = Packing(plates=(packed,), unplaced=unplaced, lower_bound=1, bound_by="area")

    nest = said(print_packing, packing)
    weekend = said(print_weekend, roster_of_plan(plan), width=100)

    assert "6 key, 12 panel" in nest
    assert "2 copies of rail on no plate: longer than any bed" in nest
    assert "1 plate, proven fewest (area)." in nest
    assert "10:30" in weekend
    assert "Fire: do not leave printers on" in weekend
    assert "\nFinish: " in weekend


def test_colour_is_used_only_where_there_is_a_terminal(plan):
    """A pipe gets plain text."""
    assert "\x1b[" in said(print_plan, plan, colour=True)
    assert "\x1b" not in said(print_plan, plan)


def test_cost_and_shopping_add_up_on_the_screen(plan):
    """Each plate's cost, what the sum is made of, whose wear is missing, what to buy."""
    text = re.sub(" +", " ", said(print_plan, plan, width=110))

    assert "Cost: filament, electricity and wear, in EUR.\n" in text
    assert re.search(r"31 % 3\.04\n", text)  # P1: 2.71 + 0.075 + 0.25 (half to even)
    assert "Cost 12.66 EUR: filament 10.86 EUR, electricity 0.80 EUR, wear 1.00 EUR\n" in text
    assert "wear of cupboard not counted: no wear_per_hour in the job file\n" in text
    assert (
        "PLA, grey 1.49 kg 1.47 kg to 1.52 kg 1.22 kg 274 g 1 spool of 1000 g 22.00 EUR\n" in text
    )
    assert "- PLA, grey: needed for P4\n" in text
    assert "- PLA, red: 190 g to 215 g may be needed, so 5.0 g could be missing\n" in text
    assert "To buy 22.00 EUR\n" in text


def test_spools_that_do_in_sum_only_are_told(plan):
    """A reader who adds up the shelf must learn why a spool is to be bought all the same."""
    grey = replace(plan.shopping[0], short_g=0.0, shelf_g=1500.0)
    text = " ".join(said(print_plan, replace(plan, shopping=(grey,)), width=110).split())

    assert "1.50 kg would do in sum, but P4 is left without a spool that has enough" in text


def test_wear_that_nobody_said_is_not_called_nothing(plan):
    """Without a word on any printer the whole of it is missing, and that is said."""
    totals = replace(plan.totals, wear_cost=0.0)
    text = said(print_plan, replace(plan, totals=totals), width=110)

    assert "wear not counted: no wear_per_hour in the job file\n" in text
    assert "wear 0.00" not in text
