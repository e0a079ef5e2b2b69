"""From the job's parts to ready ones: mesh read, posed, laid in layers, timed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.errors import InputError, Problem, input_error
from planner.handover.model import ReadyPart
from planner.handover.workers import in_turn
from planner.layers.cache import laid
from planner.layers.mass import filament_range_mm3
from planner.layers.timing import time_on
from planner.progress import silent
from planner.settings.compatible import compatible
from planner.solid.pose import pose
from planner.solid.read import read_solid

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.handover.workers import Workers
    from planner.job.model import Job, Machine, Need, Part
    from planner.progress import Progress
    from planner.solid.model import Posed


ABSURD = 5.0
"""A part so many times as long as any printer is drawn in another unit; our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FailedPart:
    """A part whose mesh is sound but which cannot be laid in layers as its settings ask."""

    name: str
    copies: int
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSet:
    """All parts that have to be printed, in the job's order, and those that cannot be."""

    ready: tuple[ReadyPart, ...]
    failed: tuple[FailedPart, ...]


def prepare_parts(
    job: Job,
    needs: Sequence[Need],
    *,
    posed: Mapping[str, Posed] = MappingProxyType({}),
    workers: Workers = in_turn,
    progress: Progress = silent,
) -> PartSet:
    """Read, pose, lay and time every part that has to be printed.

    `posed` are parts that have been read and posed as the job wants them, by name.

    One part that cannot be laid does not stop the others. Raises InputError with one problem
    per mesh that is refused, all of them at once.
    """
    wanted = [need for need in needs if need.to_print > 0]
    made: list[ReadyPart | FailedPart | InputError] = []
    progress("meshes and layers", 0, len(wanted))
    for done, result in enumerate(workers(partial(_try, job, dict(posed)), wanted), 1):
        progress("meshes and layers", done, len(wanted), note=wanted[done - 1].part)
        made.append(result)
    refused = [p for error in made if isinstance(error, InputError) for p in error.problems]
    if refused:
        raise InputError(*refused)
    return PartSet(
        ready=tuple(part for part in made if isinstance(part, ReadyPart)),
        failed=tuple(part for part in made if isinstance(part, FailedPart)),
    )


def ready_parts(
    job: Job, needs: Sequence[Need], *, workers: Workers = in_turn, progress: Progress = silent
) -> tuple[ReadyPart, ...]:
    """Return the parts as `prepare_parts` does, but refuse what cannot be laid as well."""
    parts = prepare_parts(job, needs, workers=workers, progress=progress)
    if parts.failed:
        raise InputError(*(problem for part in parts.failed for problem in part.problems))
    return parts.ready


def _try(job: Job, known: Mapping[str, Posed], need: Need) -> ReadyPart | FailedPart | InputError:
    part = job.parts[need.part]
    where = f"part {part.name} ({part.where})"
    try:
        posed = known.get(part.name) or pose(
            read_solid(part.mesh, unit=part.unit, name=part.name), part.up
        )
    except InputError as error:
        return InputError(*_placed(error, where))
    try:
        return _ready_part(job, need, posed)
    except InputError as error:
        return FailedPart(name=part.name, copies=need.to_print, problems=_placed(error, where))


def _placed(error: InputError, where: str) -> tuple[Problem, ...]:
    """Say of which part of the job a fault of a mesh is."""
    return tuple(
        replace(p, place=f"{where}, {p.place}" if p.place else where) for p in error.problems
    )


def _refuse_absurd(job: Job, posed: Posed) -> None:
    """Refuse a part that is far larger than any printer of the job: layers of it take hours."""
    room_mm = max(
        max(m.printer.bed_width_mm, m.printer.bed_depth_mm, m.printer.height_mm)
        for m in job.machines
    )
    if max(posed.size_mm) > ABSURD * room_mm:
        size = " x ".join(f"{side:.0f}" for side in posed.size_mm)
        raise input_error(
            posed.solid.name,
            found=f"{size} mm as posed",
            expected=f"less than {ABSURD:g} times the longest side of a printer, {room_mm:g} mm",
            remedy="check the unit of the mesh, or divide the part",
        )


def _ready_part(job: Job, need: Need, posed: Posed) -> ReadyPart:
    part = job.parts[need.part]
    _refuse_absurd(job, posed)
    filament = job.filaments[part.settings.material]
    layering = laid(posed, part.settings)
    (least_mm3, most_mm3), reasons = filament_range_mm3(layering, part.settings)
    printers = {machine.printer.name: machine.printer for machine in job.machines}
    times = {
        name: time_on(
            layering,
            part.settings,
            printer,
            filament_flow_max_mm3_s=filament.flow_max_mm3_s,
            strand_mm2=filament.area_mm2,
        )
        for name, printer in sorted(printers.items())
    }
    return ReadyPart(
        part=part,
        need=need,
        filament=filament,
        posed=posed,
        layering=replace(layering, paths=None),
        times=times,
        grams=filament.mass_g(layering.filament_mm3),
        grams_range=(filament.mass_g(least_mm3), filament.mass_g(most_mm3)),
        grams_reasons=reasons,
    )


def machines_for(job: Job, part: Part) -> tuple[Machine, ...]:
    """Return the machines whose nozzle, heat and enclosure suit the part (size aside)."""
    filament = job.filaments[part.settings.material]
    return tuple(
        machine
        for machine in job.machines
        if compatible(machine.printer, part.settings, filament) is None
    )
