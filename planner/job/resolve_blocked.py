"""Quiet hours and maintenance as stretches of real time."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Protocol

from planner.job.blocked_form import is_daily
from planner.job.model import Blocked
from planner.job.moment import has_offset
from planner.job.resolve_times import moment_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from zoneinfo import ZoneInfo

    from planner.job.blocked_form import QuietForm, StretchForm
    from planner.job.faults import Faults
    from planner.job.model import Window

    class Resting(Protocol):
        """A printer's form that says when it must not run."""

        @property
        def quiet_hours(self) -> tuple[QuietForm, ...]:
            """Return its own quiet hours."""

        @property
        def maintenance(self) -> tuple[StretchForm, ...]:
            """Return when it is out of use."""


DAYS_MAX = 400
"""Quiet hours of every day are written out for so many days at most; a bound of our own."""

QUIET = "quiet hours"
MAINTENANCE = "maintenance"


def blocked_of(
    printers: Sequence[Resting],
    workshop: Sequence[QuietForm],
    days: tuple[datetime, datetime] | None,
    zone: ZoneInfo | None,
    faults: Faults,
    *,
    at: str = "",
) -> tuple[tuple[Blocked, ...], ...]:
    """Return when each printer must not run: the workshop's quiet hours, then its own rests.

    `days` is from when to when daily hours are written out: see `days_of`. `at` goes before
    the places of printers in faults.
    """
    everywhere = _quiet(workshop, "quiet_hours", days, zone, faults)
    rests = []
    for index, form in enumerate(printers):
        place = f"{at}printers[{index}]"
        own = _quiet(form.quiet_hours, f"{place}.quiet_hours", days, zone, faults)
        dated = (
            _dated(each, MAINTENANCE, f"{place}.maintenance[{k}]", zone, faults)
            for k, each in enumerate(form.maintenance)
        )
        upkeep = tuple(stretch for stretch in dated if stretch is not None)
        rests.append(tuple(dict.fromkeys((*everywhere, *own, *upkeep))))
    return tuple(rests)


def days_of(
    start: datetime | None, attendance: Sequence[Window]
) -> tuple[datetime, datetime] | None:
    """Return the time in which daily hours matter; None if it is not known.

    A run begins while somebody is there. If it goes on for two days after the last one has
    left, it has run through every daily hour of one of them; so later days add nothing.
    """
    if start is None or not attendance:
        return None
    return start, max(window.end for window in attendance) + timedelta(days=2)


def note_daily_without_zone(
    forms: Sequence[QuietForm | StretchForm], place: str, faults: Faults
) -> None:
    """Note hours of every day, and times without an offset, in a file without a time zone."""
    for index, form in enumerate(forms):
        for key, text in (("from", form.begin), ("to", form.end)):
            if is_daily(text) or not has_offset(text):
                faults.add(
                    f"{place}[{index}].{key}",
                    found=text,
                    expected="a date and time with an offset, since there is no time_zone",
                    remedy="add time_zone: a name such as Europe/Lisbon",
                )


def _quiet(
    forms: Sequence[QuietForm],
    place: str,
    days: tuple[datetime, datetime] | None,
    zone: ZoneInfo | None,
    faults: Faults,
) -> tuple[Blocked, ...]:
    found: list[Blocked] = []
    for index, form in enumerate(forms):
        where = f"{place}[{index}]"
        if not is_daily(form.begin):
            dated = _dated(form, QUIET, where, zone, faults)
            found += [dated] if dated is not None else []
        elif days is not None and zone is not None:
            if days[1] - days[0] > timedelta(days=DAYS_MAX):
                _note_too_many_days(where, days, faults)
            else:
                found += _daily(form, days, zone)
    return tuple(found)


def _dated(
    form: QuietForm | StretchForm, why: str, place: str, zone: ZoneInfo | None, faults: Faults
) -> Blocked | None:
    start = moment_of(form.begin, zone, f"{place}.from", faults)
    until = moment_of(form.end, zone, f"{place}.to", faults)
    if start is None or until is None:
        return None
    if until <= start:
        faults.add(
            f"{place}.to",
            found=f"{until:%Y-%m-%dT%H:%M}",
            expected=f"a time after from, {start:%Y-%m-%dT%H:%M}",
            remedy="swap the two, or write the next day if it goes past midnight",
        )
        return None
    return Blocked(start=start, end=until, why=why)


def _daily(form: QuietForm, days: tuple[datetime, datetime], zone: ZoneInfo) -> Iterator[Blocked]:
    """Yield the quiet hours of every day that touch `days`.

    In the nights when the clocks change, a time that comes twice, or never, is taken so that
    the quiet hours are longer.
    """
    begin, end = time.fromisoformat(form.begin), time.fromisoformat(form.end)
    day = days[0].astimezone(zone).date() - timedelta(days=1)
    while day <= days[1].astimezone(zone).date():
        last = day + timedelta(days=int(end <= begin))
        start = min(_both(datetime.combine(day, begin), zone))
        until = max(_both(datetime.combine(last, end), zone))
        if days[0] < until and start < days[1]:
            yield Blocked(start=start, end=until, why=QUIET)
        day += timedelta(days=1)


def _both(local: datetime, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the one or two moments that a local time may mean, in UTC."""
    first, second = (local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    return first, second


def _note_too_many_days(place: str, days: tuple[datetime, datetime], faults: Faults) -> None:
    faults.add(
        place,
        found=f"hours of every day, and attendance until {days[1] - timedelta(days=2):%Y-%m-%d}",
        expected=f"attendance that ends within {DAYS_MAX} days of the start",
        remedy="correct the date, or write the quiet hours with their dates",
    )
