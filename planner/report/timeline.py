"""The weekend drawn as bars: one lane per printer, the hours of attendance behind them.

Once in one piece, for a wide screen and for paper, and once day by day, for a phone.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from planner.report.roster import days_of
from planner.report.svg import element, fmt, hatching, label, picture, title
from planner.report.words import clock, day, hours, when

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import tzinfo

    from planner.job.model import Window
    from planner.report.roster import Roster, Span
    from planner.schedule.model import Run

_LANE = 40.0
_HEAD = 46.0
_FOOT = 8.0
_BAR = 22.0
_DATE_WIDTH = 78.0
_WEEKDAY_WIDTH = 28.0
_DEADLINE_WIDTH = 54.0
"""About how wide "Mon 30 Nov", "Mon" and "deadline" are in the sizes they are written in."""
NIGHT_FROM, NIGHT_TO = time(22), time(6)
"""Hours drawn as night: invented, for the eye only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Axis:
    """Turns a moment into a place: even in elapsed time, so a clock change shifts labels.

    `names` is the width of the printers' names, `key` keeps ids apart from other drawings'.
    """

    first: datetime
    last: datetime
    zone: tzinfo
    names: float
    per_hour: float
    height: float
    key: str

    @property
    def hours(self) -> float:
        return (self.last.timestamp() - self.first.timestamp()) / 3600

    @property
    def width(self) -> float:
        return self.names + self.per_hour * self.hours + 4

    def at(self, moment: datetime) -> float:
        elapsed = (moment.timestamp() - self.first.timestamp()) / 3600
        return self.names + self.per_hour * min(max(elapsed, 0.0), self.hours)

    def shows(self, start: datetime, end: datetime) -> bool:
        """Whether any of a stretch is within the frame."""
        return (
            end.timestamp() > self.first.timestamp() and start.timestamp() < self.last.timestamp()
        )


def draw_timeline(roster: Roster, *, own_style: bool = False) -> str:
    """Draw the runs as SVG text; time runs to the right, told in the roster's zone."""
    first, last = roster.span
    span_h = (last.timestamp() - first.timestamp()) / 3600
    per_hour = min(28.0, max(11.0, 960 / span_h))
    return _drawn(roster, (first, last), names=118.0, per_hour=per_hour, own_style=own_style)


def draw_days(roster: Roster) -> tuple[str, ...]:
    """Draw the runs day by day, each picture narrow enough for a phone held upright."""
    return tuple(
        _drawn(roster, span, names=88.0, per_hour=11.6, key=f"day{number}-")
        for number, span in enumerate(days_of(roster.span, roster.zone), 1)
    )


def _drawn(
    roster: Roster,
    span: Span,
    *,
    names: float,
    per_hour: float,
    key: str = "",
    own_style: bool = False,
) -> str:
    machines, zone = [machine.id for machine in roster.weekend.machines], roster.zone
    lanes = {name: _HEAD + _LANE * index for index, name in enumerate(machines)}
    axis = _Axis(
        first=span[0],
        last=span[1],
        zone=zone,
        names=names,
        per_hour=per_hour,
        height=_HEAD + _LANE * len(machines) + _FOOT,
        key=key,
    )
    return picture(
        element(
            "defs",
            hatching(f"{key}alone", "alone", 6, 1.6),
            hatching(f"{key}blocked", "hatch", 5, 0.9),
        ),
        *(_band(axis, night, "night") for night in nights(*span, zone)),
        *_presence(axis, roster.weekend.attendance),
        *_hour_lines(axis, roster.weekend.deadline),
        *_lane_names(axis, lanes),
        *_blocked(axis, roster, lanes),
        *_bars(axis, roster, lanes),
        *_deadline(axis, roster.weekend.deadline),
        name=f"Printers from {when(span[0], zone)} to {when(span[1], zone)}",
        width=axis.width,
        height=axis.height,
        px_width=axis.width,
        own_style=own_style,
    )


def nights(first: datetime, last: datetime, zone: tzinfo) -> Iterator[Span]:
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


def _band(axis: _Axis, span: Span, css_class: str, *inside: str) -> str:
    left, right = axis.at(span[0]), axis.at(span[1])
    return element(
        "rect",
        *inside,
        x=left,
        y=_HEAD - 16,
        width=right - left,
        height=axis.height - _HEAD + 16 - _FOOT,
        class_=css_class,
    )


def _presence(axis: _Axis, attendance: Iterable[Window]) -> Iterator[str]:
    for window in attendance:
        if axis.shows(window.start, window.end):
            said = title(f"{window.who} is there")
            yield _band(axis, (window.start, window.end), "present", said)


def _hour_lines(axis: _Axis, deadline: datetime | None) -> Iterator[str]:
    """Draw a line every third hour of the clock and a heavier one at midnight."""
    moment, end = axis.first, axis.last.timestamp()
    yield _date(axis, moment, axis.at(moment), deadline)
    while moment.timestamp() <= end:
        local = moment.astimezone(axis.zone)
        if local.hour % 3 == 0:
            yield from _hour_line(axis, local, deadline)
        moment = datetime.fromtimestamp(moment.timestamp() + 3600, axis.zone)


