"""The times of a job: its zone, its start and deadline, and who is there when."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from planner.document.wording import shown, suggestion
from planner.job.model import Window
from planner.job.moment import NoSuchTimeError, moment

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from planner.job.faults import Faults
    from planner.job.form import WindowForm


def zone_of(name: str, faults: Faults) -> ZoneInfo | None:
    """Return the time zone, or note that there is no such one."""
    if name in _zones():
        return ZoneInfo(name)
    faults.add(
        "time_zone",
        found=shown(name),
        expected="a time zone of the tz database, such as Europe/Lisbon",
        remedy=_zone_remedy(name),
    )
    return None


@cache
def _zones() -> tuple[str, ...]:
    """Return the names of the tz database, sorted.

    They are those of the installed `tzdata`. The machine's own folder may hold more, such
    as "localtime", which mean another zone on another machine. "Factory" says of itself
    that no zone has been set.
    """
    names = files("tzdata").joinpath("zones").read_text(encoding="ascii").split()
    return tuple(sorted(name for name in names if name != "Factory"))


def _zone_remedy(name: str) -> str:
    zones = [zone for zone in _zones() if "/" in zone]
    by_city = {zone.rpartition("/")[2].casefold(): zone for zone in reversed(zones)}
    zone = by_city.get(name.strip().casefold().replace(" ", "_"))
    text = f"did you mean {zone}?" if zone else suggestion(name, zones)
    return text if text.startswith("did") else "write continent/city"


def moment_of(
    text: str | None, zone: ZoneInfo | None, place: str, faults: Faults
) -> datetime | None:
    """Return the time at `place`, or note that the clocks skip it or show it twice."""
    if text is None or zone is None:
        return None
    try:
        return moment(text, zone)
    except NoSuchTimeError as bad:
        expected = "a time that exists once"
        faults.add(place, found=bad.found, expected=expected, remedy=bad.remedy)
        return None


def deadline_of(
    text: str | None,
    start: datetime | None,
    zone: ZoneInfo | None,
    faults: Faults,
    *,
    at: str = "",
) -> datetime | None:
    """Return the deadline, or note that it is not after the start."""
    deadline = moment_of(text, zone, f"{at}deadline", faults)
    if start is not None and deadline is not None and deadline <= start:
        faults.add(
            f"{at}deadline",
            found=_clock(deadline),
            expected=f"a time after the start, {_clock(start)}",
            remedy="move one of the two",
        )
    return deadline


def windows_of(
    forms: Sequence[WindowForm],
    start: datetime | None,
    zone: ZoneInfo | None,
    faults: Faults,
    *,
    at: str = "",
) -> tuple[Window, ...]:
    """Return the attendance by time; notes windows that end too early or overlap.

    `at` goes before the places that are named in faults.
    """
    windows: list[tuple[int, Window]] = []
    for index, form in enumerate(forms):
        window = _window(form, f"{at}attendance[{index}]", zone, faults)
        if window is None:
            continue
        windows.append((index, window))
        if start is not None and window.end <= start:
            faults.add(
                f"{at}attendance[{index}]",
                found=f"{window.who} until {_clock(window.end)}",
                expected=f"some time after the start, {_clock(start)}",
                remedy="remove it, or correct the day",
            )
    _note_overlaps(windows, faults, at)
    return tuple(
        sorted(
            (window for _, window in windows),
            key=lambda window: (window.start, window.end, window.who),
        )
    )


def _window(form: WindowForm, place: str, zone: ZoneInfo | None, faults: Faults) -> Window | None:
    begin = moment_of(form.begin, zone, f"{place}.from", faults)
    end = moment_of(form.end, zone, f"{place}.to", faults)
    if begin is None or end is None:
        return None
    if end <= begin:
        faults.add(
            f"{place}.to",
            found=_clock(end),
            expected=f"a time after from, {_clock(begin)}",
            remedy="swap the two, or write the next day if it goes past midnight",
        )
        return None
    return Window(who=form.who, start=begin, end=end, where=faults.document.where(place))


def _note_overlaps(windows: Sequence[tuple[int, Window]], faults: Faults, at: str) -> None:
    """Note each (index, window) that begins before an earlier one of the same person ends."""
    last: dict[str, Window] = {}
    for index, two in sorted(windows, key=lambda pair: (pair[1].start, pair[0])):
        one = last.setdefault(two.who, two)
        if one is not two and two.start < one.end:
            faults.add(
                f"{at}attendance[{index}]",
                found=f"{two.who} from {_clock(two.start)}, while there until {_clock(one.end)} "
                f"by line {one.where.rpartition(':')[2]}",
                expected="each person in one place at a time",
                remedy="join the two, or correct one",
            )
        last[two.who] = max(one, two, key=lambda window: window.end)


def _clock(time: datetime) -> str:
    return f"{time:%Y-%m-%dT%H:%M}"
