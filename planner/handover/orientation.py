"""Build directions of a mesh, or of a part of a job, under their loads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.handover.estimates import direction
from planner.job.load_file import load_cases
from planner.settings.load import load_filament, load_settings
from planner.solid.read import read_solid
from planner.strength.material import printed
from planner.strength.orient import orient

if TYPE_CHECKING:
    from pathlib import Path

    from planner.job.model import Job, Part
    from planner.solid.model import Solid
    from planner.strength.material import Printed
    from planner.strength.model import Orientation


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
    cases = load_cases(question.load)
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


def orient_part(job: Job, part: Part) -> Oriented:
    """Rank the build directions of a part of a job that has loads; raises InputError."""
    settings = part.settings
    material = printed(
        job.filaments[settings.material],
        walls=settings.walls,
        infill=settings.infill,
        line_width_mm=settings.line_width_mm,
    )
    solid = read_solid(part.mesh, unit=part.unit, name=part.name)
    return Oriented(
        name=part.name,
        solid=solid,
        material=material,
        walls=settings.walls,
        orientation=orient(solid, part.loads, material, up=part.up),
    )
