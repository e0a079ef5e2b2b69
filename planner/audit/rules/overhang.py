"""Surfaces that hang over air."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.solid.model import Posed

BRIDGE_MM2 = 25.0
"""A square of 5 mm, the span that is taken to hold without support (see `sources.BRIDGE`)."""

NOTHING_MM2 = 1.0
"""Less than this is facets of roundings, not an overhang (our own choice)."""


def overhang(subject: Subject, posed: Posed) -> Iterator[Finding]:
    """Warn of overhanging area without support; note support that has nothing to hold."""
    area = posed.overhang_mm2
    if subject.settings.support:
        if area < NOTHING_MM2:
            yield _idle_support(subject, area)
    elif area >= NOTHING_MM2:
        yield _in_the_air(subject, posed)


def _in_the_air(subject: Subject, posed: Posed) -> Finding:
    area, shadow = posed.overhang_mm2, posed.footprint.area_mm2
    share = f", {area / shadow * 100:.0f} % of its shadow" if shadow > 0 else ""
    settings = subject.settings
    return subject.finding(
        rule="overhang",
        level=Level.WARN if area >= BRIDGE_MM2 else Level.NOTE,
        key="support",
        found=f"{area:.0f} mm² steeper than {settings.overhang_deg:g}° from the vertical{share}, "
        "without support",
        expected=f"less than {BRIDGE_MM2:g} mm² in all, or support",
        why="lines laid over air sag; short bridges between two walls hold",
        remedy="turn the part (up:), chamfer the overhang to "
        f"{settings.overhang_deg:g}°, or {subject.to_set('support', value=True)} "
        "with an exception to the guideline",
        source=sources.BRIDGE,
    )


def _idle_support(subject: Subject, area: float) -> Finding:
    return subject.finding(
        rule="settings disagree",
        level=Level.NOTE,
        key="support",
        found=f"{subject.found('support', value=True)} with {area:.0f} mm² of overhang",
        expected="support off for a part that stands on its own",
        why="support that holds nothing costs nothing, but hides what is meant",
        remedy=subject.to_set("support", value=False),
        source=sources.MESH,
    )
