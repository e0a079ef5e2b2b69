"""The timeline of characters: where every sign stands, at any width, with any name."""

import io
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from planner.report.bars import ASCII, BLOCKS, print_timeline
from planner.report.roster import roster_of_plan

from .conftest import at


def told(roster, width=80, encoding="utf-8"):
    """Return the lines a console of that width and encoding shows."""
    stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    print_timeline(Console(file=stream, width=width), roster)
    stream.flush()
    return stream.buffer.getvalue().decode(encoding).splitlines()


@pytest.fixture(scope="module")
def roster(plan):
    return roster_of_plan(plan)


def lane(lines, name, number=0):
    """Return the bars of a printer on one of the days, names cut off."""
    return [line for line in lines if line.startswith(name)][number][len("bench right ") :]


def test_a_run_stands_under_its_hours(roster):
    """P1 from 18:05 to 20:35 at 30 min a sign: signs 36 to 41, named, somebody there."""
    friday = lane(told(roster), "bench left")

    assert friday.index("P1") == 36
    assert friday[36:41] == "P1" + 3 * BLOCKS.busy
    assert friday[41:45] == 4 * BLOCKS.there  # the crew stays until 22:30


def test_a_run_goes_on_the_next_day_under_its_name(roster):
    """P3 from Friday 21:10 to Saturday 11:10; alone until 9:00."""
    lines = told(roster)
    saturday = lane(lines, "cupboard", 1)

    assert lane(lines, "cupboard")[42:48] == "P3" + BLOCKS.busy + 3 * BLOCKS.alone
    assert saturday[:18] == "P3" + 16 * BLOCKS.alone
    assert saturday[18:22] == 4 * BLOCKS.busy
    assert saturday[22:24] == 2 * BLOCKS.there


def test_hours_that_two_people_share_count_once(roster):
    """Two who come at 22:30 for ten minutes of a half hour are not there for most of it."""
    crew = roster.weekend.attendance[0]
    late = [replace(crew, who=who, start=at(0, 22, 30), end=at(0, 22, 40)) for who in ("ada", "bo")]
    there = (*roster.weekend.attendance, *late)
    shared = replace(roster, weekend=replace(roster.weekend, attendance=there))

    assert lane(told(shared), "bench left") == lane(told(roster), "bench left")


def test_hours_and_nights_are_on_the_ruler(roster):
    """A cross at each hour that is written; double from 22:00 to 6:00."""
    _, _, days, hours, ruler, *_ = told(roster)

    assert days.strip() == "Fri 27 Nov"
    for sign, digits in ((0, "00"), (6, "03"), (42, "21")):
        assert hours[12 + sign : 14 + sign] == digits
        assert ruler[12 + sign] == BLOCKS.tick
    assert ruler[12 + 44 : 12 + 48] == 4 * BLOCKS.dark
    assert ruler[12 + 13] == BLOCKS.light


def test_the_deadline_crosses_every_lane(roster):
    """Sunday 20:00 is sign 40 of its day."""
    lines = told(roster)

    lanes = [lane(lines, name, 2) for name in ("bench left", "bench right", "cupboard")]
    assert [each.find(BLOCKS.deadline) for each in lanes] == [40, 40, 40]
    assert lines[-2].count("deadline, Sun 29 Nov 20:00") + lines[-1].count("20:00") >= 1


def test_a_deadline_in_the_morning_leaves_the_date_alone(roster):
    """At 8:00 the word would lie over the date, so it stands behind its sign."""
    weekend = replace(roster.weekend, deadline=at(2, 8))
    lines = told(replace(roster, weekend=weekend))

    days = next(line for line in lines if "deadline" in line)
    assert "Sun 29 Nov" in days
    assert days.index("deadline") == days.index("Sun") + 16


def test_an_old_terminal_gets_plain_letters(roster):
    """The same picture in ASCII, sign for sign."""
    fine, plain = told(roster), told(roster, encoding="ascii")
    swap = str.maketrans({getattr(BLOCKS, name): getattr(ASCII, name) for name in BLOCKS.__slots__})

    assert [line.translate(swap) for line in fine[:-2]] == plain[:-2]
    assert all(line.isascii() for line in plain)


