"""Everything that the audit has to say of a job, from its parts to its plates."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from planner.audit.model import Finding
from planner.audit.part import audit_part
from planner.audit.plate import audit_plate
from planner.audit.words import listed
from planner.errors import InputError, Problem
from planner.handover.beds import presence
from planner.handover.items import sizes_of
from planner.handover.orientation import NO_STRENGTHS, Oriented
from planner.handover.strength_findings import strength_findings
from planner.progress import silent
from planner.settings.model import Level
from planner.strength.angle import against_load

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Mapping, Sequence
    from datetime import datetime

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.handover.orientation import Unsolved
    from planner.handover.parts import FailedPart, PartSet
    from planner.handover.plates import PlateSet
    from planner.job.model import Job
    from planner.progress import Progress
    from planner.schedule.model import WeekendPlan

STAYS = "somebody there to take the plate off"
TAKE_OFF = "take it off when you are there again, or add a little attendance"
NUMBER = re.compile(r"\d+(?:\.\d+)?")
NOWHERE = ("bed fit", "printers", "layers")
"""Rules of the audit that say why a part can be printed nowhere."""


def audit_parts(
    job: Job,
    part_set: PartSet,
    strengths: Mapping[str, Oriented | Unsolved] = NO_STRENGTHS,
    *,
    progress: Progress = silent,
) -> tuple[Finding, ...]:
    """Audit each part; raises InputError if the faces of load cases select nothing.

    Where a part is in `strengths`, what was worked out is told; of others angles are compared.
    """
    parts = part_set.ready
    findings = [_not_laid(job, failed, p) for failed in part_set.failed for p in failed.problems]
    problems: list[Problem] = []
    for done, ready in enumerate(parts):
        progress("audit", done, len(parts), note=ready.part.name)
        try:
            findings += _audit(job, ready, strengths.get(ready.part.name))
        except InputError as error:
            problems.extend(error.problems)
    progress("audit", len(parts), len(parts))
    if problems:
        raise InputError(*problems)
    return tuple(findings)


def _not_laid(job: Job, failed: FailedPart, problem: Problem) -> Finding:
    return Finding(
        rule="layers",
        level=Level.STOP,
        part=failed.name,
        where=job.parts[failed.name].where,
        found=problem.found,
        expected=problem.expected,
        why="a part that cannot be laid in layers cannot be printed with these settings",
        remedy=problem.remedy,
        source="the layers of the mesh itself",
    )


def _audit(job: Job, ready: ReadyPart, strength: Oriented | Unsolved | None) -> tuple[Finding, ...]:
    solid, part = ready.posed.solid, ready.part
    angles = () if isinstance(strength, Oriented) else part.loads
    return audit_part(
        part,
        posed=ready.posed,
        layering=ready.layering,
        filament=ready.filament,
        guideline=job.guideline,
        machines=job.machines,
        pulls=[against_load(solid, load, part.up) for load in angles],
        strength=strength_findings(part, strength, job.safety_factor) if strength else (),
        edge_mm=job.edge_mm,
        times=ready.times,
        sizes_mm=sizes_of(ready),
    )


def audit_plates(plates: Sequence[PlannedPlate], parts: Sequence[ReadyPart]) -> tuple[Finding, ...]:
    """Audit each plate with the settings of the parts on it, on the printer it is for."""
    by_name = {ready.part.name: ready for ready in parts}
    return tuple(
        finding
        for plate in plates
        for finding in audit_plate(
            plate.id,
            plate.printer,
            [(by_name[name], count) for name, count in plate.counts.items()],
        )
    )


def plan_findings(
    job: Job, plates: PlateSet, weekend: WeekendPlan, told: Sequence[Finding]
) -> tuple[Finding, ...]:
    """Say what is on no plate, what has no place in the weekend, and what is or may be late.

    `told` are the findings so far: a part of which they say that no printer takes it is not
    told of again.
    """
    by_id = {plate.id: plate for plate in plates.plates}
    return (
        *_left_out(plates, {f.part for f in told if f.rule in NOWHERE and f.level == Level.STOP}),
        *_not_scheduled(by_id, weekend),
        *_late(job, weekend),
        *_may_outlast(job, by_id, weekend),
        *_sets(job, weekend),
        *(_remark(remark, by_id) for remark in weekend.remarks),
    )


def _remark(remark: str, plates: Container[str]) -> Finding:
    """Tell of a plate that stays on its printer, or of something to be done besides visits."""
    if remark.partition(" stays on ")[0] in plates:
        return _note("plate stays on", remark, STAYS, TAKE_OFF)
    return Finding(
        rule="to be seen to",
        level=Level.NOTE,
        part="",
        where="the plan",
        found=remark,
        expected="somebody who does it then",
        why="the plan counts on it",
        remedy="write it beside the visits",
        source="the plan itself",
    )


def _sets(job: Job, weekend: WeekendPlan) -> Iterator[Finding]:
    """Warn of what has a value and is not complete in time."""
    due = "before attendance ends" if job.deadline is None else f"by {_clock(job, job.deadline)}"
    for name, why in weekend.sets_missed:
        yield _of_plan(
            "not complete", Level.WARN, found=f"{name}: {why}", expected=f"all of it done {due}"
        )


def _left_out(plates: PlateSet, known: set[str]) -> Iterator[Finding]:
    """Yield one finding per reason, with all the parts it holds back."""
    reasons: dict[str, list[str]] = {}
    for part, count, why in plates.left_out:
        if part not in known:
            reasons.setdefault(why, []).append(f"{count} {part}")
    for why, copies in sorted(reasons.items()):
        yield _of_plan(
            "left out",
            Level.STOP,
            found=f"{', '.join(copies)} on no plate: {why}",
            expected="every copy on a plate",
        )


def _not_scheduled(by_id: Mapping[str, PlannedPlate], weekend: WeekendPlan) -> Iterator[Finding]:
    """Yield one finding for all plates whose reasons differ in their numbers only."""
    alike: dict[str, list[tuple[str, str]]] = {}
    for plate, why in weekend.unscheduled:
        alike.setdefault(NUMBER.sub("", why), []).append((plate, why))
    for plates in alike.values():
        counts: Counter[str] = Counter()
        for plate, _ in plates:
            counts.update(by_id[plate].counts)
        contents = ", ".join(f"{count} {name}" for name, count in counts.items())
        names = listed(tuple(plate for plate, _ in plates))
        first, why = plates[0]
        same = all(other == why for _, other in plates)
        yield _of_plan(
            "not scheduled",
            Level.STOP,
            found=f"{'plate' if len(plates) == 1 else f'{len(plates)} plates,'} {names} "
            f"({contents}): {'' if same else f'for {first} '}{why}"
            f"{'' if same else '; likewise for the others'}",
            expected="every plate printed while somebody is there to start it",
        )


def _late(job: Job, weekend: WeekendPlan) -> Iterator[Finding]:
    due = job.deadline
    late = sorted(run.plate for run in weekend.runs if due is not None and run.end > due)
    if due is not None and weekend.finish is not None and late:
        yield _of_plan(
            "late",
            Level.WARN,
            found=f"{', '.join(late)} done after the deadline, the last one at "
            f"{_clock(job, weekend.finish)}",
            expected=f"every plate by {_clock(job, due)}",
        )


def _may_outlast(
    job: Job, by_id: Mapping[str, PlannedPlate], weekend: WeekendPlan
) -> Iterator[Finding]:
    """Note runs on watched printers that, by their range, may go on when nobody is left."""
    watched = {machine.name for machine in job.machines if not machine.unattended}
    leaving = [end for _, end in presence(job)]
    for run in weekend.runs:
        middle_s = by_id[run.plate].seconds[run.machine]
        more_s = by_id[run.plate].ranges_s[run.machine][1] - middle_s
        end_s = (run.end - job.start).total_seconds()
        left_s = next((end for end in leaving if end >= end_s), end_s) - end_s
        if run.machine in watched and more_s > left_s:
            yield _note(
                "may outlast attendance",
                f"{run.plate} on {run.machine}, done {left_s / 60:.0f} min before the last one "
                f"leaves, may take {more_s / 60:.0f} min longer",
                "somebody there until a watched printer is done: estimates have a range",
                "stay until it is done, or start it only if the run before was quick",
            )


def _note(rule: str, found: str, expected: str, remedy: str) -> Finding:
    return Finding(
        rule=rule,
        level=Level.NOTE,
        part="",
        where="the plan",
        found=found,
        expected=expected,
        why="attendance ends before all is done",
        remedy=remedy,
        source="the plan itself",
    )


def _clock(job: Job, moment: datetime) -> str:
    return moment.astimezone(ZoneInfo(job.time_zone)).strftime("%Y-%m-%d %H:%M")


def _of_plan(rule: str, level: Level, *, found: str, expected: str) -> Finding:
    return Finding(
        rule=rule,
        level=level,
        part="",
        where="the plan",
        found=found,
        expected=expected,
        why="the wall would be short of these parts when the time is over",
        remedy="see the reason; then add attendance, a printer or a spool, or lower the quantities",
        source="the plan itself",
    )
