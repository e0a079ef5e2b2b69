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

    from planner.handover.model import ReadyPart
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


def missing_findings(plates: PlateSet, weekend: WeekendPlan) -> tuple[Finding, ...]:
    """Say what is on no plate, and which plates have no place in the weekend."""
    by_id = {plate.id: plate for plate in plates.plates}
    return (
        *(
            _missing(
                "left out", part, f"{count} copies on no plate: {why}", "every copy on a plate"
            )
            for part, count, why in plates.left_out
        ),
        *(
            _missing(
                "not scheduled",
                "",
                f"plate {plate} ({_contents(by_id[plate].counts)}): {why}",
                "every plate printed while somebody is there to start it",
            )
            for plate, why in weekend.unscheduled
        ),
    )


def _missing(rule: str, part: str, found: str, expected: str) -> Finding:
    return Finding(
        rule=rule,
        level=Level.STOP,
        part=part,
        where="the plan",
        found=found,
        expected=expected,
        why="the wall would be short of these parts when the weekend is over",
        remedy="add attendance, a printer or a spool, or lower the quantities",
        source="the plan itself",
    )


def _contents(counts: dict[str, int]) -> str:
    return ", ".join(f"{count} {name}" for name, count in counts.items())
