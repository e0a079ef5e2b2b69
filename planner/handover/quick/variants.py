"""The quick estimate once more for each of a few changes, side by side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.handover.coarser import COARSE_MM, coarser
from planner.handover.parts import prepare_parts
from planner.handover.quick.changes import one_more, one_wall_more, only_walls
from planner.handover.quick.estimate import quick_estimate
from planner.handover.walls import with_walls
from planner.handover.workers import in_turn
from planner.job.demand import needs
from planner.progress import silent

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.handover.model import ReadyPart
    from planner.handover.parts import PartSet
    from planner.handover.quick.model import QuickEstimate
    from planner.handover.workers import Workers
    from planner.job.model import Job
    from planner.progress import Progress


NO_COARSER = "no nozzle can lay them, or the guideline forbids them"


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """A change, and what the walls would take with it; or why that cannot be said."""

    name: str
    estimate: QuickEstimate | None
    why_not: str = ""


def estimate_walls(
    job: Job, *, workers: Workers = in_turn, progress: Progress = silent
) -> tuple[QuickEstimate, tuple[Variant, ...]]:
    """Estimate what a job's walls take, and with one thing changed at a time.

    Raises InputError for a mesh that is refused or a wall that cannot be built; a change that
    cannot be made says why instead.
    """
    base = with_walls(only_walls(job))
    made = prepare_parts(base, needs(base), workers=workers, progress=progress)
    rows = [
        _variant(name, changed, made, workers, progress)
        for name, changed in _changes(only_walls(job))
    ]
    return _estimated(base, made), tuple(rows)


def _changes(job: Job) -> Iterator[tuple[str, Job | None]]:
    wide, tall = (1, 0) if job.walls is None else job.walls.system.pitch_mm
    several = "each wall " if job.walls is not None and len(job.walls.walls) > 1 else ""
    yield f"{several}one column wider ({wide:g} mm)", one_more(job, 0)
    yield f"{several}one row higher ({tall:g} mm)", one_more(job, 1)
    yield _perimeters(job), one_wall_more(job)
    thicker = coarser(job, COARSE_MM)
    yield f"layers of {COARSE_MM:g} mm", thicker if thicker.parts != job.parts else None


def _perimeters(job: Job) -> str:
    """Say "4 walls instead of 3", or "one wall more" where parts differ."""
    counts = {part.settings.walls for part in job.parts.values()}
    if len(counts) > 1:
        return "one wall more round every part"
    only = min(counts, default=0)
    return f"{only + 1} walls round every part instead of {only}"


def _variant(
    name: str, job: Job | None, made: PartSet, workers: Workers, progress: Progress
) -> Variant:
    if job is None:
        return Variant(name=name, estimate=None, why_not=NO_COARSER)
    try:
        walled = with_walls(job)
        return Variant(
            name=name,
            # Only how much is added is told, so the packer's bound would be worked out in vain.
            estimate=_estimated(walled, _ready(walled, made, workers, progress), bounded=False),
        )
    except InputError as error:
        return Variant(name=name, estimate=None, why_not=str(error).splitlines()[0])


def _ready(job: Job, made: PartSet, workers: Workers, progress: Progress) -> PartSet:
    """Return the parts of a changed job; those already laid the same way are taken over."""
    known = {ready.part.name: ready for ready in made.ready}
    wanted = needs(job)
    same = [
        replace(known[need.part], need=need)
        for need in wanted
        if need.part in known and known[need.part].part == job.parts[need.part]
    ]
    taken = {ready.part.name for ready in same}
    rest = [need for need in wanted if need.part not in taken]
    posed = {name: ready.posed for name, ready in known.items()}  # no change turns a part
    new = prepare_parts(job, rest, posed=posed, workers=workers, progress=progress)
    order = {need.part: number for number, need in enumerate(wanted)}
    ready: Sequence[ReadyPart] = sorted((*same, *new.ready), key=lambda r: order[r.part.name])
    return replace(new, ready=tuple(r for r in ready if r.need.to_print > 0))


def _estimated(job: Job, made: PartSet, *, bounded: bool = True) -> QuickEstimate:
    found = quick_estimate(job, made.ready, bounded=bounded)
    failed = tuple(part.name for part in made.failed)
    return replace(found, not_counted=(*found.not_counted, *failed))
