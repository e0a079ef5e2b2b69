"""Adding up: grams, hours, energy and money of the whole plan."""

from __future__ import annotations

from collections import defaultdict
from math import prod
from typing import TYPE_CHECKING

from planner.handover.costs import machine_of, plate_costs
from planner.handover.model import Totals

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.handover.plates import PlateSet
    from planner.job.model import Job
    from planner.schedule.model import WeekendPlan


def totals_of(
    job: Job,
    parts: Sequence[ReadyPart],
    plates: Sequence[PlannedPlate],
    weekend: WeekendPlan,
) -> Totals:
    """Sum over all plates, scheduled or not.

    Each plate's time is that of the machine it runs on, or of the fastest one if it has no
    run; energy and money are the sums of `plate_costs`.
    """
    on = {run.plate: run.machine for run in weekend.runs}
    costs = plate_costs(job, parts, plates, weekend)
    grams: dict[str, float] = defaultdict(float)
    for plate in plates:
        grams[plate.material] += plate.grams
    low, high = _range_s(plates, on)
    return Totals(
        copies=sum(len(plate.placements) for plate in plates),
        plates=len(plates),
        filament_g=sum(plate.grams for plate in plates),
        filament_range_g=_filament_range_g(parts, plates),
        filament_g_by_material=dict(sorted(grams.items())),
        print_s=sum(cost.seconds for cost in costs),
        print_range_s=(low, high),
        hands_on_s=sum(run.hands_on_s for run in weekend.runs),
        energy_kwh=sum(cost.energy_kwh for cost in costs),
        filament_cost=sum(cost.filament for cost in costs),
        energy_cost=sum(cost.electricity for cost in costs),
        wear_cost=sum(cost.wear for cost in costs),
        wear_unknown=_wear_unknown(job, plates, weekend),
    )


def _filament_range_g(
    parts: Sequence[ReadyPart], plates: Sequence[PlannedPlate]
) -> tuple[float, float]:
    """Add up both ends: what is wrong with a strand is wrong for every copy alike."""
    ranges = {ready.part.name: ready.grams_range for ready in parts}
    laid = [ranges[place.id] for plate in plates for place in plate.placements]
    return sum(low for low, _ in laid), sum(high for _, high in laid)


def odds_of(parts: Sequence[ReadyPart], plates: PlateSet, weekend: WeekendPlan) -> float:
    """Chance that every kind of part comes out in number; copies fail independently.

    It is 0 as soon as a copy is on no plate, or a plate has no place in the weekend.
    """
    if plates.left_out or weekend.unscheduled:
        return 0.0
    return prod(ready.need.odds for ready in parts)


def copies_missing(
    plates: Sequence[PlannedPlate],
    left_out: Sequence[tuple[str, int, str]],
    weekend: WeekendPlan,
) -> int:
    """Count the copies on no plate (`left_out`), or on plates without a place in the weekend."""
    by_id = {plate.id: plate for plate in plates}
    waiting = sum(len(by_id[plate].placements) for plate, _ in weekend.unscheduled)
    return waiting + sum(count for _, count, _ in left_out)


def _range_s(plates: Sequence[PlannedPlate], on: Mapping[str, str]) -> tuple[float, float]:
    ranges = [
        plate.ranges_s.get(on.get(plate.id, ""), min(plate.ranges_s.values(), default=(0.0, 0.0)))
        for plate in plates
    ]
    return sum(low for low, _ in ranges), sum(high for _, high in ranges)


def _wear_unknown(
    job: Job, plates: Sequence[PlannedPlate], weekend: WeekendPlan
) -> tuple[str, ...]:
    """Name the machines in use of which nobody said what an hour wears off."""
    machines = {machine.name: machine for machine in job.machines}
    runs = {run.plate: run for run in weekend.runs}
    used = [machine_of(machines, plate, runs.get(plate.id)) for plate in plates]
    return tuple(sorted({m.name for m in used if m is not None and m.wear_per_hour is None}))
