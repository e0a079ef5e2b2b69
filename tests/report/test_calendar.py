"""The visits as a calendar, read back by the icalendar library and by the letter of RFC 5545."""

import re
from dataclasses import replace
from datetime import UTC, timedelta

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.report.calendar import visits_ics
from planner.report.roster import roster_of_plan, roster_of_weekend
from planner.report.words import errand

from .conftest import FRIDAY, at, make_plan


def events_of(content):
    return icalendar.Calendar.from_ical(content).walk("VEVENT")


def test_every_visit_is_an_event_at_its_time(plan):
    """Validation with the icalendar reader: times in UTC, the errand as the title."""
    events = events_of(visits_ics(roster_of_plan(plan)))

    assert len(events) == len(plan.weekend.visits)
    for event, visit in zip(events, plan.weekend.visits, strict=True):
        assert event.decoded("dtstart") == visit.at.astimezone(UTC)
        assert event.decoded("dtend") == visit.until.astimezone(UTC)
        assert str(event["summary"]) == errand(visit)
    assert str(events[2]["summary"]) == "cupboard: start P3 with grey 1 (change the spool)"


def test_each_event_has_what_rfc_5545_requires(plan):
    """Section 3.6.1: UID and DTSTAMP in each event; 3.6: PRODID and VERSION in the calendar."""
    calendar = icalendar.Calendar.from_ical(visits_ics(roster_of_plan(plan)))

    assert str(calendar["version"]) == "2.0"
    assert "Platewright" in str(calendar["prodid"])
    uids = [str(event["uid"]) for event in calendar.walk("VEVENT")]
    assert len(set(uids)) == len(plan.weekend.visits)
    assert all("dtstamp" in event for event in calendar.walk("VEVENT"))
    assert not calendar.errors


def test_lines_are_folded_at_75_octets_and_end_in_crlf(hostile_plan):
    """Section 3.1: CRLF, and no line longer than 75 octets without its line break."""
    content = visits_ics(roster_of_plan(hostile_plan))

    assert content.endswith(b"\r\n")
    lines = content.split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    content.decode()  # folding must not cut a character in two for readers that decode first


def test_same_plan_gives_the_same_bytes():
    """The stamp is the job's start, not the clock; names of events are hashes of what they are."""
    content = visits_ics(roster_of_plan(make_plan()))

    assert content == visits_ics(roster_of_plan(make_plan()))
    assert {event.decoded("dtstamp") for event in events_of(content)} == {FRIDAY.astimezone(UTC)}


def test_a_hostile_name_cannot_add_lines(plan):
    """A line break in a printer's name does not start a property of its own."""
    visit = replace(plan.weekend.visits[0], machine="x\r\nATTENDEE:mailto:a@example.org")
    weekend = replace(plan.weekend, visits=(visit,))

    content = visits_ics(roster_of_plan(replace(plan, weekend=weekend)))

    assert b"\r\nATTENDEE" not in content
    assert len(events_of(content)) == 1


def test_a_visit_without_length_still_takes_a_minute(plan):
    """RFC 5545 section 3.6.1 wants the end after the start."""
    visit = plan.weekend.visits[0]
    weekend = replace(plan.weekend, visits=(replace(visit, until=visit.at),))

    (event,) = events_of(visits_ics(roster_of_plan(replace(plan, weekend=weekend))))

    assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(minutes=1)


# RFC 5545: sections 3.1 (content lines), 3.3.5 (form 2: UTC), 3.3.11 (TEXT), 3.6 (which
# properties a component must and may have, and how often), read by its letter.
LINE = re.compile(r"(?P<name>[A-Z-]+)(?:;[A-Z-]+=[^;:,\"]+)*:(?P<value>.*)")
UTC_TIME = re.compile(r"\d{8}T\d{6}Z")
TEXT = re.compile(r"(?:[^\\;,\x00-\x08\x0a-\x1f\x7f]|\\[\\;,nN])*")
TEXTS = {"SUMMARY", "DESCRIPTION", "LOCATION", "NAME", "UID"}
ONCE = {
    "VCALENDAR": {"PRODID", "VERSION", "METHOD", "NAME"},
    "VEVENT": {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "LOCATION"},
    "VALARM": {"ACTION", "DESCRIPTION", "TRIGGER"},
}
INSIDE = {"VCALENDAR": None, "VEVENT": "VCALENDAR", "VALARM": "VEVENT"}


