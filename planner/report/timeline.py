"""The weekend drawn as bars: one lane per printer, the hours of attendance behind them."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from planner.report.svg import element, fmt, hatching, label, picture, title
from planner.report.words import clock, day, hours, when, zone_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from zoneinfo import ZoneInfo

    from planner.handover.model import Plan
    from planner.job.model import Window
    from planner.schedule.model import Run

Span = tuple[datetime, datetime]

_LANE = 40.0
_HEAD = 46.0
_NAMES = 118.0
_FOOT = 8.0
_BAR = 22.0
NIGHT_FROM, NIGHT_TO = time(22), time(6)
"""Hours drawn as night: invented, for the eye only."""


def draw_timeline(plan: Plan, *, own_style: bool = False) -> str:
    """Draw the runs of a plan as SVG text; time runs to the right, told in the job's zone."""
    zone = zone_of(plan)
    first, last = span_of(plan)
    axis = _Axis(first, last)
    machines = [machine.name for machine in plan.job.machines]
    height = _HEAD + _LANE * len(machines) + _FOOT
    lanes = {name: _HEAD + _LANE * index for index, name in enumerate(machines)}
    drawn = [
        *(_band(axis, night, height, "night") for night in nights(first, last, zone)),
        *(_presence(axis, window, height) for window in plan.job.attendance),
        *_hour_lines(axis, zone, height),
        *_lane_names(lanes, axis.width),
        *(
            mark
            for run in plan.weekend.runs
            for mark in _bar(axis, run, lanes[run.machine], plan.job.attendance, zone)
        ),
        *_deadline(axis, plan.job.deadline, height),
    ]
    return picture(
        element("defs", hatching("alone", "alone", 6, 1.6)),
        *drawn,
        name=f"Printers from {when(first, zone)} to {when(last, zone)}",
        width=axis.width,
        height=height,
        px_width=axis.width,
        own_style=own_style,
    )


def span_of(plan: Plan) -> Span:
    """Return the whole hours that hold every run, window and the deadline."""
    job = plan.job
    ends = [run.end for run in plan.weekend.runs] + [window.end for window in job.attendance]
    starts = [job.start, *(run.start for run in plan.weekend.runs)]
    ends += [job.start + timedelta(hours=1)] + ([job.deadline] if job.deadline else [])
    zone = zone_of(plan)
    first = min(starts).astimezone(zone).replace(minute=0, second=0, microsecond=0)
    return first, max(ends).astimezone(zone) + timedelta(minutes=30)


def nights(first: datetime, last: datetime, zone: ZoneInfo) -> Iterator[Span]:
    """Give every night between two moments, in local time."""
    date = first.astimezone(zone).date() - timedelta(days=1)
    while date <= last.astimezone(zone).date():
        dusk = datetime.combine(date, NIGHT_FROM, zone)
        date += timedelta(days=1)
        dawn = datetime.combine(date, NIGHT_TO, zone)
        if dawn.timestamp() > first.timestamp() and dusk.timestamp() < last.timestamp():
            yield dusk, dawn


def alone_spans(run: Run, attendance: Iterable[Window]) -> tuple[Span, ...]:
    """Return the stretches of a run during which nobody is there."""
    alone: list[Span] = []
    here = run.start
    for window in sorted(attendance, key=lambda window: window.start):
        if window.end <= here or window.start >= run.end:
            continue
        if window.start > here:
            alone.append((here, window.start))
        here = window.end
    if here < run.end:
        alone.append((here, run.end))
    return tuple(alone)


class _Axis:
    """Turns a moment into a place: even in elapsed time, so a clock change shifts labels."""

    def __init__(self, first: datetime, last: datetime) -> None:
        self.first = first
        self.hours = (last.timestamp() - first.timestamp()) / 3600
        self.per_hour = min(28.0, max(11.0, 960 / self.hours))
        self.width = _NAMES + self.per_hour * self.hours + 4

    def at(self, moment: datetime) -> float:
        elapsed = (moment.timestamp() - self.first.timestamp()) / 3600
        return _NAMES + self.per_hour * min(max(elapsed, 0.0), self.hours)


