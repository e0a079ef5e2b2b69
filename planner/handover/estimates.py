"""Estimates of single meshes, and of all the parts of a job, apart from any plan."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from functools import partial
from math import hypot, isfinite
from typing import TYPE_CHECKING

from planner.errors import InputError, Problem, input_error, printable
from planner.handover.parts import machines_for, ready_parts
from planner.handover.walls import with_walls
from planner.handover.workers import in_turn
from planner.job.demand import needs
from planner.job.load import load_job
from planner.layers.cache import laid
from planner.layers.mass import filament_range_mm3
from planner.layers.timing import time_on
from planner.motion.toolpath.read import read_toolpath
from planner.progress import silent
from planner.settings.library import Cited
from planner.settings.load import load_filament, load_printer, load_settings
from planner.solid.pose import pose
from planner.solid.read import read_solid

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from planner.handover.workers import Workers
    from planner.layers.model import Layering, PrintTime
    from planner.motion.toolpath.model import ToolpathEstimate
    from planner.progress import Progress
    from planner.settings.model import Filament, Printer, Settings
    from planner.solid.model import Posed

JOB_ENDINGS = (".yaml", ".yml")
TOOLPATH_ENDINGS = (".g", ".gco", ".gcode", ".nc", ".ngc")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the user asked for, as words: profile names or paths, an axis, a unit."""

    settings: str
    printer: str
    filament: str | None
    up: str
    unit: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One part laid in layers and timed on one printer; `quantity` copies are wanted."""

    name: str
    posed: Posed
    layering: Layering
    time: PrintTime
    filament: Filament
    grams_range: tuple[float, float]
    settings: Settings
    printer: Printer
    quantity: int
    grams_reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EstimateTotals:
    """All copies added up; hours are those of one printer after another, plates aside."""

    copies: int
    filament_g: float
    filament_range_g: tuple[float, float]
    filament_g_by_material: Mapping[str, float]
    time_s: float
    time_range_s: tuple[float, float]


def totals_of_estimates(estimates: Sequence[Estimate]) -> EstimateTotals:
    """Add up every copy; start-up and cooling of plates are not in it."""
    grams: dict[str, float] = defaultdict(float)
    for each in estimates:
        mass_g = each.filament.mass_g(each.layering.filament_mm3)
        grams[each.filament.material] += each.quantity * mass_g
    low, high = (
        sum(each.quantity * each.time.range_s[end] for each in estimates) for end in (0, 1)
    )
    least_g, most_g = (
        sum(each.quantity * each.grams_range[end] for each in estimates) for end in (0, 1)
    )
    return EstimateTotals(
        copies=sum(each.quantity for each in estimates),
        filament_g=sum(grams.values()),
        filament_range_g=(least_g, most_g),
        filament_g_by_material=dict(sorted(grams.items())),
        time_s=sum(each.quantity * each.time.middle_s for each in estimates),
        time_range_s=(low, high),
    )


def estimate_files(
    paths: Sequence[Path],
    wanted: Wanted,
    *,
    workers: Workers = in_turn,
    progress: Progress = silent,
) -> tuple[Estimate, ...]:
    """Estimate each mesh, in the order given; a job file stands for all parts it has to print.

    Raises InputError for meshes (all of them at once), a profile or an axis that cannot be
    used.
    """
    meshes = [path for path in paths if not is_job(path)]
    tried = workers(partial(_try, wanted), meshes)
    found: list[Estimate] = []
    problems: list[Problem] = []
    for done, path in enumerate(paths):
        progress("estimates", done, len(paths), note=path.name)
        if is_job(path):
            found += estimate_job(path, workers=workers, progress=progress)
            continue
        made = next(tried)
        if isinstance(made, InputError):
            problems += made.problems
        else:
            found.append(made)
    if problems:
        raise InputError(*dict.fromkeys(problems))
    return tuple(found)


def _try(wanted: Wanted, path: Path) -> Estimate | InputError:
    try:
        return estimate_mesh(wanted, path)
    except InputError as error:
        return error


def is_job(path: Path) -> bool:
    """Tell a job file by its ending."""
    return path.suffix.lower() in JOB_ENDINGS


def estimate_mesh(wanted: Wanted, path: Path) -> Estimate:
    """Estimate one mesh under the wanted settings on the wanted printer."""
    settings = load_settings(wanted.settings, Cited.option("--settings"))
    printer = load_printer(wanted.printer, Cited.option("--printer"))
    filament = load_filament(wanted.filament or settings.material, Cited.option("--filament"))
    posed = pose(read_solid(path, unit=wanted.unit), direction(wanted.up))
    layering = laid(posed, settings)
    (least_mm3, most_mm3), reasons = filament_range_mm3(layering, settings)
    return Estimate(
        name=printable(str(path)),
        posed=posed,
        layering=replace(layering, paths=None),  # only timing needs them
        time=time_on(
            layering,
            settings,
            printer,
            filament_flow_max_mm3_s=filament.flow_max_mm3_s,
            strand_mm2=filament.area_mm2,
        ),
        filament=filament,
        grams_range=(filament.mass_g(least_mm3), filament.mass_g(most_mm3)),
        grams_reasons=reasons,
        settings=settings,
        printer=printer,
        quantity=1,
    )


def estimate_job(
    path: Path, *, workers: Workers = in_turn, progress: Progress = silent
) -> tuple[Estimate, ...]:
    """Estimate every part of a job, each on the first printer of the job that suits it."""
    job = with_walls(load_job(path))
    return tuple(
        Estimate(
            name=ready.part.name,
            posed=ready.posed,
            layering=ready.layering,
            time=ready.times[printer.name],
            filament=ready.filament,
            grams_range=ready.grams_range,
            grams_reasons=ready.grams_reasons,
            settings=ready.part.settings,
            printer=printer,
            quantity=ready.need.to_print,
        )
        for ready in ready_parts(job, needs(job), workers=workers, progress=progress)
        for printer in [(machines_for(job, ready.part) or job.machines)[0].printer]
    )


def estimate_toolpaths(
    paths: Sequence[Path], wanted: Wanted, *, progress: Progress = silent
) -> tuple[ToolpathEstimate, ...]:
    """Estimate toolpath files on the wanted printer; mass needs a wanted filament.

    Raises InputError for a file that is no sound toolpath.
    """
    printer = load_printer(wanted.printer, Cited.option("--printer"))
    filament = (
        load_filament(wanted.filament, Cited.option("--filament")) if wanted.filament else None
    )
    return tuple(read_toolpath(path, printer, filament, progress=progress) for path in paths)


def is_toolpath(path: Path) -> bool:
    """Tell a toolpath file by its ending."""
    return path.suffix.lower() in TOOLPATH_ENDINGS


def direction(text: str) -> tuple[float, float, float]:
    """Read a build direction: an axis such as `+z` or three numbers such as `0,1,1`.

    >>> direction("-x")
    (-1.0, 0.0, 0.0)
    """
    axis = {"x": 0, "y": 1, "z": 2}
    if len(text) == 2 and text[0] in "+-" and text[1] in axis:
        sign = 1.0 if text[0] == "+" else -1.0
        x, y, z = (sign if k == axis[text[1]] else 0.0 for k in range(3))
        return (x, y, z)
    return _numbers(text)


def _numbers(text: str) -> tuple[float, float, float]:
    try:
        x, y, z = (float(word) for word in text.split(","))
    except ValueError:
        x = y = z = 0.0
    length = hypot(x, y, z)
    if not (isfinite(length) and length > 0):
        raise input_error(
            "--up",
            found=repr(text),
            expected="+x -x +y -y +z -z, or three numbers such as 0,1,1",
            remedy="give the axis of the part that shall point away from the plate",
        )
    return (x / length, y / length, z / length)
