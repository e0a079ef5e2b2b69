"""From the job's parts to ready ones: mesh read, posed, laid in layers, timed."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from planner.errors import InputError, Problem
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
    from collections.abc import Sequence

    from planner.handover.workers import Workers
    from planner.job.model import Job, Machine, Need, Part
    from planner.progress import Progress


def ready_parts(
    job: Job, needs: Sequence[Need], *, workers: Workers = in_turn, progress: Progress = silent
) -> tuple[ReadyPart, ...]:
    """Return a `ReadyPart` for every part that has to be printed, in the job's order.

    Raises InputError with one problem per mesh that is refused, all of them at once.
    """
    wanted = [need for need in needs if need.to_print > 0]
    ready: list[ReadyPart] = []
    problems: list[Problem] = []
    progress("meshes and layers", 0, len(wanted))
    for done, made in enumerate(workers(partial(_try, job), wanted), 1):
        progress("meshes and layers", done, len(wanted), note=wanted[done - 1].part)
        if isinstance(made, InputError):
            problems.extend(made.problems)
        else:
            ready.append(made)
    if problems:
        raise InputError(*problems)
    return tuple(ready)


def _try(job: Job, need: Need) -> ReadyPart | InputError:
    try:
        return ready_part(job, need)
    except InputError as error:
        where = f"part {need.part} ({job.parts[need.part].where})"
        return InputError(
            *(replace(p, place=f"{where}, {p.place}" if p.place else where) for p in error.problems)
        )


def ready_part(job: Job, need: Need) -> ReadyPart:
    """Read, pose, lay and time one part; raises InputError if the mesh is refused."""
    part = job.parts[need.part]
    filament = job.filaments[part.settings.material]
    posed = pose(read_solid(part.mesh, unit=part.unit, name=part.name), part.up)
    layering = laid(posed, part.settings)
    (least_mm3, most_mm3), _ = filament_range_mm3(layering, part.settings)
    printers = {machine.printer.name: machine.printer for machine in job.machines}
    times = {
        name: time_on(
            layering,
            part.settings,
            printer,
            filament_flow_max_mm3_s=filament.flow_max_mm3_s,
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
    )


def machines_for(job: Job, part: Part) -> tuple[Machine, ...]:
    """Return the machines whose nozzle, heat and enclosure suit the part (size aside)."""
    filament = job.filaments[part.settings.material]
    return tuple(
        machine
        for machine in job.machines
        if compatible(machine.printer, part.settings, filament) is None
    )
