"""The visits as a calendar, read back by the icalendar library and by the letter of RFC 5545."""

from datetime import UTC, timedelta

import icalendar

from planner.report.calendar import visits_ics
from planner.report.words import errand

from .conftest import FRIDAY, make_plan


def events_of(content):
    return icalendar.Calendar.from_ical(content).walk("VEVENT")


def test_every_visit_is_an_event_at_its_time(plan):
    """Validation with the icalendar reader: times in UTC, the errand as the title."""
    events = events_of(visits_ics(plan))

    assert len(events) == len(plan.weekend.visits)
    for event, visit in zip(events, plan.weekend.visits, strict=True):
        assert event.decoded("dtstart") == visit.at.astimezone(UTC)
        assert event.decoded("dtend") == visit.until.astimezone(UTC)
        assert str(event["summary"]) == errand(visit)
    assert str(events[2]["summary"]) == "cupboard: start P3 with grey 1 (change the spool)"


def test_each_event_has_what_rfc_5545_requires(plan):
    """Section 3.6.1: UID and DTSTAMP in each event; 3.6: PRODID and VERSION in the calendar."""
    calendar = icalendar.Calendar.from_ical(visits_ics(plan))

    assert str(calendar["version"]) == "2.0"
    assert "Platewright" in str(calendar["prodid"])
    uids = [str(event["uid"]) for event in calendar.walk("VEVENT")]
    assert len(set(uids)) == len(plan.weekend.visits)
    assert all("dtstamp" in event for event in calendar.walk("VEVENT"))
    assert not calendar.errors


def test_lines_are_folded_at_75_octets_and_end_in_crlf(hostile_plan):
    """Section 3.1: CRLF, and no line longer than 75 octets without its line break."""
    content = visits_ics(hostile_plan)

    assert content.endswith(b"\r\n")
    lines = content.split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    content.decode()  # folding must not cut a character in two for readers that decode first


def test_same_plan_gives_the_same_bytes():
    """The stamp is the job's start, not the clock; names of events are hashes of what they are."""
    content = visits_ics(make_plan())

    assert content == visits_ics(make_plan())
    assert {event.decoded("dtstamp") for event in events_of(content)} == {FRIDAY.astimezone(UTC)}


def test_a_hostile_name_cannot_add_lines(plan):
    """A line break in a printer's name does not start a property of its own."""
    from dataclasses import replace

    visit = replace(plan.weekend.visits[0], machine="x\r\nATTENDEE:mailto:a@example.org")
    weekend = replace(plan.weekend, visits=(visit,))

    content = visits_ics(replace(plan, weekend=weekend))

    assert b"\r\nATTENDEE" not in content
    assert len(events_of(content)) == 1


def test_a_visit_without_length_still_takes_a_minute(plan):
    """RFC 5545 section 3.6.1 wants the end after the start."""
    from dataclasses import replace

    visit = plan.weekend.visits[0]
    weekend = replace(plan.weekend, visits=(replace(visit, until=visit.at),))

    (event,) = events_of(visits_ics(replace(plan, weekend=weekend)))

    assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(minutes=1)