def _band(axis: _Axis, span: Span, height: float, css_class: str, *inside: str) -> str:
    left, right = axis.at(span[0]), axis.at(span[1])
    return element(
        "rect",
        *inside,
        x=left,
        y=_HEAD - 16,
        width=right - left,
        height=height - _HEAD + 16 - _FOOT,
        class_=css_class,
    )


def _presence(axis: _Axis, window: Window, height: float) -> str:
    return _band(
        axis, (window.start, window.end), height, "present", title(f"{window.who} is there")
    )


def _hour_lines(axis: _Axis, zone: ZoneInfo, height: float) -> Iterator[str]:
    """Draw a line every third hour of the clock and a heavier one at midnight."""
    moment = axis.first
    end = axis.first.timestamp() + 3600 * axis.hours
    yield label(day(moment, zone), x=axis.at(moment), y=14, font_size=13, font_weight="600")
    while moment.timestamp() <= end:
        local = moment.astimezone(zone)
        if local.hour % 3 == 0:
            yield from _hour_line(axis, local, zone, height)
        moment = datetime.fromtimestamp(moment.timestamp() + 3600, zone)


def _hour_line(axis: _Axis, local: datetime, zone: ZoneInfo, height: float) -> Iterator[str]:
    x, midnight = axis.at(local), local.hour == 0
    top, css_class = (2.0, "day") if midnight else (_HEAD - 16, "hour")
    yield element("line", x1=x, x2=x, y1=top, y2=height - _FOOT, class_=css_class)
    if midnight and local.timestamp() < axis.first.timestamp() + 3600 * (axis.hours - 3):
        yield label(day(local, zone), x=x + 4, y=14, font_size=13, font_weight="600")
    yield label(clock(local, zone), x=x + 2, y=_HEAD - 20, font_size=10, class_="soft")


def _lane_names(lanes: dict[str, float], width: float) -> Iterator[str]:
    for name, top in lanes.items():
        yield element("line", x1=0, x2=width, y1=top + _LANE, y2=top + _LANE, class_="hour")
        short = name if len(name) <= 17 else f"{name[:16]}\u2026"
        yield element("g", title(name), label(short, x=2, y=top + _LANE / 2 + 4, font_size=12.5))


def _bar(
    axis: _Axis, run: Run, top: float, attendance: Iterable[Window], zone: ZoneInfo
) -> Iterator[str]:
    left, right, y = axis.at(run.start), axis.at(run.end), top + (_LANE - _BAR) / 2
    alone = f", {hours(run.alone_s)} with nobody there" if run.alone_s > 0 else ""
    said = f"{run.plate} on {run.machine}: {when(run.start, zone)} to {when(run.end, zone)}{alone}"
    marks = [element("rect", x=left, y=y, width=right - left, height=_BAR, rx=3, class_="bar")]
    for start, end in alone_spans(run, attendance):
        x = axis.at(start)
        marks.append(
            element("rect", x=x, y=y, width=axis.at(end) - x, height=_BAR, fill="url(#alone)")
        )
    size = min(13.0, (right - left - 4) / (0.62 * max(1, len(run.plate))))
    if size >= 6:  # smaller cannot be read; the title and the list of visits say it
        marks.append(
            label(
                run.plate,
                x=left + 4,
                y=y + _BAR / 2 + 0.36 * size,
                font_size=size,
                font_weight="600",
                stroke_width=4,
                class_="bar-text",
            )
        )
    yield element("g", title(said), *marks, class_="run", data_plate=run.plate)


def _deadline(axis: _Axis, deadline: datetime | None, height: float) -> Iterator[str]:
    if deadline is None:
        return
    x = axis.at(deadline)
    line = f"M{fmt(x)} 18V{fmt(height - _FOOT)}"
    yield element("path", d=line, class_="deadline", stroke_width=2, stroke_dasharray="5 3")
    yield label("deadline", x=x - 4, y=14, font_size=12, text_anchor="end", class_="deadline-text")
