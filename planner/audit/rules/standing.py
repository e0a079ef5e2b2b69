"""How a part stands on the bed: what it holds on by, and how soon it falls over.

Both thresholds are common practice, no source; they agree for a plain block, which tips at
atan(width / height): 10 degrees is a height of 5.7 widths.
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.words import box
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.solid.model import Posed

NO_CONTACT_MM2 = 1.0
"""Under this a part stands on a point or an edge: about two lines, 2 mm long."""

TIP_DEG = 10.0
SLENDER = 8.0
"""Height over the side of a square of the contact area."""

BRIM_MM = 5.0
"""A brim this wide is taken to hold a slender part."""


def contact(subject: Subject, posed: Posed) -> Iterator[Finding]:
    """Stop a part that touches the bed by a point or edge; warn of a small foot."""
    height = posed.size_mm[2]
    if posed.contact_mm2 < NO_CONTACT_MM2:
        yield _contact(subject, posed, _without_foot(subject), "support", value=True)
    elif height > SLENDER * sqrt(posed.contact_mm2) and subject.settings.brim_mm < BRIM_MM:
        yield _contact(subject, posed, Level.WARN, "brim_mm", value=BRIM_MM)


def tip_over(subject: Subject, posed: Posed) -> Iterator[Finding]:
    """Warn where a small tilt is enough to turn the part over, unless a brim holds it."""
    if posed.tip_deg >= TIP_DEG or posed.contact_mm2 < NO_CONTACT_MM2:
        return
    if subject.settings.brim_mm >= BRIM_MM:
        return
    yield subject.finding(
        rule="tip over",
        level=Level.WARN,
        found=f"falls over at a tilt of {posed.tip_deg:.1f}° ({box(posed.size_mm)})",
        expected=f"at least {TIP_DEG:g}°, or a brim of {BRIM_MM:g} mm",
        why="the moving nozzle pushes at the top, and the bed's hold is all that answers",
        remedy=f"{subject.to_set('brim_mm', BRIM_MM)}, or declare a lower up",
        change=("brim_mm", BRIM_MM),
        source=sources.PRACTICE,
    )


def _without_foot(subject: Subject) -> Level:
    return Level.WARN if subject.settings.support else Level.STOP


def _contact(subject: Subject, posed: Posed, level: Level, key: str, *, value: float) -> Finding:
    height = posed.size_mm[2]
    wanted = max(NO_CONTACT_MM2, (height / SLENDER) ** 2)
    return subject.finding(
        rule="contact",
        level=level,
        found=f"{posed.contact_mm2:.1f} mm² on the bed under a height of {height:.1f} mm",
        expected=f"at least {wanted:.0f} mm² ({SLENDER:g} sides of an equal square), or a brim",
        why="what holds the part to the bed is small against the height it is pushed at",
        remedy=f"{subject.to_set(key, value)}, or turn the part onto a larger face",
        change=(key, value),
        source=sources.PRACTICE,
    )
