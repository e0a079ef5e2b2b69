"""The visits as an iCalendar file (RFC 5545), one event each, times in UTC.

UTC needs no table of zones in the file; every calendar shows it in its owner's time.
"""

from __future__ import annotations

from datetime import UTC, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

import icalendar

from planner.report.words import contents, errand, hours, plain, thing

if TYPE_CHECKING:
    from datetime import datetime

    from planner.handover.model import Plan, PlannedPlate
    from planner.schedule.model import Visit

REMIND_MIN = 10
"""The reminder comes this long before: invented."""


def visits_ics(plan: Plan) -> bytes:
    """Return the calendar; the same plan gives the same bytes, so a new import updates it."""
    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//Platewright//visits 1//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", plain(plan.job.name))
    plates = {plate.id: plate for plate in plan.plates}
    for visit in plan.weekend.visits:
        calendar.add_component(_event(visit, plan, plates))
    return bytes(calendar.to_ical())


def _event(visit: Visit, plan: Plan, plates: dict[str, PlannedPlate]) -> icalendar.Event:
    event = icalendar.Event()
    event.add("uid", _uid(visit, plan))
    event.add("dtstamp", _utc(plan.job.start))  # not the clock: see determinism above
    event.add("dtstart", _utc(visit.at))
    event.add("dtend", _utc(max(visit.until, visit.at + timedelta(minutes=1))))
    event.add("summary", errand(visit))
    event.add("description", _description(visit, plates))
    event.add("location", plain(visit.machine))
    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", errand(visit))
    alarm.add("trigger", -timedelta(minutes=REMIND_MIN))
    event.add_component(alarm)
    return event


def _description(visit: Visit, plates: dict[str, PlannedPlate]) -> str:
    lines = [f"Who: {plain(visit.who)}"]
    if visit.take_off is not None:
        lines.append(f"Take off {plain(visit.take_off)}: {_contents(plates, visit.take_off)}")
    if visit.start is not None:
        lines.append(f"Start {plain(visit.start)}: {_contents(plates, visit.start)}")
        if visit.start in plates:
            lines.append(_duration(plates[visit.start], visit.machine))
    return "\n".join(lines)


def _contents(plates: dict[str, PlannedPlate], name: str) -> str:
    return contents(plates[name]) if name in plates else "see the plan"


def _duration(plate: PlannedPlate, machine: str) -> str:
    copies = thing(len(plate.placements), "copy", "copies")
    seconds = plate.seconds.get(machine)
    return copies if seconds is None else f"{copies}, {hours(seconds)} until the plate is free"


def _uid(visit: Visit, plan: Plan) -> str:
    """Name the event by what it is, so that a plan made again does not double it."""
    what = (plan.job.name, visit.at.astimezone(UTC).isoformat(), visit.machine)
    acts = (visit.take_off or "", visit.start or "")
    return f"{sha256(chr(0).join((*what, *acts)).encode()).hexdigest()[:32]}@platewright"


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC).replace(microsecond=0)
