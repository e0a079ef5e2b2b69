"""Speeds and accelerations against what the machine does, and against the looks."""

from __future__ import annotations

from math import hypot, inf
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.rules.bead import SLACK
from planner.audit.rules.flow import fastest_mm_s, in_use
from planner.audit.words import entry_name, listed, with_unit
from planner.settings.model import Feature, Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.settings.model import Printer, Settings

SLOW_LIFT_S = 0.5
"""A lift and its way back that take longer are worth a word (our own choice)."""


def hardest_mm_s2(printer: Printer) -> float:
    """Return the hardest acceleration along any path: both axes at once at most."""
    axes = printer.axis_acceleration_mm_s2
    return min(printer.acceleration_max_mm_s2, inf if axes is None else hypot(*axes[:2]))


def gain_mm_s2(settings: Settings, feature: Feature) -> float:
    """Return the acceleration of a feature: its own, or that of all."""
    own = settings.feature_acceleration_mm_s2.get(feature)
    return settings.acceleration_mm_s2 if own is None else own


def outer_gain(subject: Subject) -> Iterator[Finding]:
    """Note an outer wall that is accelerated harder than the walls behind it."""
    settings = subject.settings
    outer = settings.feature_acceleration_mm_s2.get(Feature.OUTER_WALL)
    if outer is None:
        return
    inner = gain_mm_s2(settings, Feature.INNER_WALLS)
    if outer <= inner * (1 + SLACK):
        return
    key = "feature_acceleration_mm_s2.outer_wall"
    yield subject.finding(
        rule="pace",
        level=Level.NOTE,
        key=key,
        found=f"outer wall {subject.found(key, outer)}, inner walls {inner:g} mm/s²",
        expected="the outer wall no harder than the walls behind it",
        why="the frame rings after each corner, and the outer wall is where it shows",
        change=(key, inner),
        source=sources.PRACTICE,
    )


def machine_limits(
    subject: Subject, printers: Mapping[str, Printer] | None = None
) -> Iterator[Finding]:
    """Note what no machine at hand can follow, and lifts that its upright axis is slow at.

    One machine that can is enough: the others take their time, which is counted.
    """
    if printers:
        yield from _too_fast(subject, max(map(fastest_mm_s, printers.values())))
        yield from _too_hard(subject, max(map(hardest_mm_s2, printers.values())))
        yield from _slow_lifts(subject, printers)


def _too_fast(subject: Subject, limit: float) -> Iterator[Finding]:
    speeds = subject.settings.speed_mm_s
    asked = {f: speeds[f] for f in _wanted(subject) if f in speeds}
    yield from _beyond(subject, "speed_mm_s", asked, limit)


def _too_hard(subject: Subject, limit: float) -> Iterator[Finding]:
    """One value for all features is told once; those with a value of their own each."""
    settings = subject.settings
    own = settings.feature_acceleration_mm_s2
    yield from _beyond(
        subject,
        "feature_acceleration_mm_s2",
        {f: own[f] for f in _wanted(subject) if f in own},
        limit,
    )
    if settings.acceleration_mm_s2 > limit * (1 + SLACK):
        key = "acceleration_mm_s2"
        found = subject.found(key, settings.acceleration_mm_s2)
        yield _limited(subject, key, found, f"{limit:g} mm/s²", (key, limit))


def _wanted(subject: Subject) -> list[Feature]:
    return [f for f in Feature if f is Feature.TRAVEL or in_use(subject, f)]


def _beyond(
    subject: Subject, key: str, asked: Mapping[Feature, float], limit: float
) -> Iterator[Finding]:
    """Yield one finding for all features beyond a limit; its change is that of the worst."""
    beyond = {f: value for f, value in asked.items() if value > limit * (1 + SLACK)}
    if not beyond:
        return
    worst = max(beyond, key=lambda feature: beyond[feature])
    entry = f"{key}.{entry_name(worst)}"
    told = tuple(f"{feature} {value:g}" for feature, value in beyond.items() if feature != worst)
    found = listed((f"{worst} {subject.found(entry, beyond[worst])}", *told))
    yield _limited(subject, entry, found, with_unit(key, limit), (entry, limit))


def _limited(
    subject: Subject, key: str, found: str, limit: str, change: tuple[str, float]
) -> Finding:
    return subject.finding(
        rule="pace",
        level=Level.NOTE,
        key=key,
        found=found,
        expected=f"at most {limit}, the limit of the fastest printer at hand",
        why="the machine takes its own limit, and the time is counted so",
        change=change,
        source=sources.PRINTER,
    )


def _slow_lifts(subject: Subject, printers: Mapping[str, Printer]) -> Iterator[Finding]:
    lift = subject.settings.lift_mm
    slow = {
        name: 2 * lift / printer.axis_speed_mm_s[2]
        for name, printer in sorted(printers.items())
        if printer.axis_speed_mm_s is not None
        and 2 * lift / printer.axis_speed_mm_s[2] > SLOW_LIFT_S
    }
    if len(slow) < len(printers):
        return
    yield subject.finding(
        rule="pace",
        level=Level.NOTE,
        key="lift_mm",
        found=f"a lift of {subject.found('lift_mm', lift)}, {min(slow.values()):.1f} s up and "
        f"down on {listed(tuple(slow), 'or')}",
        expected=f"at most {SLOW_LIFT_S:g} s for each way over the part",
        why="the upright axis is slow, and the head waits for it at every way with a lift",
        change=("lift_mm", _quick_lift_mm(printers)),
        source=sources.PRINTER,
    )


def _quick_lift_mm(printers: Mapping[str, Printer]) -> float:
    """Return the lift that the quickest machine does in `SLOW_LIFT_S`."""
    return max(
        SLOW_LIFT_S / 2 * printer.axis_speed_mm_s[2]
        for printer in printers.values()
        if printer.axis_speed_mm_s is not None
    )
