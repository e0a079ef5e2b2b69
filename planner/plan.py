"""The story of the job, from the file to the weekend; every step is one stage."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit.cautions import cautions
from planner.audit.job import audit_job
from planner.audit.order import in_order
from planner.handover.confidence import confident_weekend
from planner.handover.costs import plate_costs
from planner.handover.findings import audit_parts, audit_plates, plan_findings
from planner.handover.kits import in_order_of_kits, kits_of, kits_ready
from planner.handover.model import Plan
from planner.handover.odds import weekend_lived
from planner.handover.orientation import oriented_job
from planner.handover.parts import prepare_parts
from planner.handover.sets import with_lost
from planner.handover.settle import (
    hours_with_failed,
    promise_with_failed,
    settled,
    with_failed,
)
from planner.handover.shopping import shopping_of
from planner.handover.spares import spare_advice
from planner.handover.totals import odds_of, totals_of
from planner.handover.wall_findings import wall_findings
from planner.handover.walls import built, with_walls
from planner.handover.workers import hire
from planner.job.demand import needs
from planner.progress import silent
from planner.schedule.odds.count import odds_of as counted

if TYPE_CHECKING:
    from planner.job.model import Job
    from planner.progress import Progress


def make_plan(
    job: Job,
    *,
    seconds: float = 3.0,
    seed: int = 0,
    processes: int = 1,
    orient: str = "audit",
    progress: Progress = silent,
) -> Plan:
    """Plan the job: count, read, lay in layers, audit, fill plates, place them in time.

    `seconds` stands for an amount of search, not for time on the clock: the same job,
    seconds and seed give the same plan on any machine, however many `processes` share the
    work. `orient` says what becomes of build directions: "declared" takes them as written and
    compares angles; "audit" takes them as written, works out the stresses of every part that
    carries a load and tells what the direction costs; "auto" turns such parts. Raises
    InputError if a mesh is refused or a load acts on no surface.
    """
    walls = built(job)
    job = with_walls(job, None if walls is None else walls.counted)
    kits = kits_of(job, walls)
    job = in_order_of_kits(job, kits)
    demand = needs(job)
    with hire(processes) as workers:
        job, strengths = oriented_job(job, demand, orient, workers=workers, progress=progress)
        parts = prepare_parts(job, demand, workers=workers, progress=progress)
        findings = audit_parts(job, parts, strengths, progress=progress)
        chosen = confident_weekend(
            job, parts.ready, seconds=seconds, seed=seed, workers=workers, progress=progress
        )
    plates = with_failed(chosen.plates, parts.failed)
    weekend = with_lost(job, chosen.weekend, plates.left_out)
    ready, lived = chosen.parts, weekend_lived(job, plates.plates, weekend, seed=seed)
    findings += audit_job(job, ready)
    findings += wall_findings(job, walls)
    findings += plan_findings(job, plates, weekend, findings)
    findings += audit_plates(plates.plates, ready)
    printed = settled(job, plates.plates, weekend)
    return Plan(
        job=job,
        parts=ready,
        plates=printed,
        plate_bounds=plates.bounds,
        weekend=weekend,
        findings=in_order(findings),
        left_out=plates.left_out,
        totals=totals_of(job, ready, printed, weekend),
        odds=odds_of(ready, plates, weekend),
        weekend_odds=None if lived is None else counted(lived),
        spares=None if parts.failed else spare_advice(job, ready, printed, weekend, lived),
        promise=promise_with_failed(chosen.promise, parts.failed),
        cautions=cautions(job),
        strengths=strengths,
        costs=plate_costs(job, ready, printed, weekend),
        shopping=shopping_of(job, ready, printed, weekend),
        hours=hours_with_failed(chosen.hours, parts.failed),
        walls=walls,
        kits=kits_ready(job, kits, printed, weekend),
    )
