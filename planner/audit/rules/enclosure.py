"""Filaments that want a warm chamber."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.subject import Subject


def enclosure(subject: Subject) -> Iterator[Finding]:
    """Note a material that warps in the open; `printers` says whether a machine has a chamber."""
    filament = subject.filament
    if filament is None or not filament.needs_enclosure:
        return
    yield subject.finding(
        rule="enclosure",
        level=Level.NOTE,
        key="material",
        found=f"{subject.found('material', subject.settings.material)}, which wants an enclosure",
        expected="an enclosed printer, doors shut",
        why="in moving air it cools unevenly, lifts off the bed and splits between layers",
        remedy="print it only on printers whose profile says enclosed: true",
        source=sources.FILAMENT,
    )