@pytest.mark.parametrize("width", [24, 40, 60, 80, 100, 132, 250])
def test_no_line_is_wider_than_the_terminal(plan, hostile_plan, width):
    """Coarser signs where there is less room; nothing ends in blanks."""
    for each in (plan, hostile_plan):
        lines = told(roster_of_plan(each), width)
        assert max(map(cell_len, lines), default=0) <= width
        assert [line for line in lines if line != line.rstrip()] == []


def test_many_printers_take_one_piece(roster):
    """Forty printers day under day would be more than anybody scrolls."""
    machines = [replace(roster.weekend.machines[0], id=f"printer {n}") for n in range(1, 41)]
    many = replace(
        roster,
        weekend=replace(roster.weekend, machines=tuple(machines)),
        made=replace(roster.made, runs=(), visits=()),
    )
    lines = told(many)

    assert sum(line.startswith("printer ") for line in lines) == 40
    assert lines[2].split() == ["Fri", "Sat", "28", "Nov", "Sun", "29", "Nov", "deadline"]


def test_a_day_of_25_hours_has_two_signs_more(roster):
    """Lisbon, 25 October 2026: the hour from 1 to 2 comes twice, and all after it is later."""
    zone = ZoneInfo("Europe/Lisbon")
    dawn = datetime(2026, 10, 25, tzinfo=zone)
    start = dawn.replace(hour=12)
    run = replace(roster.made.runs[0], start=start, end=start + timedelta(hours=3))
    autumn = replace(
        roster,
        weekend=replace(roster.weekend, start=dawn, deadline=None, attendance=()),
        made=replace(roster.made, runs=(run,), visits=()),
    )
    lines = told(autumn, 64)  # 11 names, a blank, 50 signs

    assert lane(lines, "bench left").index("P1") == 26
    assert lines[3].rstrip()[12 + 26 : 12 + 28] == "12"


def test_a_short_run_is_named_behind_its_bar(roster):
    """20 minutes are one sign; the name fits where nobody prints."""
    short = replace(roster.made.runs[0], plate="P17", end=at(0, 18, 35), start=at(0, 18))
    alone = replace(roster, made=replace(roster.made, runs=(short,)))

    assert lane(told(alone), "bench left")[36:40] == BLOCKS.busy + "P17"


def test_quiet_hours_are_crossed(roster):
    """Where a printer must not run, whether anybody is there or not."""
    from planner.job.model import Blocked

    first, *others = roster.weekend.machines
    quiet = Blocked(start=at(1, 1), end=at(1, 3), why="quiet")
    served = Blocked(start=at(1, 15), end=at(1, 17), why="maintenance")
    weekend = replace(roster.weekend, machines=(replace(first, blocked=(quiet, served)), *others))
    lines = told(replace(roster, weekend=weekend))

    assert lane(lines, "bench left", 1)[2:6] == 4 * BLOCKS.blocked
    assert lane(lines, "bench left", 1)[29:35] == (BLOCKS.there + 4 * BLOCKS.blocked + BLOCKS.there)
    assert f"{BLOCKS.blocked} must not run" in " ".join(lines)


@given(name=st.text(min_size=1, max_size=30), plate=st.text(min_size=1, max_size=12))
def test_any_name_keeps_the_hours_in_place(plan, name, plate):
    """Wide letters, escape sequences, line breaks: each lane stays as long as the ruler."""
    roster = roster_of_plan(plan)
    first = replace(roster.weekend.machines[0], id=name)
    run = replace(roster.made.runs[0], machine=name, plate=plate)
    made = replace(
        roster,
        weekend=replace(roster.weekend, machines=(first,)),
        made=replace(roster.made, runs=(run,)),
    )
    lines = told(made)

    assert "\x1b" not in "".join(lines)
    assert max(map(cell_len, lines)) <= 80
    assert len(lines) == len(told(replace(made, made=replace(made.made, runs=()))))
