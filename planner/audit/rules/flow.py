"""The plastic that is asked for per second against what can be melted."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, hypot, inf, pi
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.rules.bead import SLACK
from planner.audit.words import entry_name, listed
from planner.settings.model import Bead, Feature, Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.settings.model import Filament, Printer, Settings


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


def section_mm2(settings: Settings, height_mm: float, width_mm: float | None = None) -> float:
    """Section of a laid strand: w h, or (w - h) h + pi h^2 / 4 with rounded ends."""
    width = settings.line_width_mm if width_mm is None else width_mm
    if settings.bead is Bead.STADIUM:
        return (width - height_mm) * height_mm + pi * height_mm**2 / 4
    return width * height_mm


def thirstiest(subject: Subject, speed_max_mm_s: float = inf) -> Asked:
    """Return the feature in use that asks for the most flow (the first of equals).

    A machine that is slower than the settings ask for is given its `speed_max_mm_s`.
    """
    settings = subject.settings
    asked = [
        Asked(
            feature=feature,
            speed_mm_s=min(settings.speed_mm_s.get(feature, 0.0), speed_max_mm_s),
            section_mm2=_section_of(subject, feature),
        )
        for feature in Feature
        if in_use(subject, feature)
    ]
    return max(asked, key=lambda one: one.flow_mm3_s)


def in_use(subject: Subject, feature: Feature) -> bool:
    """Tell whether the settings lay a feature at all, as far as they say; travel lays nothing."""
    settings, states = subject.settings, subject.states
    if feature is Feature.SUPPORT:
        return states("support") and settings.support
    if feature is Feature.BRIM:
        return states("brim_mm") and settings.brim_mm > 0
    if feature is Feature.SPARSE_FILL:
        return states("infill") and 0 < settings.infill < 1
    if feature is Feature.INNER_WALLS:
        return states("walls") and settings.walls > 1
    return feature is not Feature.TRAVEL


def flow(subject: Subject, printers: Mapping[str, Printer] | None = None) -> Iterator[Finding]:
    """Yield findings where the melt cannot keep up; `printers` maps a machine to what it is.

    The settings' own cap slows the head, so beyond it there is only a note; the filament's
    and the machines' limits are held against what is left after that cap.
    """
    filament = subject.filament
    asked = thirstiest(subject)
    if _above(asked.flow_mm3_s, _cap(subject)):
        yield _slowed(subject, asked)
    if filament is not None and _above(_real(subject, asked), filament.flow_max_mm3_s):
        whose = f"filament {filament.name}"
        yield _starved(subject, asked, filament.flow_max_mm3_s, whose, sources.FILAMENT)
    for limit, names, wish in _slow_machines(subject, printers or {}):
        yield _starved(subject, wish, limit, f"the hot end of {names}", sources.PRINTER)


def fastest_mm_s(printer: Printer) -> float:
    """Return the fastest run along any path: both axes at once at most."""
    axes = printer.axis_speed_mm_s
    return min(printer.speed_max_mm_s, inf if axes is None else hypot(*axes[:2]))


def flow_limit(printer: Printer, filament: Filament | None) -> float:
    """Flow in mm3/s that a machine melts and feeds: strand speed x its section bounds it too."""
    if printer.strand_speed_mm_s is None or filament is None:
        return printer.flow_max_mm3_s
    return min(printer.flow_max_mm3_s, printer.strand_speed_mm_s * filament.area_mm2)


def _above(flow_mm3_s: float, limit_mm3_s: float) -> bool:
    return flow_mm3_s > limit_mm3_s * (1 + SLACK)


def _cap(subject: Subject) -> float:
    """Return the settings' own limit, in mm3/s; infinite where they say nothing of it."""
    return subject.settings.flow_max_mm3_s if subject.states("flow_max_mm3_s") else inf


def _real(subject: Subject, asked: Asked) -> float:
    """Flow in mm3/s that is left after the settings' own cap."""
    return min(asked.flow_mm3_s, _cap(subject))


def _section_of(subject: Subject, feature: Feature) -> float:
    """Section of a feature's strand; the brim lies in the first layer and has its lines."""
    settings = subject.settings
    if feature is not Feature.BRIM:
        return section_mm2(settings, settings.layer_mm)
    own = settings.first_layer_width_mm if subject.states("first_layer_width_mm") else None
    return section_mm2(settings, settings.first_layer_mm, own)


def _slow_machines(
    subject: Subject, printers: Mapping[str, Printer]
) -> Iterator[tuple[float, str, Asked]]:
    """Yield (limit, names, what they are asked for), slowest first, equals together."""
    slow: dict[tuple[float, float], list[str]] = {}
    for name in sorted(printers):
        limit = flow_limit(printers[name], subject.filament)
        fastest = fastest_mm_s(printers[name])
        if _above(_real(subject, thirstiest(subject, fastest)), limit):
            slow.setdefault((limit, fastest), []).append(name)
    for limit, fastest in sorted(slow):
        names = listed(tuple(slow[limit, fastest]))
        yield limit, names, thirstiest(subject, fastest)


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
        change=(f"speed_mm_s.{entry_name(asked.feature)}", left),
        source=sources.BEAD,
    )


def _starved(subject: Subject, asked: Asked, limit: float, whose: str, source: str) -> Finding:
    left, cap = _left_mm_s(asked, limit), _cap(subject)
    capped = "" if cap == inf else f", capped at {cap:g} mm³/s"
    slower = (f"speed_mm_s.{entry_name(asked.feature)}", left)
    return subject.finding(
        rule="flow",
        level=Level.WARN,
        key="flow_max_mm3_s" if cap < inf else slower[0],
        found=f"{_wish(asked)}{capped}",
        expected=f"at most {limit:g} mm³/s, the limit of {whose}",
        why=f"faster than it melts, lines come out thin and weak; {left:g} mm/s is left",
        change=slower if cap == inf else ("flow_max_mm3_s", limit),
        source=f"{source}; {sources.BEAD}",
    )
