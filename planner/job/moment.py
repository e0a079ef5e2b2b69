"""Times as they are written in a job: local to its time zone, or with an offset."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING

from planner.document import fault

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

_WRITTEN = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?(Z|[+-]\d\d:\d\d)?", re.ASCII)
YEARS = (2000, 2199)


class NoSuchTimeError(ValueError):
    """A local time that the clocks skip or show twice; carries what to tell the user."""

    def __init__(self, *, found: str, remedy: str) -> None:
        self.found, self.remedy = found, remedy
        super().__init__(found)


def check_moment(text: str) -> str:
    """Refuse what is not a date with a time of day; return the text as it is."""
    try:
        written = _WRITTEN.fullmatch(text) is not None
        sane = written and YEARS[0] <= datetime.fromisoformat(text).year <= YEARS[1]
    except ValueError:
        sane = False
    if not sane:
        raise fault(
            expected="a date and time such as 2026-11-27T18:00, or with an offset (…+01:00)",
            remedy="write year-month-dayThour:minute of a day that exists",
        )
    return text


def has_offset(text: str) -> bool:
    """Tell whether a time that `check_moment` has passed says its offset from UTC."""
    return datetime.fromisoformat(text).tzinfo is not None


def moment(text: str, zone: ZoneInfo) -> datetime:
    """Return the aware time written as `text`, in `zone` unless it has an offset.

    The result has the fixed offset of that moment: Python subtracts and compares times of
    one ZoneInfo by the clock on the wall, which is an hour off across a change of clocks.

    Raises NoSuchTimeError for a local time that does not exist there, or comes twice,
    because the clocks are changed that day.
    """
    time = datetime.fromisoformat(text)
    if time.tzinfo is not None:
        return _fixed(time.astimezone(zone))
    early, late = time.replace(tzinfo=zone, fold=0), time.replace(tzinfo=zone, fold=1)
    if early.utcoffset() == late.utcoffset():
        return _fixed(early)
    # PEP 495: in a gap fold=0 takes the offset before it, in an overlap too; only a time
    # that exists survives the way to UTC and back.
    if early.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != time:
        after = early.astimezone(UTC).astimezone(zone)
        raise NoSuchTimeError(
            found=f"{text}, which the clocks skip in {zone.key} that day",
            remedy=f"write {after:%Y-%m-%dT%H:%M} or another time that exists",
        )
    raise NoSuchTimeError(
        found=f"{text}, which comes twice in {zone.key} that day (the clocks go back)",
        remedy=f"say which: {early.isoformat()} or {late.isoformat()}",
    )


def _fixed(time: datetime) -> datetime:
    return time.replace(tzinfo=timezone(time.utcoffset() or timedelta()))
