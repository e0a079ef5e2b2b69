"""Why plates are as large as they are: sizes and hours are chosen together."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from planner.report import words

if TYPE_CHECKING:
    from planner.handover.model import Plan, PlannedPlate
    from planner.schedule.model import Run

SMALL = 0.5
"""A plate is called small that covers less than this share of its bed; invented."""
SOON = timedelta(hours=1)
"""The next plate starts soon if it starts within this time; invented."""


def hours_won(plan: Plan) -> str:
    """Compare the plates with ones filled first and scheduled then; empty if nobody did."""
    hours, zone = plan.hours, words.zone_of(plan)
    if hours is None or hours.full_finish is None:
        return ""
    full = words.thing(hours.full_plates, "plate")
    ends = words.day_and_clock(hours.full_finish, zone)
    if hours.full_missing > hours.missing:
        copies = words.thing(hours.full_missing - hours.missing, "copy", "copies")
        return (
            f"Sizes and hours were chosen together: filled first, {full} would lack {copies} more"
        )
    if not _for_the_hours(plan):
        return f"Other sizes win nothing: filled first, {full} would end {ends}"
    won = words.hours(hours.won_s or 0.0)
    return (
        f"Sizes and hours were chosen together, which wins {won}: filled first and given "
        f"their hours then, {full} would end {ends}"
    )


def small_plates(plan: Plan) -> tuple[str, ...]:
    """Name the plates that could have been fuller and are small for the hours' sake."""
    small = (plate.id for plate in plan.plates if why_small(plan, plate))
    return tuple(small) if _for_the_hours(plan) else ()


def why_small(plan: Plan, plate: PlannedPlate) -> str:
    """Say why a plate is small though others of its kind are printed too; empty if it is not."""
    alike = [other for other in plan.plates if _kind(other) == _kind(plate)]
    if plate.kind != "batch" or plate.fill >= SMALL or len(alike) < 2:
        return ""
    run = next((run for run in plan.weekend.runs if run.plate == plate.id), None)
    if run is None:
        return ""
    if not _for_the_hours(plan):
        return "Holds what the fuller plates of its kind leave over"
    return f"Small on purpose: {_fits(plan, run)}"


def _for_the_hours(plan: Plan) -> bool:
    """Whether the sizes win something over full plates; so too where nobody compared."""
    hours = plan.hours
    if hours is None or hours.full_missing > hours.missing:
        return True
    return hours.won_s is not None and hours.won_s >= 60


def _fits(plan: Plan, run: Run) -> str:
    """Say what a run's length is good for, as far as the plan shows it."""
    zone = words.zone_of(plan)
    after = [r for r in plan.weekend.runs if r.machine == run.machine and r.start >= run.end]
    following = min(after, key=lambda r: r.start, default=None)
    if following is None:
        return f"the last on {run.machine}, so that all printers are done early"
    moment = words.when(following.start, zone)
    if following.start - run.end <= SOON:
        return f"done in time for {following.plate} to start at {moment}, while somebody is there"
    if not any(w.start < following.start and w.end > run.end for w in plan.job.attendance):
        return f"done before somebody is there again, who starts {following.plate} at {moment}"
    return "sizes are chosen for the hours in which somebody is there"


def _kind(plate: PlannedPlate) -> tuple[object, ...]:
    return plate.kind, plate.material, plate.colour, plate.nozzle_mm, plate.layer_mm
