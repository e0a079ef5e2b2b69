"""Settings that contradict each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.subject import Subject

LINES = ("lines", "solid", "rectilinear", "parallel", "concentric")
"""Patterns of parallel lines, which can fill a layer wholly."""

STEEPEST_DEG, USUAL_OVERHANG_DEG = 90.0, 50.0
"""A flat underside; and where support usually begins (45 to 60: common practice, no source)."""


def outline(subject: Subject) -> Iterator[Finding]:
    """Stop where a part would have no wall at all."""
    if subject.settings.walls > 0:
        return
    yield subject.finding(
        rule="no outline",
        level=Level.STOP,
        key="walls",
        found=subject.found("walls", subject.settings.walls),
        expected="at least 1 wall",
        why="without a wall nothing holds the ends of the fill, and edges come out ragged",
        change=("walls", 3),
        source=sources.PRACTICE,
    )


def roof_without_fill(subject: Subject) -> Iterator[Finding]:
    """Warn where top layers would be laid over nothing."""
    settings = subject.settings
    if settings.infill > 0 or settings.top_layers == 0:
        return
    yield subject.finding(
        rule="settings disagree",
        level=Level.WARN,
        key="infill",
        found=f"{subject.found('infill', settings.infill)} infill under "
        f"{settings.top_layers:g} top layers",
        expected="some infill, or no top layers",
        why="the top would be laid over air",
        remedy=f"{subject.to_set('infill', 0.15)}, or top_layers: 0 for an open part",
        change=("infill", 0.15),
        source=sources.PRACTICE,
    )


def pattern_of_solid(subject: Subject) -> Iterator[Finding]:
    """Note a sparse pattern that a solid part cannot use."""
    settings = subject.settings
    if settings.infill < 1 or settings.infill_pattern.casefold() in LINES:
        return
    yield subject.finding(
        rule="settings disagree",
        level=Level.NOTE,
        key="infill_pattern",
        found=f"pattern {subject.found('infill_pattern', settings.infill_pattern)} at 100 % infill",
        expected="parallel lines, or less than 100 % infill",
        why="lines that cross in one layer lay plastic twice; a solid part is counted as solid "
        "fill whatever the pattern",
        remedy=f"{subject.to_set('infill_pattern', LINES[0])}, or lower infill",
        change=("infill_pattern", LINES[0]),
        source=sources.PRACTICE,
    )


def brim_of_no_line(subject: Subject) -> Iterator[Finding]:
    """Note a brim narrower than the one line it would be made of."""
    settings = subject.settings
    own = subject.states("first_layer_width_mm") and settings.first_layer_width_mm
    width = own or settings.line_width_mm
    if settings.brim_mm == 0 or settings.brim_mm >= width:
        return
    yield subject.finding(
        rule="settings disagree",
        level=Level.NOTE,
        key="brim_mm",
        found=f"brim of {subject.found('brim_mm', settings.brim_mm)}",
        expected=f"0, or at least one line ({width:g} mm)",
        why="not one line of it fits, so none is laid",
        change=("brim_mm", 0),
        source=sources.PRACTICE,
    )


def lift_without_retraction(subject: Subject) -> Iterator[Finding]:
    """Note a lift that never comes, since it goes with drawing back the strand."""
    settings = subject.settings
    if not subject.states("lift_mm") or settings.lift_mm == 0 or settings.retract_mm > 0:
        return
    yield subject.finding(
        rule="settings disagree",
        level=Level.NOTE,
        key="lift_mm",
        found=f"a lift of {subject.found('lift_mm', settings.lift_mm)} without retraction",
        expected="no lift, or some retraction",
        why="the head is lifted only on ways for which the strand is drawn back",
        remedy=f"{subject.to_set('lift_mm', 0)}, or set retract_mm",
        change=("lift_mm", 0.0),
        source=sources.PRACTICE,
    )


def support_of_nothing(subject: Subject) -> Iterator[Finding]:
    """Note support that is asked for under surfaces that do not exist."""
    settings = subject.settings
    if not settings.support or settings.overhang_deg < STEEPEST_DEG:
        return
    yield subject.finding(
        rule="settings disagree",
        level=Level.NOTE,
        key="overhang_deg",
        found=f"support under what leans out {subject.found('overhang_deg', settings.overhang_deg)}"
        " and more",
        expected="45 to 60°, or support off",
        why="nothing leans out further than flat, so no support is laid",
        change=("overhang_deg", USUAL_OVERHANG_DEG),
        source=sources.PRACTICE,
    )


def wrong_filament(subject: Subject) -> Iterator[Finding]:
    """Stop where the settings are written for another material than the filament's."""
    filament, material = subject.filament, subject.settings.material
    if filament is None or filament.material.casefold() == material.casefold():
        return
    yield subject.finding(
        rule="settings disagree",
        level=Level.STOP,
        key="material",
        found=f"settings for {subject.found('material', material)}, filament of "
        f"{filament.material}",
        expected="one and the same material",
        why="temperatures, flow and cooling belong to a material",
        remedy=f"{subject.to_set('material', filament.material)} and check its temperatures, or "
        "choose another filament",
        source=sources.FILAMENT,
    )
