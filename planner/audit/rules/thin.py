"""Walls of the part against the lines they are made of."""

from __future__ import annotations

from math import isfinite
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
    """Warn of a wall thinner than one line; note one thinner than two."""
    thin, line = layering.thinnest_mm, subject.settings.line_width_mm
    if not isfinite(thin) or thin >= 2 * line * (1 - SLACK):
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
