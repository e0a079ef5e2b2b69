"""Build directions of a mesh, or of the parts of a job, under their loads."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.handover.estimates import direction
from planner.handover.parts import machines_for
from planner.handover.workers import in_turn
from planner.job.load_file import read_loads
from planner.progress import silent
from planner.settings.library import Cited
from planner.settings.load import load_filament, load_printer, load_settings
from planner.solid.read import read_solid
from planner.strength.cache import oriented
from planner.strength.hanging import hanging
from planner.strength.hours import pace
from planner.strength.material import printed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from planner.errors import Problem
    from planner.handover.workers import Workers
    from planner.job.model import Job, Need, Part
    from planner.progress import Progress
    from planner.settings.model import Filament, Printer, Settings
    from planner.strength.directions import Room
    from planner.strength.hanging import Hanging
    from planner.strength.material import Printed
    from planner.strength.model import Orientation

MODES = ("audit", "declared", "auto")
"""What a plan does about build directions: solve and tell, take as written, solve and turn."""

KEEPS = "build direction"
"""A part that claims an exception to this rule is not turned."""


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
    printer: str = "open_frame_220"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Oriented:
    """A part, the material it is printed in, and how its build directions compare.

    `hanging` is what its screws bear, None where it has none. `turned` says that the part is
    printed in the practical direction and not as given.
    """

    name: str
    material: Printed
    walls: int
    orientation: Orientation
    hanging: Hanging | None = None
    turned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsolved:
    """A part whose stresses could not be worked out, and why."""

    name: str
    problems: tuple[Problem, ...]


Strengths = dict[str, Oriented | Unsolved]
"""Part -> what is known of its strength, in the job's order."""

NO_STRENGTHS: Mapping[str, Oriented | Unsolved] = MappingProxyType({})


def orient_mesh(path: Path, question: Question) -> Oriented:
    """Rank the build directions of a mesh; raises InputError for what cannot be used."""
    loads = read_loads(question.load)
    settings = load_settings(question.settings, Cited.option("--settings"))
    named = settings.material if question.material is None else question.material
    filament = load_filament(named, Cited.option("--material"))
    if question.walls is not None:
        settings = replace(settings, walls=question.walls)
    if question.infill is not None:
        settings = replace(settings, infill=question.infill)
    printer = load_printer(question.printer, Cited.option("--printer"))
    solid = read_solid(path, unit=question.unit)
    material = _printed(filament, settings)
    return Oriented(
        name=str(path),
        material=material,
        walls=settings.walls,
        orientation=oriented(
            solid,
            loads.cases,
            material,
            up=direction(question.up),
            visible=loads.visible,
            pace=pace(settings, printer, filament.flow_max_mm3_s),
            rooms=(_room(printer, settings.brim_mm),),
        ),
        hanging=hanging(solid, loads.cases, loads.fixings) if loads.fixings else None,
    )


def _room(printer: Printer, margin_mm: float) -> Room:
    """Return what a part may take up on a bed, keep-outs aside."""
    return (
        printer.bed_width_mm - 2 * margin_mm,
        printer.bed_depth_mm - 2 * margin_mm,
        printer.height_mm,
    )


def _printed(filament: Filament, settings: Settings) -> Printed:
    return printed(
        filament,
        walls=settings.walls,
        infill=settings.infill,
        line_width_mm=settings.line_width_mm,
        solid_mm=(
            settings.bottom_layers * settings.layer_mm,
            settings.top_layers * settings.layer_mm,
        ),
    )


def orient_part(job: Job, part: Part) -> Oriented:
    """Rank the build directions of a part that has loads.

    Hours are those on the first printer that suits it. Raises InputError for a mesh or a load
    that cannot be worked out.
    """
    filament = job.filaments[part.settings.material]
    material = _printed(filament, part.settings)
    solid = read_solid(part.mesh, unit=part.unit, name=part.name)
    printers = [machine.printer for machine in machines_for(job, part) or job.machines]
    margin_mm = job.edge_mm + part.settings.brim_mm
    return Oriented(
        name=part.name,
        material=material,
        walls=part.settings.walls,
        orientation=oriented(
            solid,
            part.loads,
            material,
            up=part.up,
            visible=part.visible,
            pace=pace(part.settings, printers[0], filament.flow_max_mm3_s),
            rooms=tuple(dict.fromkeys(_room(printer, margin_mm) for printer in printers)),
        ),
        hanging=hanging(solid, part.loads, part.fixings) if part.fixings else None,
    )


def oriented_job(
    job: Job,
    needs: Sequence[Need],
    mode: str,
    *,
    workers: Workers = in_turn,
    progress: Progress = silent,
) -> tuple[Job, Mapping[str, Oriented | Unsolved]]:
    """Do with build directions as one of `MODES` asks; return the job as it is to be printed.

    Raises ValueError for another mode.
    """
    if mode not in MODES:
        raise ValueError(f"{mode!r} is none of {', '.join(MODES)}")
    if mode == "declared":
        return job, NO_STRENGTHS
    strengths = orient_parts(job, needs, workers=workers, progress=progress)
    return turned(job, strengths) if mode == "auto" else (job, strengths)


def orient_parts(
    job: Job, needs: Sequence[Need], *, workers: Workers = in_turn, progress: Progress = silent
) -> Strengths:
    """Work out every part that carries a load and has to be printed.

    A part that cannot be worked out does not stop the others, nor the plan.
    """
    wanted = [need.part for need in needs if need.to_print > 0 and job.parts[need.part].loads]
    made: Strengths = {}
    progress("strength", 0, len(wanted))
    for name, found in zip(wanted, workers(partial(_try, job), wanted), strict=True):
        made[name] = found
        progress("strength", len(made), len(wanted), note=name)
    return made


def _try(job: Job, name: str) -> Oriented | Unsolved:
    try:
        return orient_part(job, job.parts[name])
    except InputError as error:
        return Unsolved(name=name, problems=error.problems)


def turned(job: Job, strengths: Mapping[str, Oriented | Unsolved]) -> tuple[Job, Strengths]:
    """Lay every part that carries a load in its practical direction, and say which were turned.

    A part that claims an exception to `KEEPS` stays as declared.
    """
    parts, told = dict(job.parts), dict(strengths)
    for name, found in strengths.items():
        if isinstance(found, Unsolved) or KEEPS in parts[name].exceptions:
            continue
        best = found.orientation.practical
        if best != found.orientation.as_given:
            parts[name] = replace(parts[name], up=best.up)
            told[name] = replace(found, turned=True)
    return replace(job, parts=parts), told
