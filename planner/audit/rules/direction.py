"""The build direction against the loads, as far as angles can tell; and creep."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.settings.model import Level
from planner.strength.angle import MUCH, SOME

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.audit.model import Finding
    from planner.audit.subject import Subject
    from planner.job.model import Part
    from planner.strength.angle import LayerPull

CREEPS = ("pla",)
"""Materials whose poor life under a steady load is published (see `sources.CREEP`)."""


def build_direction(subject: Subject, part: Part, pulls: Sequence[LayerPull]) -> Iterator[Finding]:
    """Yield one finding for the pull that crosses the layers most.

    A sustained load is told one step more strictly than a passing one; a part tagged
    `overhead` is stopped where most of a pull crosses the layers: angles alone say nothing
    of how much it holds, so nothing else is. An undeclared direction is noted where a load
    says that it matters.
    """
    if not pulls:
        return
    worst = max(pulls, key=lambda pull: pull.crossing)
    level = _level(part, worst.crossing)
    if level is not None:
        yield _crossed(subject, part, worst, level)
    elif not part.up_declared:
        yield _undeclared(subject, part, worst)


def creep(subject: Subject, part: Part) -> Iterator[Finding]:
    """Note a steady load on a material that gives way slowly."""
    material = subject.settings.material
    if material.casefold() not in CREEPS or not any(load.sustained for load in part.loads):
        return
    yield subject.finding(
        rule="creep",
        level=Level.NOTE,
        key="material",
        found=f"a sustained load on {material}",
        expected="a material that is known to keep its shape under the load, or a small load",
        why="polylactide is strong at first but flows slowly and breaks late under a steady load",
        remedy="load it well below its strength, look at it again after weeks, or choose another "
        "material",
        source=sources.CREEP,
    )


def axis_name(direction: tuple[float, float, float]) -> str:
    """Return "+x" for an axis, else the numbers.

    >>> axis_name((0, -1, 0)), axis_name((0.6, 0, 0.8))
    ('-y', '[0.6, 0, 0.8]')
    """
    for index, letter in enumerate("xyz"):
        if abs(direction[index]) > 1 - 1e-9:
            return ("+" if direction[index] > 0 else "-") + letter
    return "[" + ", ".join(f"{round(number, 3) + 0.0:g}" for number in direction) + "]"


def _level(part: Part, crossing: float) -> Level | None:
    sustained = any(load.sustained for load in part.loads)
    if crossing >= MUCH:
        return Level.STOP if "overhead" in part.tags else Level.WARN
    if crossing >= SOME:
        return Level.WARN if sustained else Level.NOTE
    return None


def _crossed(subject: Subject, part: Part, worst: LayerPull, level: Level) -> Finding:
    steady = any(load.sustained for load in part.loads)
    return subject.finding(
        rule="build direction",
        level=level,
        found=f"{_said(part)}: {worst.crossing * 100:.0f} % of the pull crosses the layers",
        expected=f"less than {SOME * 100:g} %",
        why="layers part from each other at a third to two thirds of the strength along them"
        + (", and under a steady load they part later at less" if steady else ""),
        remedy=_try(part, worst),
        source=f"{sources.LAYERS_IN_TENSION}; {sources.CREEP}"
        if steady
        else sources.LAYERS_IN_TENSION,
    )


def _undeclared(subject: Subject, part: Part, worst: LayerPull) -> Finding:
    return subject.finding(
        rule="build direction",
        level=Level.NOTE,
        found=f"{_said(part)}, and the part carries a load",
        expected="a declared build direction (up:) for a part that carries a load",
        why=f"as drawn, {worst.crossing * 100:.0f} % of the pull crosses the layers; somebody "
        "may turn the part who does not know of the load",
        remedy=f"write up: {axis_name(part.up)} to keep it so",
        source=sources.LAYERS_IN_TENSION,
    )


def _said(part: Part) -> str:
    said = "declared" if part.up_declared else "up is not declared, drawn"
    return f"{said} {axis_name(part.up)}"


def _try(part: Part, worst: LayerPull) -> str:
    """Return the better direction, or that there is none among the axes."""
    if worst.better_crossing >= min(worst.crossing, SOME):
        best = f" (the best, {worst.better_up}, still has {worst.better_crossing * 100:.0f} %)"
        return f"no axis frees the layers of this load{best}: thicken or divide {part.name}"
    return f"try up: {worst.better_up} ({worst.better_crossing * 100:.0f} %)"
