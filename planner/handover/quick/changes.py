"""Changes to a job of walls, to see what each would cost: one course more, coarser layers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.job.layout.model import WallShape
    from planner.job.model import Job
    from planner.settings.model import Settings

    Mask = frozenset[tuple[int, int]]
"""Seven tenths of the most common nozzle, 0.4 mm; our own choice."""


def only_walls(job: Job) -> Job:
    """Return the job without what is wanted besides its walls; stock and spares stay."""
    return replace(
        job,
        parts={name: replace(part, quantity=0) for name, part in job.parts.items()},
        assemblies={name: replace(one, quantity=0) for name, one in job.assemblies.items()},
    )


def one_more(job: Job, axis: int) -> Job:
    """Return the job with one more column (axis 0) or row (axis 1) on each of its walls.

    A wall grows by one pitch; a drawn one repeats its last column or top row. The grid keeps
    its bottom left corner where that was told.
    """
    if job.walls is None:
        return job
    pitch_mm = job.walls.system.pitch_mm[axis]
    grown = tuple(_grown(wall, axis, pitch_mm) for wall in job.walls.walls)
    return replace(job, walls=replace(job.walls, walls=grown), by_walls={})


def one_wall_more(job: Job) -> Job:
    """Return the job with one more perimeter round every part."""
    return _with_settings(job, lambda settings: replace(settings, walls=settings.walls + 1))


def _with_settings(job: Job, change: Callable[[Settings], Settings]) -> Job:
    return replace(
        job,
        parts={
            name: replace(part, settings=change(part.settings)) for name, part in job.parts.items()
        },
    )


def _grown(wall: WallShape, axis: int, pitch_mm: float) -> WallShape:
    columns, rows = wall.grid
    mask = _repeated(wall.mask, axis)
    if axis == 0:
        more = None if columns is None else columns + 1
        return replace(wall, width_mm=wall.width_mm + pitch_mm, grid=(more, rows), mask=mask)
    more = None if rows is None else rows + 1
    return replace(wall, height_mm=wall.height_mm + pitch_mm, grid=(columns, more), mask=mask)


def _repeated(mask: Mask | None, axis: int) -> Mask | None:
    if mask is None:
        return None
    last = max(cell[axis] for cell in mask)
    step = (1, 0) if axis == 0 else (0, 1)
    return mask | {(c + step[0], r + step[1]) for c, r in mask if (c, r)[axis] == last}
