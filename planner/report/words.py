"""How numbers, times and errands are put into words; every report says them the same way.

Weekdays and months are spelled out here: `strftime` would follow the machine's locale.
"""

from __future__ import annotations

import math
import re
import unicodedata
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime, tzinfo

    from planner.handover.model import Plan, PlannedPlate, ReadyPart
    from planner.layers.model import PrintTime
    from planner.schedule.model import Run, Visit, WeekendPlan

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
LEVELS = ("stop", "warn", "note")
"""Order in which findings are told: the gravest first."""

_CAUSE = re.compile(r"(?P<cause>.*): (?P<low>[+-]\d+) ?% to (?P<high>[+-]\d+) ?%")
_UNPRINTABLE = ("Cc", "Cs", "Co", "Cn")
_TURNS_TEXT_AROUND = frozenset("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def plain(text: object) -> str:
    r"""Return `text` on one line, without anything that could steer a terminal or a reader.

    Control characters (an escape sequence, a NUL, which XML cannot hold) and marks that turn
    the reading direction become U+FFFD; line breaks and tabs become spaces.

    >>> plain("shelf\n\x1b[31m") == "shelf \ufffd[31m"
    True
    """
    spaced = "".join(" " if char in "\r\n\t" else char for char in str(text))
    return "".join("\ufffd" if _steers(char) else char for char in spaced)


def _steers(char: str) -> bool:
    return (
        char in _TURNS_TEXT_AROUND
        or char in "\ufffe\uffff\u2028\u2029"
        or unicodedata.category(char) in _UNPRINTABLE
    )


def number(value: float, digits: int = 3) -> float:
    """Round for a document; a minus in front of a zero is dropped.

    Raises ValueError for NaN and infinity: neither has a place in a finished plan.

    >>> number(-0.00001)
    0.0
    """
    if not math.isfinite(value):
        raise ValueError(f"a plan holds finite numbers only, not {value}")
    return round(float(value), digits) + 0.0


def hours(seconds: float) -> str:
    """Say a duration to the minute.

    >>> hours(11100), hours(2500), hours(20)
    ('3 h 05 min', '42 min', 'under 1 min')
    """
    minutes = math.floor(seconds / 60 + 0.5)
    if minutes < 1:
        return "under 1 min" if seconds > 0 else "0 min"
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60:02d} min"


def clock_hours(seconds: float) -> str:
    """Say a duration as hours:minutes, for narrow columns.

    >>> clock_hours(11100)
    '3:05'
    """
    minutes = math.floor(seconds / 60 + 0.5)
    return f"{minutes // 60}:{minutes % 60:02d}"


def clock_range(low_high_s: tuple[float, float]) -> str:
    """Say a bracket of durations as hours:minutes.

    >>> clock_range((11100, 15000))
    '3:05-4:10'
    """
    return f"{clock_hours(low_high_s[0])}-{clock_hours(low_high_s[1])}"


def hours_range(low_high_s: tuple[float, float]) -> str:
    """Say a bracket of durations in full."""
    return f"{hours(low_high_s[0])} to {hours(low_high_s[1])}"


def mass(grams: float) -> str:
    """Say a mass with as many digits as anybody can weigh.

    >>> mass(3.21), mass(820.4), mass(1239.0)
    ('3.2 g', '820 g', '1.24 kg')
    """
    if abs(grams) < 10:
        return f"{grams:.1f} g"
    return f"{grams:.0f} g" if abs(grams) < 999.5 else f"{grams / 1000:.2f} kg"


def size(size_mm: tuple[float, ...]) -> str:
    """Say an extent in mm as one word, to a tenth.

    >>> size((99.6, 99.6, 5.0))
    '99.6x99.6x5.0'
    """
    return "x".join(f"{value:.1f}" for value in size_mm)


def share(value: float) -> str:
    """Say a share of 1 as a percentage; never round a doubt away.

    >>> share(0.934), share(0.9996), share(1.0)
    ('93 %', '>99 %', '100 %')
    """
    if 0.99 < value < 1:
        return ">99 %"
    if 0 < value < 0.01:
        return "<1 %"
    return f"{100 * value:.0f} %"


def mass_range(low_high_g: tuple[float, float]) -> str:
    """Write both ends of a mass.

    >>> mass_range((1360.0, 1480.0))
    '1.36 kg to 1.48 kg'
    """
    low, high = low_high_g
    return f"{mass(low)} to {mass(high)}"


