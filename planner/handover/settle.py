"""Plates as they will really be printed: on the bed of the printer that the weekend chose."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.confidence import Promise
    from planner.handover.model import HoursWon, PlannedPlate
    from planner.handover.parts import FailedPart
    from planner.handover.plates import PlateSet
    from planner.job.model import Job
    from planner.schedule.model import WeekendPlan
    from planner.settings.model import Printer


def settled(
    job: Job, plates: Sequence[PlannedPlate], weekend: WeekendPlan
) -> tuple[PlannedPlate, ...]:
    """Return the plates with the printer of their run.

    A plate packed for one bed may run on another on which it fits as it lies; its parts stay
    where they are, but what is drawn around them, and the share covered, is that bed's.
    """
    printers = {machine.name: machine.printer for machine in job.machines}
    chosen = {run.plate: printers[run.machine] for run in weekend.runs}
    moved = []
    for plate in plates:
        printer = chosen.get(plate.id, plate.printer)
        share = _bed_mm2(plate.printer) / _bed_mm2(printer)
        moved.append(replace(plate, printer=printer, fill=plate.fill * share))
    return tuple(moved)


def with_failed(plates: PlateSet, failed: Sequence[FailedPart]) -> PlateSet:
    """Count the copies of parts that cannot be laid among what is left out."""
    missing = [(part.name, part.copies, "it cannot be laid in layers") for part in failed]
    return replace(plates, left_out=tuple(sorted([*plates.left_out, *missing])))


def hours_with_failed(hours: HoursWon, failed: Sequence[FailedPart]) -> HoursWon:
    """Count the copies of parts that cannot be laid as missing, whatever the plates."""
    copies = sum(part.copies for part in failed)
    return replace(hours, missing=hours.missing + copies, full_missing=hours.full_missing + copies)


def promise_with_failed(promise: Promise | None, failed: Sequence[FailedPart]) -> Promise | None:
    """Promise nothing where parts cannot be laid: never is all there then."""
    if promise is None or not failed:
        return promise
    return replace(promise, odds=0.0, plain_odds=0.0, at=None, at_with_days=None, without=())


def _bed_mm2(printer: Printer) -> float:
    return printer.bed_width_mm * printer.bed_depth_mm
