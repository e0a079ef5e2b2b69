"""Kits of the wall against plates: what is urgent, and from when each kit is complete."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.handover.walls import stages_of
from planner.job.demand import gross_quantities
from planner.wall.order.kits import order_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from planner.handover.model import PlannedPlate
    from planner.handover.walls import Built
    from planner.job.model import Job
    from planner.schedule.model import WeekendPlan
    from planner.wall.order.model import Kit

    Counts = Counter[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class KitReady:
    """When a kit, with all before it, is complete: off the printers and at hand.

    `plates` are those that must have been taken off for it, none for what is in stock. `at` is
    None while the weekend leaves something out; `missing` then says what and how many.
    """

    kit: Kit
    plates: tuple[str, ...]
    at: datetime | None
    missing: tuple[tuple[str, int], ...]


def kits_of(job: Job, walls: Built | None) -> tuple[Kit, ...]:
    """Return the kits of a job's walls in the order of mounting; none without walls."""
    if walls is None:
        return ()
    return order_of(walls.counted, walls.mounting.fixings, stage_of=stages_of(job)).kits


def in_order_of_kits(job: Job, kits: Sequence[Kit]) -> Job:
    """Return the job with what each kit needs, so that the first kits are printed first."""
    return replace(job, by_kits=wanted_by(job, kits))


def wanted_by(job: Job, kits: Sequence[Kit]) -> tuple[Counts, ...]:
    """Return for each kit the parts that it and all before it need, assemblies taken apart."""
    contains = {name: dict(each.contains) for name, each in job.assemblies.items()}
    none = dict.fromkeys([*job.parts, *job.assemblies], 0)
    total: Counts = Counter()
    wanted = []
    for kit in kits:
        gross = gross_quantities(contains, quantity={**none, **dict(kit.parts)}, stock=none)
        total = total + Counter({name: gross[name] for name in job.parts})
        wanted.append(Counter(total))
    return tuple(wanted)


def urgency(
    plates: Sequence[PlannedPlate], wanted: Sequence[Mapping[str, int]], stock: Mapping[str, int]
) -> tuple[int, ...]:
    """Return for each plate the number of the first kit that would wait for it, from 0.

    Plates fill the kits in their own order. A plate of spares, or of what is in no kit, comes
    after all kits; first articles before them.
    """
    have: Counts = Counter(stock)
    first = []
    for plate in plates:
        waiting = [
            number
            for number, parts in enumerate(wanted)
            if any(parts.get(part, 0) > have[part] for part in plate.counts)
        ]
        batch = plate.kind == "batch"
        first.append(min(waiting, default=len(wanted)) if batch else 0)
        have.update(plate.counts)
    return tuple(first)


def kits_ready(
    job: Job,
    kits: Sequence[Kit],
    plates: Sequence[PlannedPlate],
    weekend: WeekendPlan,
) -> tuple[KitReady, ...]:
    """Return from when each kit is complete, spares counting as good copies.

    Stock on hand is used first; then plates in the order in which they are taken off.
    """
    have = Counter({name: part.stock for name, part in job.parts.items()})
    contents = {plate.id: plate.counts for plate in plates}
    off = taken_off(weekend)
    order = sorted(off, key=lambda plate: (off[plate], plate))
    used: list[str] = []
    told = []
    for kit, wanted in zip(kits, wanted_by(job, kits), strict=True):
        while wanted - have and len(used) < len(order):
            used.append(order[len(used)])
            have.update(contents.get(used[-1], {}))
        missing = wanted - have
        own = tuple(plate for plate in used if set(contents.get(plate, ())) & set(wanted))
        at = off[used[-1]] if used else job.start
        told.append(
            KitReady(
                kit=kit,
                plates=own,
                at=None if missing else at,
                missing=tuple(sorted(missing.items())),
            )
        )
    return tuple(told)


def taken_off(weekend: WeekendPlan) -> dict[str, datetime]:
    """Return plate -> when it is off its printer; the end of its run where nobody comes."""
    off = {run.plate: run.end for run in weekend.runs}
    off.update({v.take_off: v.until for v in weekend.visits if v.take_off is not None})
    return off
