"""The job and its changes, each planned the same way, in one table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.handover.totals import copies_missing
from planner.plan import make_plan
from planner.progress import silent
from planner.settings.model import Level
from planner.whatif.apply import changed
from planner.whatif.model import Row, WhatIf
from planner.whatif.usual import usual_changes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.model import Plan
    from planner.job.change import Change
    from planner.job.model import Job
    from planner.progress import Progress

SHARE = 1 / 3
"""Share of the search that every row gets: about ten rows are made instead of one plan."""


def what_if(
    job: Job,
    *,
    changes: Sequence[Change] = (),
    seconds: float = 3.0,
    seed: int = 0,
    processes: int = 1,
    orient: str = "audit",
    progress: Progress = silent,
) -> WhatIf:
    """Plan the job and its changes with the same search, `SHARE` of `seconds` each.

    Without `changes` those of the job are compared, and if it names none, some that suit it.
    A change that cannot be planned gets a row that says why. Raises InputError for what is
    wrong with the job itself.
    """
    each_s = max(0.1, seconds * SHARE)

    def planned(other: Job) -> Plan:
        return make_plan(other, seconds=each_s, seed=seed, processes=processes, orient=orient)

    progress("what if", 0, 1, note="as it is")
    own = planned(job)
    chosen = tuple(changes) or job.what_if or usual_changes(own)
    rows = [_row("as it is", "", own, own)]
    for done, change in enumerate(chosen, 1):
        progress("what if", done, len(chosen) + 1, note=change.name)
        try:
            rows.append(_row(change.name, _note(job, change), planned(changed(job, change)), own))
        except InputError as error:
            rows.append(Row(name=change.name, problem=error.problems[0].found))
    progress("what if", len(chosen) + 1, len(chosen) + 1)
    return WhatIf(
        name=job.name,
        time_zone=job.time_zone,
        currency=job.currency,
        deadline=job.deadline,
        seconds=each_s,
        rows=tuple(rows),
    )


def _row(name: str, note: str, plan: Plan, own: Plan) -> Row:
    left_out = _left_out(plan)
    levels = [finding.level for finding in plan.findings]
    return Row(
        name=name,
        note=note,
        finish=plan.weekend.finish,
        won_s=_won_s(plan, own) if left_out == _left_out(own) else None,
        odds=_odds(plan),
        plates=len(plan.plates),
        copies=plan.totals.copies,
        left_out=left_out,
        filament_g=plan.totals.filament_g,
        cost=plan.totals.cost,
        visits=len(plan.weekend.visits),
        hands_on_s=plan.totals.hands_on_s,
        stops=levels.count(Level.STOP),
        warns=levels.count(Level.WARN),
    )


def _odds(plan: Plan) -> float | None:
    if plan.spares is not None:
        return plan.spares.odds
    return 0.0 if plan.left_out else None


def _won_s(plan: Plan, own: Plan) -> float | None:
    if plan.weekend.finish is None or own.weekend.finish is None:
        return None
    return (own.weekend.finish - plan.weekend.finish).total_seconds()


def _left_out(plan: Plan) -> int:
    return copies_missing(plan.plates, plan.left_out, plan.weekend)


def _note(job: Job, change: Change) -> str:
    """Say what there is to mind."""
    if change.unattended and not all(machine.unattended for machine in job.machines):
        return "printers run with nobody there: see the caution on fire"
    if change.printers and not change.spools:
        return "with the spools that there are; a spool feeds one printer at a time"
    return ""
