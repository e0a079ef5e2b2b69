"""The plastic that is asked for per second against what can be melted."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, inf, pi
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.rules.bead import SLACK
from planner.audit.words import entry_name, listed
from planner.settings.model import Bead, Feature, Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.settings.model import Printer, Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The thirstiest feature: its speed, the section it lays and the flow of the two."""

    feature: Feature
    speed_mm_s: float
    section_mm2: float

    @property
    def flow_mm3_s(self) -> float:
        """Volume per second: section x speed."""
        return self.section_mm2 * self.speed_mm_s


def section_mm2(settings: Settings, height_mm: float) -> float:
    """Section of a laid strand: w h, or (w - h) h + pi h^2 / 4 with rounded ends."""
    width = settings.line_width_mm
    if settings.bead is Bead.STADIUM:
        return (width - height_mm) * height_mm + pi * height_mm**2 / 4
    return width * height_mm


def thirstiest(settings: Settings, speed_max_mm_s: float = inf) -> Asked:
    """Return the feature in use that asks for the most flow (the first of equals).

    A machine that is slower than the settings ask for is given its `speed_max_mm_s`.
    """
    asked = [
        Asked(
            feature=feature,
            speed_mm_s=min(settings.speed_mm_s.get(feature, 0.0), speed_max_mm_s),
            section_mm2=section_mm2(settings, _height_mm(settings, feature)),
        )
        for feature in Feature
        if _in_use(settings, feature)
    ]
    return max(asked, key=lambda one: one.flow_mm3_s)


def flow(subject: Subject, printers: Mapping[str, Printer] | None = None) -> Iterator[Finding]:
    """Yield findings where the melt cannot keep up; `printers` maps a machine to what it is.

    The settings' own cap slows the head, so beyond it there is only a note; the filament's
    and the machines' limits are held against what is left after that cap.
    """
    settings, filament = subject.settings, subject.filament
    asked = thirstiest(settings)
    if _above(asked.flow_mm3_s, settings.flow_max_mm3_s):
        yield _slowed(subject, asked)
    if filament is not None and _above(_real(settings, asked), filament.flow_max_mm3_s):
        whose = f"filament {filament.name}"
        yield _starved(subject, asked, filament.flow_max_mm3_s, whose, sources.FILAMENT)
    for limit, names, wish in _slow_machines(settings, printers or {}):
        yield _starved(subject, wish, limit, f"the hot end of {names}", sources.PRINTER)


def _above(flow_mm3_s: float, limit_mm3_s: float) -> bool:
    return flow_mm3_s > limit_mm3_s * (1 + SLACK)


def _real(settings: Settings, asked: Asked) -> float:
    """Flow in mm3/s that is left after the settings' own cap."""
    return min(asked.flow_mm3_s, settings.flow_max_mm3_s)


def _in_use(settings: Settings, feature: Feature) -> bool:
    return {
        Feature.TRAVEL: False,
        Feature.SUPPORT: settings.support,
        Feature.BRIM: settings.brim_mm > 0,
        Feature.SPARSE_FILL: 0 < settings.infill < 1,
        Feature.INNER_WALLS: settings.walls > 1,
    }.get(feature, True)


def _height_mm(settings: Settings, feature: Feature) -> float:
    return settings.first_layer_mm if feature is Feature.BRIM else settings.layer_mm


def _slow_machines(
    settings: Settings, printers: Mapping[str, Printer]
) -> Iterator[tuple[float, str, Asked]]:
    """Yield (limit, names, what they are asked for), slowest first, equals together."""
    slow: dict[tuple[float, float], list[str]] = {}
    for name in sorted(printers):
        limit, fastest = printers[name].flow_max_mm3_s, printers[name].speed_max_mm_s
        if _above(_real(settings, thirstiest(settings, fastest)), limit):
            slow.setdefault((limit, fastest), []).append(name)
    for limit, fastest in sorted(slow):
        names = listed(tuple(slow[limit, fastest]))
        yield limit, names, thirstiest(settings, fastest)


def _wish(asked: Asked) -> str:
    return (
        f"{asked.feature} at {asked.speed_mm_s:g} mm/s asks for {asked.flow_mm3_s:.1f} mm³/s "
        f"(section {asked.section_mm2:.3g} mm²)"
    )


def _left_mm_s(asked: Asked, limit: float) -> float:
    """Speed that the limit leaves, rounded down to a tenth."""
    return floor(limit / asked.section_mm2 * 10 * (1 + SLACK)) / 10


def _slowed(subject: Subject, asked: Asked) -> Finding:
    limit = subject.settings.flow_max_mm3_s
    left = _left_mm_s(asked, limit)
    return subject.finding(
        rule="flow",
        level=Level.NOTE,
        key="flow_max_mm3_s",
        found=_wish(asked),
        expected=f"at most {subject.found('flow_max_mm3_s', limit)} of the settings",
        why=f"the cap slows the head to {left:g} mm/s, and the time is counted so",
        remedy=subject.to_set(f"speed_mm_s.{entry_name(asked.feature)}", left),
        source=sources.BEAD,
    )


def _starved(subject: Subject, asked: Asked, limit: float, whose: str, source: str) -> Finding:
    left = _left_mm_s(asked, limit)
    return subject.finding(
        rule="flow",
        level=Level.WARN,
        key="flow_max_mm3_s",
        found=f"{_wish(asked)}, capped at {subject.settings.flow_max_mm3_s:g} mm³/s",
        expected=f"at most {limit:g} mm³/s, the limit of {whose}",
        why=f"faster than it melts, lines come out thin and weak; {left:g} mm/s is left",
        remedy=subject.to_set("flow_max_mm3_s", limit),
        source=f"{source}; {sources.BEAD}",
    )
