"""The plan of a weekend as one JSON document, schema "platewright/schedule/1"."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import datetime

    from planner.schedule.model import Run, Visit, Weekend, WeekendPlan


def schedule_document(weekend: Weekend, plan: WeekendPlan) -> dict[str, Any]:
    """Return the plan in plain types: ISO 8601 times with the offset of the weekend's zone.

    `lower_bound` is the finish that no plan with the same plates can beat, `bound_by` why.
    `remarks` are sentences on what the plan leaves open.
    """
    return {
        "schema": "platewright/schedule/1",
        "start": _told(weekend.start),
        "deadline": _told(weekend.deadline),
        "runs": [_run(run) for run in plan.runs],
        "visits": [_visit(visit) for visit in plan.visits],
        "finish": _told(plan.finish),
        "lower_bound": _told(plan.lower_bound),
        "bound_by": plan.bound_by,
        "unscheduled": [{"plate": plate, "reason": reason} for plate, reason in plan.unscheduled],
        "remarks": list(plan.remarks),
        "spools": [{"id": spool, "left_g": round(g, 3)} for spool, g in plan.spool_left_g],
    }


def _told(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="seconds")


def _run(run: Run) -> dict[str, Any]:
    return {
        "plate": run.plate,
        "printer": run.machine,
        "start": _told(run.start),
        "end": _told(run.end),
        "spool": run.spool,
        "hands_on_s": run.hands_on_s,
        "alone_s": run.alone_s,
    }


def _visit(visit: Visit) -> dict[str, Any]:
    return {
        "at": _told(visit.at),
        "until": _told(visit.until),
        "who": visit.who,
        "printer": visit.machine,
        "take_off": visit.take_off,
        "start": visit.start,
        "spool": visit.spool,
        "change_spool": visit.change_spool,
    }
