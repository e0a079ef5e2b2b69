"""What the search over plates asks of the job: groups, beds, and plates in the making."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from planner.handover.beds import rosters, without_hours
from planner.handover.groups import group_parts
from planner.handover.pins import holds_pins, pins_on
from planner.handover.plates import BATCH
from planner.handover.settle import settled
from planner.handover.share import fits
from planner.nest.model import PackedPlate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.beds import Roster
    from planner.handover.groups import Group
    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.job.model import Job
    from planner.schedule.model import WeekendPlan

Counts = tuple[int, ...]
"""Copies of each part of a group, in the group's order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A plate of the batch in the making: the group's number, the kind of bed, the copies.

    A sheet that is `tied` to a plate as it was packed (its number; -1: to none) stays on its
    bed and only gives copies away, never below what `stays`: pins, and parts that go together.
    """

    group: int
    bed: str
    counts: Counts
    tied: int = -1
    stays: Counts = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """The job's groups with the beds of each; `usable[group][bed]` tells which parts fit.

    `firsts` are the plates of first articles, which the search leaves alone, `packed` the
    plates that the search starts from, in the order in which they ran, on the beds they ran on
    if the job limits no hours.
    """

    job: Job
    groups: tuple[Group, ...]
    beds: tuple[dict[str, Roster], ...]
    usable: tuple[dict[str, tuple[bool, ...]], ...]
    firsts: tuple[PlannedPlate, ...]
    packed: tuple[PlannedPlate, ...]


def shop_of(
    job: Job, parts: Sequence[ReadyPart], plates: Sequence[PlannedPlate], weekend: WeekendPlan
) -> Shop:
    """Return the shop for a search that starts from these plates in this weekend."""
    begun = {run.plate: run.start for run in weekend.runs}
    # On a slower bed than it was packed for, a plate may be longer than the job allows.
    here = settled(job, plates, weekend) if job.plating.seconds_max == inf else plates
    ran = [plate for plate in here if plate.kind == BATCH]
    ran.sort(key=lambda plate: (plate.id not in begun, begun.get(plate.id, job.start)))
    groups = group_parts(job, parts)
    beds = tuple(without_hours(job, rosters(job, group, cap_s=inf)) for group in groups)
    return Shop(
        job=job,
        groups=groups,
        beds=beds,
        usable=tuple(
            {key: tuple(fits(job, r, roster) for r in group.parts) for key, roster in own.items()}
            for group, own in zip(groups, beds, strict=True)
        ),
        firsts=tuple(plate for plate in plates if plate.kind != BATCH),
        packed=tuple(ran),
    )


def first_sheets(shop: Shop) -> tuple[Sheet, ...]:
    """Return the packed plates as sheets."""
    return tuple(_sheet(shop, number) for number in range(len(shop.packed)))


def bed_of_plate(shop: Shop, group: int, plate: PlannedPlate) -> str:
    """Return the kind of bed that a plate was packed for."""
    return next(key for key, own in shop.beds[group].items() if own.printer == plate.printer)


def packed_plate(plate: PlannedPlate, bed: str) -> PackedPlate:
    """Return a planned plate as the packer gave it."""
    return PackedPlate(bed=bed, placements=plate.placements, fill=plate.fill)


def _sheet(shop: Shop, number: int) -> Sheet:
    plate = shop.packed[number]
    laid = plate.counts
    group = next(
        at
        for at, group in enumerate(shop.groups)
        if laid.keys() <= {ready.part.name for ready in group.parts}
    )
    bed = bed_of_plate(shop, group, plate)
    names = [ready.part.name for ready in shop.groups[group].parts]
    counts = tuple(laid.get(name, 0) for name in names)
    held = _held(shop, group, bed, plate)
    if not held:
        return Sheet(group=group, bed=bed, counts=counts)
    stays = tuple(laid.get(name, 0) if name in held else 0 for name in names)
    return Sheet(group=group, bed=bed, counts=counts, tied=number, stays=stays)


def _held(shop: Shop, group: int, bed: str, plate: PlannedPlate) -> set[str]:
    """Return the parts on a plate that a pin or a group that goes together holds there."""
    laid = plate.counts.keys()
    held = {n for names in shop.job.plating.together if laid & set(names) for n in names}
    pins = pins_on(shop.job, shop.groups[group], bed)
    if holds_pins(packed_plate(plate, bed), pins):
        held |= {pin.id for pin in pins}
    return held & set(laid)
