"""The plan of a weekend as one JSON document, schema "platewright/schedule/1"."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import datetime

    from planner.schedule.model import Run, Visit, Weekend, WeekendPlan


def schedule_document(weekend: Weekend, plan: WeekendPlan) -> dict[str, Any]:
    """Return the plan in plain types: ISO 8601 times with the offset of the weekend's zone.

    `lower_bound` is the finish that no plan with the same plates can beat, `bound_by` why.
    `remarks` are sentences on what the plan leaves open. `feeds` of a visit is the plate that
    goes on printing from the new spool.
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
        "sets": [
            *({"set": name, "complete": True} for name in plan.sets_done),
            *({"set": n, "complete": False, "reason": why} for n, why in plan.sets_missed),
        ],
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
        **_second(run),
    }


def _second(run: Run) -> dict[str, Any]:
    """Return the second spool, where there is one."""
    if run.second_spool is None:
        return {}
    return {
        "second_spool": run.second_spool,
        "second_g": round(run.second_g, 3),
        "change_at": _told(run.change_at),
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
        "second_spool": visit.second_spool,
        "feeds": visit.feeds,
    }
