"""Everything that the audit has to say of a job, from its parts to its plates."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit.model import Finding
from planner.audit.part import audit_part
from planner.errors import InputError, Problem
from planner.progress import silent
from planner.settings.model import Level
from planner.strength.angle import against_load

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.handover.plates import PlateSet
    from planner.job.model import Job
    from planner.progress import Progress
    from planner.schedule.model import WeekendPlan


def audit_parts(
    job: Job, parts: Sequence[ReadyPart], *, progress: Progress = silent
) -> tuple[Finding, ...]:
    """Audit each part; raises InputError if the faces of load cases select nothing."""
    findings: list[Finding] = []
    problems: list[Problem] = []
    for done, ready in enumerate(parts):
        progress("audit", done, len(parts), note=ready.part.name)
        try:
            findings += _audit(job, ready)
        except InputError as error:
            problems.extend(error.problems)
    progress("audit", len(parts), len(parts))
    if problems:
        raise InputError(*problems)
    return tuple(findings)


def _audit(job: Job, ready: ReadyPart) -> tuple[Finding, ...]:
    solid, part = ready.posed.solid, ready.part
    return audit_part(
        part,
        posed=ready.posed,
        layering=ready.layering,
        filament=ready.filament,
        guideline=job.guideline,
        machines=job.machines,
        pulls=[against_load(solid, load, part.up) for load in part.loads],
        edge_mm=job.edge_mm,
    )


def plan_findings(job: Job, plates: PlateSet, weekend: WeekendPlan) -> tuple[Finding, ...]:
    """Say what is on no plate, which plates have no place in the weekend, and which are late."""
    by_id = {plate.id: plate for plate in plates.plates}
    return (
        *(_left_out(part, count, why) for part, count, why in plates.left_out),
        *(_not_scheduled(by_id[plate], why) for plate, why in weekend.unscheduled),
        *_late(job, weekend),
    )


def _left_out(part: str, count: int, why: str) -> Finding:
    return _of_plan(
        "left out",
        Level.STOP,
        part=part,
        found=f"{count} copies on no plate: {why}",
        expected="every copy on a plate",
    )


def _not_scheduled(plate: PlannedPlate, why: str) -> Finding:
    contents = ", ".join(f"{count} {name}" for name, count in plate.counts.items())
    return _of_plan(
        "not scheduled",
        Level.STOP,
        found=f"plate {plate.id} ({contents}): {why}",
        expected="every plate printed while somebody is there to start it",
    )


def _late(job: Job, weekend: WeekendPlan) -> tuple[Finding, ...]:
    due = job.deadline
    late = sorted(run.plate for run in weekend.runs if due is not None and run.end > due)
    if due is None or weekend.finish is None or not late:
        return ()
    return (
        _of_plan(
            "late",
            Level.WARN,
            found=f"{', '.join(late)} done after the deadline, the last one at "
            f"{weekend.finish.isoformat(sep=' ', timespec='minutes')}",
            expected=f"every plate by {due.isoformat(sep=' ', timespec='minutes')}",
        ),
    )


def _of_plan(rule: str, level: Level, *, found: str, expected: str, part: str = "") -> Finding:
    return Finding(
        rule=rule,
        level=level,
        part=part,
        where="the plan",
        found=found,
        expected=expected,
        why="the wall would be short of these parts when the time is over",
        remedy="add attendance, a printer or a spool, or lower the quantities",
        source="the plan itself",
    )
