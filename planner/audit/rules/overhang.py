"""Surfaces that hang over air."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.patches import patches
from planner.audit.rules.bead import SLACK
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.patches import Patch
    from planner.audit.subject import Subject
    from planner.solid.model import Posed

BRIDGE_MM = 5.0
"""Span that is taken to hold between two walls (see `sources.BRIDGE`)."""

LEDGE_MM = 1.5
"""Width of a ledge that is taken to hold on one side (see `sources.BRIDGE`)."""

AIR = 0.3
"""Least share of the fan that sets a strand laid over air; common practice, no source."""

NOTHING_MM2 = 1.0
"""Less than this is facets of roundings, not an overhang (our own choice)."""


def overhang(subject: Subject, posed: Posed) -> Iterator[Finding]:
    """Warn of wide overhangs without support, note narrow ones and idle support."""
    found = patches(posed, subject.settings.overhang_deg)
    area = sum(patch.area_mm2 for patch in found)
    if subject.settings.support:
        if area < NOTHING_MM2:
            yield _idle_support(subject, area)
        return
    wide = [patch for patch in found if _sags(patch)]
    if wide:
        yield _in_the_air(subject, posed, wide)
    elif area >= NOTHING_MM2:
        yield _bridges(subject, found, area)
    if area >= NOTHING_MM2:
        yield from _without_air(subject, area)


def _sags(patch: Patch) -> bool:
    bridge = patch.span_mm <= BRIDGE_MM * (1 + SLACK)
    narrow = bridge or patch.ledge_mm <= LEDGE_MM * (1 + SLACK)
    return not narrow and patch.area_mm2 >= NOTHING_MM2


def _in_the_air(subject: Subject, posed: Posed, wide: list[Patch]) -> Finding:
    area, shadow = sum(patch.area_mm2 for patch in wide), posed.footprint.area_mm2
    limit = f"{subject.settings.overhang_deg:g}°"
    return subject.finding(
        rule="overhang",
        level=Level.WARN,
        key="support",
        found=f"{_places(len(wide))} over air wider than {BRIDGE_MM:g} mm, {area:.0f} mm² "
        f"({_percent(area, shadow)} of the part's shadow), without support",
        expected=f"surfaces within {limit} of the vertical, bridges up to {BRIDGE_MM:g} mm, "
        f"ledges up to {LEDGE_MM:g} mm, or support",
        why="lines laid over air sag; only short bridges and narrow ledges hold",
        remedy=f"turn the part (up:), chamfer the place to {limit}, or "
        f"{subject.to_set('support', value=True)} with an exception to the guideline",
        source=sources.BRIDGE,
    )


def _bridges(subject: Subject, found: tuple[Patch, ...], area: float) -> Finding:
    return subject.finding(
        rule="overhang",
        level=Level.NOTE,
        key="support",
        found=f"{_places(len(found))} over air, {area:.0f} mm² in all, none wider than "
        f"{BRIDGE_MM:g} mm or {LEDGE_MM:g} mm as a ledge",
        expected="nothing more: such places are taken to hold",
        why="their undersides come out rough, and a fit may want them cleaned",
        remedy="look at the undersides on the first copy",
        source=sources.BRIDGE,
    )


def _without_air(subject: Subject, area: float) -> Iterator[Finding]:
    """Warn of too little air under overhangs; what wants an enclosure does not stand more."""
    fan, filament = subject.settings.fan, subject.filament
    if filament is None or filament.needs_enclosure or fan >= AIR * (1 - SLACK):
        return
    yield subject.finding(
        rule="fan",
        level=Level.WARN,
        key="fan",
        found=f"fan {subject.found('fan', fan)} with {area:.0f} mm² over air",
        expected=f"at least {AIR * 100:g} % where lines are laid over air",
        why="only moving air sets a free strand before it sags",
        change=("fan", AIR),
        source=sources.PRACTICE,
    )


def _idle_support(subject: Subject, area: float) -> Finding:
    return subject.finding(
        rule="settings disagree",
        level=Level.NOTE,
        key="support",
        found=f"{subject.found('support', value=True)} with {area:.0f} mm² of overhang",
        expected="support off for a part that stands on its own",
        why="support that holds nothing costs nothing, but hides what is meant",
        change=("support", False),
        source=sources.MESH,
    )


def _places(count: int) -> str:
    return "1 place" if count == 1 else f"{count} places"


def _percent(area: float, whole: float) -> str:
    """Return a share in whole percent; a roof over one foot may exceed 100."""
    share = area / whole * 100 if whole > 0 else 100.0
    return "under 1 %" if share < 1 else f"{share:.0f} %"
