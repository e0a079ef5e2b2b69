"""Adding up: grams, hours, energy and money of the whole plan."""

from __future__ import annotations

from collections import defaultdict
from math import prod
from typing import TYPE_CHECKING

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
    run. Energy is that time by the printer's mean power; money is filament by the price of
    the spool it comes from, or of the filament's profile where no spool was found.
    """
    on = {run.plate: run.machine for run in weekend.runs}
    seconds = {p.id: p.seconds.get(on.get(p.id, ""), _fastest_s(p)) for p in plates}
    energy_kwh = sum(
        _power_w(job, plate, on.get(plate.id)) * seconds[plate.id] / 3.6e6 for plate in plates
    )
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
        print_s=sum(seconds.values()),
        print_range_s=(low, high),
        hands_on_s=sum(run.hands_on_s for run in weekend.runs),
        energy_kwh=energy_kwh,
        filament_cost=_filament_cost(job, parts, plates, weekend),
        energy_cost=energy_kwh * job.electricity_per_kwh,
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


def _fastest_s(plate: PlannedPlate) -> float:
    return min(plate.seconds.values(), default=0.0)


def _range_s(plates: Sequence[PlannedPlate], on: Mapping[str, str]) -> tuple[float, float]:
    ranges = [
        plate.ranges_s.get(on.get(plate.id, ""), min(plate.ranges_s.values(), default=(0.0, 0.0)))
        for plate in plates
    ]
    return sum(low for low, _ in ranges), sum(high for _, high in ranges)


def _power_w(job: Job, plate: PlannedPlate, machine: str | None) -> float:
    for candidate in job.machines:
        if candidate.name == machine:
            return candidate.printer.power_w
    return plate.printer.power_w


def _filament_cost(
    job: Job,
    parts: Sequence[ReadyPart],
    plates: Sequence[PlannedPlate],
    weekend: WeekendPlan,
) -> float:
    spool_price = {spool.name: spool.price_per_kg for spool in job.spools}
    list_price = {r.filament.material: r.filament.price_per_kg for r in parts}
    from_spool = {run.plate: spool_price[run.spool] for run in weekend.runs}
    return sum(
        plate.grams / 1000 * from_spool.get(plate.id, list_price[plate.material])
        for plate in plates
    )
