"""Build directions of a mesh, or of a part of a job, under their loads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.audit.model import Finding
from planner.handover.estimates import direction
from planner.job.load_file import read_loads
from planner.settings.load import load_filament, load_settings
from planner.settings.model import Level
from planner.solid.read import read_solid
from planner.strength.material import printed
from planner.strength.orient import orient

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from planner.job.model import Job, Part
    from planner.solid.model import Solid
    from planner.strength.material import Printed
    from planner.strength.model import Direction, Orientation

WORTH_TURNING = 1.25
"""A direction that bears so many times as much is worth a word (invented)."""

WANTED_FACTOR = 2.0
"""Predicted factor under which a load is told of: the prediction itself may be off by about
two, as strengths across layers are (see the ranges in the filament profiles)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What the user asked for, as words and numbers; None takes the settings' own value."""

    load: Path
    material: str | None
    settings: str
    walls: int | None
    infill: float | None
    up: str
    unit: str | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Oriented:
    """A part, the material it is printed in, and how its build directions compare."""

    name: str
    solid: Solid
    material: Printed
    walls: int
    orientation: Orientation


def orient_mesh(path: Path, question: Question) -> Oriented:
    """Rank the build directions of a mesh; raises InputError for what cannot be used."""
    cases = read_loads(question.load).cases
    settings = load_settings(question.settings)
    filament = load_filament(question.material or settings.material)
    walls = settings.walls if question.walls is None else question.walls
    infill = settings.infill if question.infill is None else question.infill
    material = printed(filament, walls=walls, infill=infill, line_width_mm=settings.line_width_mm)
    solid = read_solid(path, unit=question.unit)
    return Oriented(
        name=str(path),
        solid=solid,
        material=material,
        walls=walls,
        orientation=orient(solid, cases, material, up=direction(question.up)),
    )


def orient_part(job: Job, part: Part, solid: Solid | None = None) -> Oriented:
    """Rank the build directions of a part that has loads; `solid` spares reading its mesh.

    Raises InputError for a mesh or a load that cannot be worked out.
    """
    settings = part.settings
    material = printed(
        job.filaments[settings.material],
        walls=settings.walls,
        infill=settings.infill,
        line_width_mm=settings.line_width_mm,
    )
    solid = solid or read_solid(part.mesh, unit=part.unit, name=part.name)
    return Oriented(
        name=part.name,
        solid=solid,
        material=material,
        walls=settings.walls,
        orientation=orient(solid, part.loads, material, up=part.up),
    )


def strength_findings(part: Part, found: Oriented) -> tuple[Finding, ...]:
    """Say what a part's build direction costs it, and whether its loads are near its strength."""
    return tuple(_findings(part, found.orientation))


def _findings(part: Part, orientation: Orientation) -> Iterator[Finding]:
    best, given = orientation.directions[0], orientation.as_given
    doubts = "; ".join(orientation.warnings) or "see what is taken for granted"
    if orientation.lost >= WORTH_TURNING:
        yield Finding(
            rule="build direction and strength",
            level=Level.WARN,
            part=part.name,
            where=part.where,
            found=f"{given.name} up bears {given.safety_factor:.2g} times the load "
            f"({given.layer_tension_mpa:.3g} MPa across the layers)",
            expected=f"{best.name} up, which bears {orientation.lost:.1f} times as much",
            why=orientation.reason,
            remedy=f"write up: {_written(best)}, or keep {given.name} if the loss does not matter",
            source=f"stresses worked out on the part; {doubts}",
        )
    if given.safety_factor < WANTED_FACTOR:
        low, high = given.safety_range
        yield Finding(
            rule="strength under load",
            level=Level.WARN,
            part=part.name,
            where=part.where,
            found=f"a predicted factor of {given.safety_factor:.2g}, between {low:.2g} and "
            f"{high:.2g}, weakest {given.governed_by} around "
            f"[{', '.join(f'{x:.3g}' for x in given.weakest_mm)}] mm",
            expected=f"at least {WANTED_FACTOR:g}",
            why=orientation.caution,
            remedy="lessen the load, thicken the part there, add walls, or take a stronger "
            "material; then test one to failure",
            source=f"stresses worked out on the part; {doubts}",
        )


def _written(one: Direction) -> str:
    if one.name[0] in "+-":
        return one.name
    return "[" + ", ".join(f"{x:.3f}" for x in one.up) + "]"