def by_material(filament_g: Mapping[str, float]) -> str:
    """Say what is needed of each material; the sum leads where there are several.

    >>> by_material({"pla": 96.0}), by_material({"pla": 96.0, "petg": 20.0}), by_material({})
    ('96 g pla', '116 g: 20 g petg, 96 g pla', 'none')
    """
    each = ", ".join(f"{mass(filament_g[name])} {name}" for name in sorted(filament_g))
    if len(filament_g) < 2:
        return each or "none"
    return f"{mass(sum(filament_g.values()))}: {each}"


def merged(reasons: Iterable[str]) -> list[str]:
    """Tell each cause of a doubt once, with its widest range; causes without effect are left out.

    A cause is the text before "-5% to +8%"; reasons of another form stay as they are.

    >>> merged(["flow: -2% to +3%", "areas", "flow: -1% to +7%", "corners: -0% to +0%"])
    ['flow: -2 % to +7 %', 'areas']
    """
    ends: dict[str, list[int]] = {}
    for reason in reasons:
        told = _CAUSE.fullmatch(reason)
        cause, found = (
            (told["cause"], [int(told["low"]), int(told["high"])]) if told else (reason, [])
        )
        ends.setdefault(cause, []).extend(found)
    return [
        f"{cause}: {min(found):+d} % to {max(found):+d} %" if found else cause
        for cause, found in ends.items()
        if any(found) or not found
    ]


def zone_of(plan: Plan) -> ZoneInfo:
    """Return the zone in which the plan's times are told."""
    return ZoneInfo(plan.job.time_zone)


def day(moment: datetime, zone: tzinfo) -> str:
    """Say the local day, such as "Sat 28 Nov"."""
    local = moment.astimezone(zone)
    return f"{WEEKDAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]}"


def clock(moment: datetime, zone: tzinfo) -> str:
    """Say the local time of day, such as "09:10"."""
    return f"{moment.astimezone(zone):%H:%M}"


def day_and_clock(moment: datetime, zone: tzinfo) -> str:
    """Say local day and time, such as "Sat 28 Nov 09:10"."""
    return f"{day(moment, zone)} {clock(moment, zone)}"


def in_hand(weekend: WeekendPlan) -> datetime | None:
    """Return when the last plate is taken off, or None where it is as soon as all are printed.

    A plate that is done at night waits for somebody, so parts may be in hand hours later.
    """
    last = max((visit.at for visit in weekend.visits if visit.take_off), default=None)
    return last if last and weekend.finish and last > weekend.finish else None


def finish(weekend: WeekendPlan, zone: tzinfo) -> str:
    """Say when the last plate is printed and, if that is later, when the last is taken off."""
    if weekend.finish is None:
        return "nothing is scheduled"
    taken = in_hand(weekend)
    later = f" (the last plate is taken off {day_and_clock(taken, zone)})" if taken else ""
    return day_and_clock(weekend.finish, zone) + later


def hands_on(plan: Plan) -> str:
    """Say how long hands are needed, and for how many plates where not all have a time."""
    told, runs = hours(plan.totals.hands_on_s), len(plan.weekend.runs)
    return f"{told} for the {thing(runs, 'plate')} scheduled" if plan.weekend.unscheduled else told


