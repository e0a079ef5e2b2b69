"""The visits as an iCalendar file (RFC 5545), one event each, times in UTC.

UTC needs no table of zones in the file; every calendar shows it in its owner's time.
"""

from __future__ import annotations

from datetime import UTC, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

import icalendar

from planner.report.errands import errands_by_day
from planner.report.words import errand, plain

if TYPE_CHECKING:
    from datetime import datetime

    from planner.report.errands import Errand
    from planner.report.roster import Roster
    from planner.schedule.model import Visit

REMIND_MIN = 10
"""The reminder comes this long before: invented."""


def visits_ics(roster: Roster) -> bytes:
    """Return the calendar; the same weekend gives the same bytes, so a new import updates it."""
    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//Platewright//visits 1//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", icalendar.vText(plain(roster.name)))  # else it is not escaped
    errands = [each for _, day in errands_by_day(roster) for each in day]
    for visit, told in zip(roster.made.visits, errands, strict=True):
        calendar.add_component(_event(roster, visit, told))
    return bytes(calendar.to_ical())


def _event(roster: Roster, visit: Visit, told: Errand) -> icalendar.Event:
    event = icalendar.Event()
    event.add("uid", _uid(roster, visit))
    event.add("dtstamp", _utc(roster.weekend.start))  # not the clock: the same bytes every time
    event.add("dtstart", _utc(visit.at))
    event.add("dtend", _utc(max(visit.until, visit.at + timedelta(minutes=1))))
    event.add("summary", errand(visit))
    event.add("description", _description(told))
    event.add("location", plain(visit.machine))
    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", errand(visit))
    alarm.add("trigger", -timedelta(minutes=REMIND_MIN))
    event.add_component(alarm)
    return event


def _description(told: Errand) -> str:
    alone = [told.alone] if told.alone else []
    return "\n".join([f"Who: {told.who}", *told.steps, *alone, told.after])


def _uid(roster: Roster, visit: Visit) -> str:
    """Name the event by what is done, not when: made again, a plan moves it, not doubles it.

    The start keeps the plates of one weekend apart from those of the next.
    """
    weekend = (roster.name, _utc(roster.weekend.start).isoformat())
    acts = (visit.machine, visit.take_off or "", visit.start or "", visit.feeds or "")
    digest = sha256("\0".join((*weekend, *acts)).encode(errors="replace"))
    return f"{digest.hexdigest()[:32]}@platewright"


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC).replace(microsecond=0)
