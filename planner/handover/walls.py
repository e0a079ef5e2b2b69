"""Walls of a job counted, and what they need handed to the job's demand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.document import read_yaml
from planner.document.wording import shown
from planner.errors import input_error
from planner.job.demand import from_the_top, needs
from planner.job.form import COPIES_MAX
from planner.job.layout.load import load_walls
from planner.job.load import load_job
from planner.job.model import Wanted
from planner.wall.count import count_walls, with_fixings
from planner.wall.levelling import drifts
from planner.wall.mounting import mount

if TYPE_CHECKING:
    from pathlib import Path

    from planner.job.layout.model import Walls
    from planner.job.model import Job, Need
    from planner.wall.model import Counted, Drift, Mounting

STOP = "stop"
"""How a sentence on the screws begins that forbids to mount the wall so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """The walls of a job, counted and mounted."""

    counted: Counted
    mounting: Mounting


@dataclass(frozen=True, slots=True, kw_only=True)
class WallAnswer:
    """What is known of the walls of a file.

    `job` has the counts in its demand, and `needs` are what it has to print; None and empty
    for a wall file by itself.
    """

    counted: Counted
    mounting: Mounting
    drifts: tuple[Drift, ...]
    job: Job | None = None
    needs: tuple[Need, ...] = ()

    @property
    def must_stop(self) -> bool:
        """Whether a wall must not be mounted as it was told."""
        return any(note.startswith(STOP) for note in self.mounting.notes)

    @property
    def stages(self) -> dict[str, int]:
        """Part or assembly -> stage of the job; an assembly is ready with its last part."""
        return {} if self.job is None else stages_of(self.job)


def stages_of(job: Job) -> dict[str, int]:
    """Return the stage of every part; of every assembly the latest of what is in it."""
    stages = {name: part.stage for name, part in job.parts.items()}
    for name in reversed(from_the_top(job)):
        if name not in stages:
            stages[name] = max(stages[inside] for inside in job.assemblies[name].contains)
    return stages


def answer_for(path: Path) -> WallAnswer:
    """Answer a wall file, or a job file that has walls.

    Raises InputError for anything else, and for whatever is wrong with the file.
    """
    walls, job = _walls_of(path)
    counted, mounting = counted_and_mounted(walls)
    walled = None if job is None else with_walls(job, counted)
    return WallAnswer(
        counted=counted,
        mounting=mounting,
        drifts=drifts(counted),
        job=walled,
        needs=() if walled is None else needs(walled),
    )


def _walls_of(path: Path) -> tuple[Walls, Job | None]:
    document = read_yaml(path)
    schema = str(document.data.get("schema", ""))
    if not schema.startswith(("platewright/job/", "platewright/system/")):
        return load_walls(path), None
    job = load_job(path) if schema.startswith("platewright/job/") else None
    if job is None or job.walls is None:
        raise input_error(
            document.file,
            line=document.line("schema"),
            found="a job without walls" if job else f"the schema {shown(schema)}",
            expected="a wall file, or a job file with the key wall",
            remedy="add wall: wall.yaml to the job" if job else "name the file of the walls",
        )
    return job.walls, job


def counted_and_mounted(walls: Walls) -> tuple[Counted, Mounting]:
    """Fill and count the walls, choose their screws, and count what goes at those.

    Raises InputError for a wall that cannot be built as it was told.
    """
    counted = count_walls(walls)
    mounting = mount(counted)
    return with_fixings(counted, mounting.fixings), mounting


def built(job: Job) -> Built | None:
    """Count and mount the walls of a job; None if it has none.

    Raises InputError for a wall that cannot be built as it was told.
    """
    if job.walls is None:
        return None
    counted, mounting = counted_and_mounted(job.walls)
    return Built(counted=counted, mounting=mounting)


def with_walls(job: Job, counted: Counted | None = None) -> Job:
    """Return the job with what its walls need; the same job if it has none, or they are in it.

    `counted` spares the counting where it has been done. Raises InputError for a wall that
    cannot be built, and for more copies than a workshop prints.
    """
    if job.walls is None or job.by_walls:
        return job
    if counted is None:
        counted, _ = counted_and_mounted(job.walls)
    wanted = {
        each.part: Wanted(count=each.count, because=each.because)
        for each in counted.counts
        if not each.bought
    }
    _refuse_too_many(job, sum(each.count for each in wanted.values()))
    walled = replace(job, by_walls=wanted)
    _refuse_too_many(job, sum(need.to_print for need in needs(walled)))
    return walled


def _refuse_too_many(job: Job, copies: int) -> None:
    if copies > COPIES_MAX:
        raise input_error(
            job.path,
            place="wall",
            found=f"{copies:,} copies to print".replace(",", " "),
            expected=f"at most {COPIES_MAX:,} in all".replace(",", " "),
            remedy="check the sizes of the walls; or split the job",
        )
