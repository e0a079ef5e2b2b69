"""From plates to the weekend's problem."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.handover.kits import urgency
from planner.handover.sets import sets_of
from planner.schedule.model import MachineSlot, PlateTask, SpoolLevel, Weekend

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.model import PlannedPlate
    from planner.handover.sets import Sets
    from planner.job.model import Job


def weekend_of(
    job: Job, plates: Sequence[PlannedPlate], left_out: Sequence[tuple[str, int, str]] = ()
) -> Weekend:
    """State the scheduling problem of these plates; `left_out` is what is on none of them."""
    sets, order = sets_of(job, plates, left_out), _priorities(job, plates)
    return Weekend(
        start=job.start,
        deadline=job.deadline,
        tasks=tuple(
            _task(job, plate, sets, priority) for plate, priority in zip(plates, order, strict=True)
        ),
        machines=tuple(
            MachineSlot(
                id=m.name,
                unattended=m.unattended,
                blocked=m.blocked,
                cool_down_s=m.cool_down_s,
                changes_over=m.changes_over,
            )
            for m in job.machines
        ),
        spools=tuple(
            SpoolLevel(
                id=spool.name,
                material=spool.filament.material,
                colour=spool.colour,
                grams=spool.left_g,
                drying_s=spool.drying_s,
            )
            for spool in job.spools
        ),
        attendance=job.attendance,
        hands_on_s=job.hands_on_s,
        sets=sets.values,
        sets_lost=sets.lost,
    )


def _priorities(job: Job, plates: Sequence[PlannedPlate]) -> tuple[int, ...]:
    """Return how urgent plates are: by the stage of their parts, or by the walls' first kits."""
    if not job.by_kits:
        return tuple(plate.stage for plate in plates)
    stock = {name: part.stock for name, part in job.parts.items()}
    return urgency(plates, job.by_kits, stock)


def _task(job: Job, plate: PlannedPlate, sets: Sets, priority: int) -> PlateTask:
    return PlateTask(
        id=plate.id,
        seconds=tuple(sorted(plate.seconds.items())),
        material=plate.material,
        colour=plate.colour,
        grams=plate.grams,
        gate=plate.gate,
        check_s=job.fit_check_s,
        priority=priority,
        sets=sets.of_plate.get(plate.id, ()),
    )
