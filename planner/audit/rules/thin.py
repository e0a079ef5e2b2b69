"""Walls of the part against the lines they are made of."""

from __future__ import annotations

from math import floor, isfinite
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.rules.bead import SLACK
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.layers.model import Layering


def thin_wall(subject: Subject, layering: Layering) -> Iterator[Finding]:
    """Warn of a wall thinner than one line, note one thinner than two, or than all its walls."""
    thin, line = layering.thinnest_mm, subject.settings.line_width_mm
    if not isfinite(thin):
        return
    if thin >= 2 * line * (1 - SLACK):
        yield from _fewer_walls(subject, thin)
        return
    lost = thin < line * (1 - SLACK)
    yield subject.finding(
        rule="thin wall",
        level=Level.WARN if lost else Level.NOTE,
        key="line_width_mm",
        found=f"a wall {thin:.2f} mm thin",
        expected=f"at least two lines, {2 * line:g} mm",
        why=f"thinner than one line ({line:g} mm) it is left out or comes out thicker"
        if lost
        else f"it is one line of {line:g} mm, not a loop on each face",
        remedy=f"thicken the wall to {2 * line:g} mm in the model",
        source=sources.PRACTICE,
    )


def _fewer_walls(subject: Subject, thin_mm: float) -> Iterator[Finding]:
    """Note where loops from both faces meet before all of them are laid."""
    line, walls = subject.settings.line_width_mm, subject.settings.walls
    fit = floor(thin_mm / line / 2 * (1 + SLACK))
    if fit >= walls:
        return
    yield subject.finding(
        rule="thin wall",
        level=Level.NOTE,
        key="walls",
        found=f"{subject.found('walls', walls)} of {line:g} mm from both faces of a wall "
        f"{thin_mm:.2f} mm thin",
        expected=f"at least {2 * walls * line:g} mm for all of them",
        why=f"{fit} from each face fit, and what is left between them is filled or stays open",
        remedy=f"nothing, if {fit} from each face are enough there; else thicken the wall to "
        f"{2 * walls * line:g} mm in the model",
        source=sources.ARITHMETIC_OF_LINES,
    )