def read_by_the_letter(content):
    """Check the file against the rules above; return the UIDs in order."""
    assert content.endswith(b"\r\n")
    raw = content[:-2].split(b"\r\n")
    assert max(len(line) for line in raw) <= 75
    text = content.decode().replace("\r\n ", "")  # unfold: 3.1
    stack, seen, uids = [], [], []
    for line in text.removesuffix("\r\n").split("\r\n"):
        told = LINE.fullmatch(line)
        assert told, line
        name, value = told["name"], told["value"]
        if name == "BEGIN":
            assert INSIDE[value] == (stack[-1] if stack else None)
            stack.append(value)
            seen.append(set())
        elif name == "END":
            assert stack.pop() == value
            assert seen.pop() == ONCE[value]
        else:
            assert name in ONCE[stack[-1]], line
            assert name not in seen[-1], line
            seen[-1].add(name)
            if name in TEXTS:
                assert TEXT.fullmatch(value), line
            if name in {"DTSTAMP", "DTSTART", "DTEND"}:
                assert UTC_TIME.fullmatch(value), line
            uids += [value] if name == "UID" else []
    assert stack == []
    return uids


def test_the_file_keeps_to_the_letter_of_the_rules(plan, hostile_plan):
    """Every line, every property, every value; each event once."""
    for told in (plan, hostile_plan):
        uids = read_by_the_letter(visits_ics(roster_of_plan(told)))
        assert len(uids) == len(set(uids)) == len(told.weekend.visits)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"VERSION:2.0\r\n", b""),
        (b"DTSTART:", b"DTSTART;TZID=Europe/Lisbon:"),
        (b"SUMMARY:", b"SUMMARY:a,b"),
        (b"END:VALARM\r\n", b""),
        (b"\r\n", b"\n"),
        (b"Z\r\n", b"\r\n"),
        (b"UID:", b"UID:x\r\nUID:"),
    ],
)
def test_the_letter_of_the_rules_can_be_broken(plan, old, new):
    """The check above is awake: each of these faults is seen."""
    content = visits_ics(roster_of_plan(plan))
    assert old in content

    broken = content.replace(old, new)
    if old == b"DTSTART:":  # a zone may be named, but then the time is no UTC
        broken = broken.replace(b"Z\r\nDTEND", b"\r\nDTEND")
    with pytest.raises((AssertionError, KeyError)):
        read_by_the_letter(broken)


@given(name=st.text(min_size=1, max_size=60))
def test_any_name_keeps_to_the_rules(plan, name):
    """Commas, semicolons, backslashes, line breaks, letters of four octets."""
    roster = roster_of_plan(plan)
    visits = tuple(replace(visit, machine=name, who=name) for visit in roster.made.visits)
    named = replace(roster, name=name, made=replace(roster.made, visits=visits))

    assert len(read_by_the_letter(visits_ics(named))) == len(visits)


def test_a_visit_that_moves_keeps_its_name(plan):
    """Made again with other hours, the plan moves the event; another weekend has its own."""
    roster = roster_of_plan(plan)
    later = tuple(
        replace(v, at=v.at + timedelta(minutes=5), until=v.until + timedelta(minutes=5))
        for v in roster.made.visits
    )
    moved = replace(roster, made=replace(roster.made, visits=later))
    week = replace(roster, weekend=replace(roster.weekend, start=FRIDAY + timedelta(days=7)))
    names = read_by_the_letter(visits_ics(roster))

    assert read_by_the_letter(visits_ics(moved)) == names
    assert not set(read_by_the_letter(visits_ics(week))) & set(names)


def test_the_event_tells_every_step(plan):
    """What to take off, put on and start, when that is done, and what is next."""
    events = events_of(visits_ics(roster_of_plan(plan)))

    assert str(events[2]["description"]).splitlines() == [
        "Who: evening crew",
        "Put on spool grey 1 (PLA, grey)",
        "Start P3: 6 key, 12 panel, 123 g",
        "It is done at Sat 11:10, after 14 h 00 min",
        "P3 runs 10 h 30 min with nobody there",
        "Next in 11 h 52 min: Sat 09:10, bench right",
    ]


def test_each_event_reminds_once(plan):
    """Ten minutes before, in words."""
    for event in events_of(visits_ics(roster_of_plan(plan))):
        (alarm,) = event.walk("VALARM")
        assert alarm.decoded("trigger") == -timedelta(minutes=10)
        assert str(alarm["description"]) == str(event["summary"])


def test_plates_made_elsewhere_have_a_calendar_too(plan):
    """With a start in a fixed offset, as a file without a zone gives it."""
    roster = roster_of_plan(plan)
    start = at(0, 18).astimezone(UTC)
    bare = roster_of_weekend("plates", replace(roster.weekend, start=start), plan.weekend)

    assert len(read_by_the_letter(visits_ics(bare))) == len(plan.weekend.visits)