def against_deadline(plan: Plan) -> str:
    """Say when the last plate is free, how far from the deadline that is, and what is missing."""
    end, deadline, zone = plan.weekend.finish, plan.job.deadline, zone_of(plan)
    if end is None:
        return "nothing is scheduled"
    said, waiting = day_and_clock(end, zone), len(plan.weekend.unscheduled)
    lacking = f"; {thing(waiting, 'plate')} of {len(plan.plates)} not scheduled" if waiting else ""
    if deadline is None:
        return f"{said}; there is no deadline{lacking}"
    apart = hours(60 * abs(deadline.timestamp() // 60 - end.timestamp() // 60))
    side = "after" if end > deadline else "before"
    return f"{said}, {apart} {side} the deadline, {day_and_clock(deadline, zone)}{lacking}"


def weekend_odds(plan: Plan) -> list[str]:
    """Say how often the weekend comes out, by when it is how sure, and what may upset it."""
    odds, zone = plan.weekend_odds, zone_of(plan)
    if odds is None:
        return []
    off = thing(round(100 * odds.give_or_take(odds.by_deadline)), "point")
    by = "by the deadline" if plan.job.deadline else "in the hours given"
    which = "plate that is scheduled" if plan.weekend.unscheduled else "plate"
    said = [f"{share(odds.by_deadline)} (give or take {off}) that every {which} is good {by}"]
    sure = [f"{share(p)} by {when(at, zone)}" for p, at in odds.done_by if at is not None]
    said += ["done: " + ", ".join(sure)] if sure else []
    worst = odds.risks[0]
    if worst.late_by_it >= 0.005:
        cost = thing(max(1, round(100 * worst.late_by_it)), "point")
        said.append(f"the riskiest plate is {worst.plate}: its failures cost {cost}")
    if odds.short_of_filament >= 0.005:
        said.append(f"in {share(odds.short_of_filament)} no spool has enough for a reprint")
    return said


def sets_told(weekend: WeekendPlan) -> list[str]:
    """Say what is complete in time and what is not, with the reason; one sentence each."""
    done = [f"Complete in time: {', '.join(weekend.sets_done)}"] if weekend.sets_done else []
    return done + [f"{name} is not complete in time: {why}" for name, why in weekend.sets_missed]


def when(moment: datetime, zone: tzinfo) -> str:
    """Say weekday and local time, such as "Sat 09:10"."""
    local = moment.astimezone(zone)
    return f"{WEEKDAYS[local.weekday()]} {local:%H:%M}"


def iso(moment: datetime, zone: tzinfo) -> str:
    """Return ISO 8601 with the offset of the zone, to the second."""
    return moment.astimezone(zone).isoformat(timespec="seconds")


def errand(visit: Visit) -> str:
    """Say what a visit is for: "enclosed 300: take off P3, start P7 with grey 1"."""
    if visit.feeds is not None:
        return plain(
            f"{visit.machine}: {visit.feeds} goes on with {visit.spool} (change the spool)"
        )
    acts = []
    if visit.take_off is not None:
        acts.append(f"take off {visit.take_off}")
    if visit.start is not None:
        spool = "" if visit.spool is None else f" with {both_spools(visit)}"
        change = " (change the spool)" if visit.change_spool else ""
        acts.append(f"start {visit.start}{spool}{change}")
    return plain(f"{visit.machine}: {', '.join(acts) or 'look in'}")


def both_spools(fed: Run | Visit) -> str:
    """Name the spool that feeds, and the one after it where there is one."""
    after = "" if fed.second_spool is None else f", then {fed.second_spool}"
    return f"{fed.spool}{after}"


def contents(plate: PlannedPlate) -> str:
    """Say what lies on a plate: "6 panel, 2 key"."""
    return ", ".join(f"{count} {plain(name)}" for name, count in plate.counts.items())


def plate_time(plan: Plan, plate: PlannedPlate) -> tuple[str, float, tuple[float, float]]:
    """Return the machine the plate runs on (or could), its seconds there and their range."""
    runs = [run.machine for run in plan.weekend.runs if run.plate == plate.id]
    machine = next(iter([*runs, *sorted(plate.seconds)]), "")
    return machine, plate.seconds.get(machine, 0.0), plate.ranges_s.get(machine, (0.0, 0.0))


def quickest_first(ready: ReadyPart) -> list[tuple[str, PrintTime]]:
    """Return the time of one copy on each printer profile, the quickest first, then by name."""
    return sorted(ready.times.items(), key=lambda entry: (entry[1].middle_s, entry[0]))


def printer_of(plan: Plan, plate: PlannedPlate) -> str:
    """Say on which printer a plate runs (or could): "printer bench (open_frame_220)".

    A profile that was adapted to one printer carries that name already; it is not said twice.
    """
    machine, _, _ = plate_time(plan, plate)
    profile = plate.printer.name.removesuffix(f" ({machine})")
    return f"printer {machine} ({profile})" if machine else f"printer {profile}"


def thing(count: int, noun: str, plural: str = "") -> str:
    """Count a thing.

    >>> thing(1, "plate"), thing(3, "plate"), thing(0, "copy", "copies")
    ('1 plate', '3 plates', '0 copies')
    """
    return f"{count} {noun if count == 1 else plural or noun + 's'}"


def are(count: int) -> str:
    """Return the verb that goes with a count.

    >>> are(1), are(2)
    ('is', 'are')
    """
    return "is" if count == 1 else "are"


def up_name(up: tuple[float, float, float]) -> str:
    """Name a build direction: an axis where it is one, else its three numbers.

    >>> up_name((0.0, 0.0, -1.0)), up_name((0.0, 0.6, 0.8))
    ('-z', '[0, 0.6, 0.8]')
    """
    for index, axis in enumerate("xyz"):
        others = [abs(value) for other, value in enumerate(up) if other != index]
        if max(others) < 1e-9 and up[index] != 0:
            return f"{'+' if up[index] > 0 else '-'}{axis}"
    return "[" + ", ".join(f"{number(value, 6):g}" for value in up) + "]"
