"""What the terminal says, in 80 columns, whatever things are called."""

import io
import re
from zoneinfo import ZoneInfo

import pytest
from rich.console import Console

from planner.handover.estimates import Estimate
from planner.nest.model import PackedPlate, Packing
from planner.report.terminal import (
    print_estimate,
    print_findings,
    print_packing,
    print_plan,
    print_visits,
    print_weekend,
)

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
    from dataclasses import replace

    note = plan.findings[2]
    notes = [replace(note, part="panel"), replace(note, part="key")]

    brief = said(print_findings, notes, brief_notes=True)
    full = said(print_findings, notes)

    assert "note infill: panel, key\n" in brief
    assert "Do:" not in brief
    assert full.count("Do:") == 2


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
        "29 Nov 20:00",
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
    from dataclasses import replace

    visit = replace(plan.weekend.visits[0], machine="[bold red]bench[/]")

    assert "[bold red]bench[/]" in said(print_visits, [visit], ZONE)


def test_no_findings_is_said():
    """An empty list is an answer."""
    assert "Findings: none." in said(print_findings, [])


def test_estimate_shows_the_range_and_the_repairs(plan):
    """One copy: hours with bracket, repairs and an open mesh beneath."""
    ready = plan.parts[2]
    time = ready.times["open_frame_220"]

    estimate = Estimate(
        name="crate.stl",
        posed=ready.posed,
        layering=ready.layering,
        time=time,
        filament=PLA,
        settings=ready.part.settings,
        printer=plan.plates[0].printer,
        quantity=1,
    )
    text = said(print_estimate, [estimate], width=100)

    assert "1:14 (1:03-1:36)" in text
    assert "crate.stl: 1 triangle is missing" in text
    assert "not closed" in text


def test_packing_and_weekend_stand_alone(plan):
    """The two smaller commands print their tables and bounds."""
    packed = PackedPlate(bed="big", placements=plan.plates[2].placements, fill=0.5)
    unplaced = (("rail", 2, "longer than any bed"),)
    packing = Packing(plates=(packed,), unplaced=unplaced, lower_bound=1, bound_by="area")

    nest = said(print_packing, packing)
    weekend = said(print_weekend, plan.weekend, ZONE, width=100)

    assert "6 key, 12 panel" in nest
    assert "2 copies of rail on no plate: longer than any bed" in nest
    assert "1 plate; no packing needs fewer than 1 (area)." in nest
    assert "10:30" in weekend


def test_colour_is_used_only_where_there_is_a_terminal(plan):
    """A pipe gets plain text."""
    assert "\x1b[" in said(print_plan, plan, colour=True)
    assert "\x1b" not in said(print_plan, plan)
