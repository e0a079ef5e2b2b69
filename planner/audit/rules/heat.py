"""Temperatures against the filament's range."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.subject import Subject

FAR_C = 20.0
"""So far outside the nozzle's range it is a mistake, not a choice (our own choice)."""


def nozzle_heat(subject: Subject) -> Iterator[Finding]:
    """Yield a finding where the nozzle is colder or hotter than the filament wants."""
    yield from _range(
        subject,
        "nozzle_c",
        cold="colder, the lines do not weld and the feed may slip",
        hot="hotter, the plastic strings, breaks down and gives off more fumes",
        far_c=FAR_C,
    )


def bed_heat(subject: Subject) -> Iterator[Finding]:
    """Yield a finding where the bed is colder or hotter than the filament wants."""
    yield from _range(
        subject,
        "bed_c",
        cold="colder, the part lets go of the bed or lifts at its corners",
        hot="hotter, the foot of the part stays soft and spreads",
        far_c=float("inf"),
    )


def _range(subject: Subject, key: str, *, cold: str, hot: str, far_c: float) -> Iterator[Finding]:
    filament = subject.filament
    if filament is None:
        return
    low, high = getattr(filament, key)
    value: float = getattr(subject.settings, key)
    if low <= value <= high:
        return
    yield subject.finding(
        rule=key,
        level=Level.STOP if max(low - value, value - high) > far_c else Level.WARN,
        key=key,
        found=subject.found(key, value),
        expected=f"{low:g} to {high:g} °C for filament {filament.name}",
        why=cold if value < low else hot,
        change=(key, low if value < low else high),
        source=sources.FILAMENT,
    )