def _date(axis: _Axis, moment: datetime, x: float, deadline: datetime | None) -> str:
    """Write the date from `x` on; where "deadline" is in its way, the weekday, or behind it."""
    told = day(moment, axis.zone)
    if deadline is not None and axis.shows(deadline, deadline):
        left, right = _deadline_label(axis, deadline)
        if left < x + _WEEKDAY_WIDTH and x < right:
            x = right + 6
        elif left < x + _DATE_WIDTH and x < right:
            told = told[:3]
    return label(told, x=x, y=14, font_size=13, font_weight="600")


def _hour_line(axis: _Axis, local: datetime, deadline: datetime | None) -> Iterator[str]:
    x, midnight = axis.at(local), local.hour == 0
    top, css_class = (2.0, "day") if midnight else (_HEAD - 16, "hour")
    yield element("line", x1=x, x2=x, y1=top, y2=axis.height - _FOOT, class_=css_class)
    left_h = (axis.last.timestamp() - local.timestamp()) / 3600
    if midnight and local.timestamp() > axis.first.timestamp() and left_h > 3:
        yield _date(axis, local, x + 4, deadline)
    if left_h * axis.per_hour > 12:  # a label at the very edge would be cut
        told = clock(local, axis.zone)
        told = told if axis.per_hour * 3 >= 36 else told[:2]
        yield label(told, x=x + 2, y=_HEAD - 20, font_size=10, class_="soft")


def _lane_names(axis: _Axis, lanes: dict[str, float]) -> Iterator[str]:
    room = int((axis.names - 6) / 6.6)
    for name, top in lanes.items():
        edge = top + _LANE
        yield element("line", x1=0, x2=axis.width, y1=edge, y2=edge, class_="hour")
        short = name if len(name) <= room else f"{name[: room - 1]}\u2026"
        yield element("g", title(name), label(short, x=2, y=top + _LANE / 2 + 4, font_size=12.5))


def _blocked(axis: _Axis, roster: Roster, lanes: dict[str, float]) -> Iterator[str]:
    """Hatch the hours in which a printer must not run."""
    for machine in roster.weekend.machines:
        for block in machine.blocked:
            if axis.shows(block.start, block.end):
                left, right = axis.at(block.start), axis.at(block.end)
                yield element(
                    "rect",
                    title(f"{machine.id}: {block.why}"),
                    x=left,
                    y=lanes[machine.id] + 2,
                    width=right - left,
                    height=_LANE - 4,
                    fill=f"url(#{axis.key}blocked)",
                )


def _bars(axis: _Axis, roster: Roster, lanes: dict[str, float]) -> Iterator[str]:
    for run in roster.made.runs:
        if axis.shows(run.start, run.end):
            yield _bar(axis, run, lanes[run.machine], roster.weekend.attendance)


def _bar(axis: _Axis, run: Run, top: float, attendance: Iterable[Window]) -> str:
    left, right, y = axis.at(run.start), axis.at(run.end), top + (_LANE - _BAR) / 2
    marks = [element("rect", x=left, y=y, width=right - left, height=_BAR, rx=3, class_="bar")]
    for start, end in alone_spans(run, attendance):
        if axis.shows(start, end):
            x, fill = axis.at(start), f"url(#{axis.key}alone)"
            marks.append(element("rect", x=x, y=y, width=axis.at(end) - x, height=_BAR, fill=fill))
    size = min(13.0, (right - left - 4) / (0.68 * max(1, len(run.plate))))
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
    return element("g", title(_told(run, axis.zone)), *marks, class_="run", data_plate=run.plate)


def _told(run: Run, zone: tzinfo) -> str:
    alone = f", {hours(run.alone_s)} with nobody there" if run.alone_s > 0 else ""
    return f"{run.plate} on {run.machine}: {when(run.start, zone)} to {when(run.end, zone)}{alone}"


def _deadline(axis: _Axis, deadline: datetime | None) -> Iterator[str]:
    if deadline is None or not axis.shows(deadline, deadline):
        return
    x = axis.at(deadline)
    line = f"M{fmt(x)} 18V{fmt(axis.height - _FOOT)}"
    yield element("path", d=line, class_="deadline", stroke_width=2, stroke_dasharray="5 3")
    left, right = _deadline_label(axis, deadline)
    before = right < x
    yield label(
        "deadline",
        x=right if before else left,
        y=14,
        font_size=12,
        text_anchor="end" if before else "start",
        class_="deadline-text",
    )


def _deadline_label(axis: _Axis, deadline: datetime) -> tuple[float, float]:
    """Return from where to where the word stands: before its line, behind it in the morning.

    There the date stands before the line; at the end of the drawing there is no room behind.
    """
    x, local = axis.at(deadline), deadline.astimezone(axis.zone)
    since_h = min(local.hour + local.minute / 60, (x - axis.names) / axis.per_hour)
    crowded = since_h * axis.per_hour < _DATE_WIDTH + _DEADLINE_WIDTH + 8
    if crowded and x + 4 + _DEADLINE_WIDTH < axis.width:
        return x + 4, x + 4 + _DEADLINE_WIDTH
    return x - 4 - _DEADLINE_WIDTH, x - 4
