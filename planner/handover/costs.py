"""What each plate costs: filament, electricity and the wear of the printer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.handover.model import PlateCost
from planner.handover.shopping import price_per_kg

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.job.model import Job, Machine
    from planner.schedule.model import Run, WeekendPlan

HOUR_S = 3600.0
J_PER_KWH = 3.6e6


def plate_costs(
    job: Job,
    parts: Sequence[ReadyPart],
    plates: Sequence[PlannedPlate],
    weekend: WeekendPlan,
) -> tuple[PlateCost, ...]:
    """Return the cost of every plate, scheduled or not, in the order of the plates.

    Filament by the price of the spool that feeds it; where no spool was found, by the price at
    which the shopping list buys it. Electricity is the printer's mean power by the time until
    the plate is free, start-up and cooling included; wear is by that time too. A plate without
    a run is taken to run on the quickest printer that could.
    """
    machines = {machine.name: machine for machine in job.machines}
    runs = {run.plate: run for run in weekend.runs}
    price = {spool.name: spool.price_per_kg for spool in job.spools}
    return tuple(
        _cost(
            job,
            plate,
            machine_of(machines, plate, runs.get(plate.id)),
            _fed(plate, run, price)
            if (run := runs.get(plate.id))
            else plate.grams / 1000 * price_per_kg(job, parts, (plate.material, plate.colour)),
        )
        for plate in plates
    )


def machine_of(
    machines: Mapping[str, Machine], plate: PlannedPlate, run: Run | None
) -> Machine | None:
    """Return the machine a plate runs on, else the quickest that could; None if none can."""
    if run is not None:
        return machines[run.machine]
    able = [(seconds, name) for name, seconds in plate.seconds.items() if name in machines]
    return machines[min(able)[1]] if able else None


def _cost(job: Job, plate: PlannedPlate, machine: Machine | None, filament: float) -> PlateCost:
    seconds = 0.0 if machine is None else plate.seconds.get(machine.name, 0.0)
    power_w = plate.printer.power_w if machine is None else machine.power_w
    wear_per_hour = None if machine is None else machine.wear_per_hour
    energy_kwh = power_w * seconds / J_PER_KWH
    return PlateCost(
        plate=plate.id,
        seconds=seconds,
        energy_kwh=energy_kwh,
        filament=filament,
        electricity=energy_kwh * job.electricity_per_kwh,
        wear=(wear_per_hour or 0.0) * seconds / HOUR_S,
    )


def _fed(plate: PlannedPlate, run: Run, price: Mapping[str, float]) -> float:
    """Return what the filament from one spool or two costs."""
    second = 0.0 if run.second_spool is None else run.second_g / 1000 * price[run.second_spool]
    return (plate.grams - run.second_g) / 1000 * price[run.spool] + second
