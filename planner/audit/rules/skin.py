"""Solid layers that close a sparse inside: thick enough to close it."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.rules.bead import SLACK
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.subject import Subject

THICK_MM = 0.6
"""Three layers of 0.2 mm: fewer sag between the lines of the fill. Common practice, no source."""


def solid_skin(subject: Subject) -> Iterator[Finding]:
    """Yield a finding for a top or bottom skin that is thinner than `THICK_MM`, or absent."""
    settings = subject.settings
    if settings.infill >= 1:
        return
    top = settings.top_layers * settings.layer_mm
    yield from _skin(subject, "top_layers", settings.top_layers, top, THICK_MM)
    rest = max(settings.bottom_layers - 1, 0) * settings.layer_mm
    bottom = settings.first_layer_mm + rest if settings.bottom_layers else 0.0
    lacking = THICK_MM - settings.first_layer_mm + settings.layer_mm
    yield from _skin(subject, "bottom_layers", settings.bottom_layers, bottom, lacking)


def _skin(
    subject: Subject, key: str, layers: int, thick_mm: float, needs_mm: float
) -> Iterator[Finding]:
    """`needs_mm` over the layer height is how many layers make up `THICK_MM`."""
    if thick_mm >= THICK_MM * (1 - SLACK):
        return
    enough = max(1, ceil(needs_mm / subject.settings.layer_mm * (1 - SLACK)))
    yield subject.finding(
        rule="solid skin",
        level=Level.WARN if layers == 0 else Level.NOTE,
        key=key,
        found=f"{subject.found(key, layers)}, {thick_mm:g} mm thick, over "
        f"{subject.settings.infill * 100:g} % infill",
        expected=f"at least {THICK_MM:g} mm: {enough} layers of {subject.settings.layer_mm:g} mm",
        why="the fill lies open" if layers == 0 else "a thin skin sags into the fill and is weak",
        change=(key, enough),
        source=sources.SKINS,
    )
