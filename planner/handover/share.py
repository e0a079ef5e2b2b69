"""Sharing a group's copies out over the kinds of bed, so that the printers finish together."""

from __future__ import annotations

from collections import Counter
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.audit.rules import room
from planner.handover.beds import bare_bed
from planner.handover.items import item_of, sizes_of
from planner.nest.memory import Store
from planner.nest.table import Table
from planner.settings.groups import joined_groups

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.handover.beds import Roster
    from planner.handover.groups import Group
    from planner.handover.model import ReadyPart
    from planner.job.model import Job
    from planner.settings.model import Printer

Shares = dict[str, Counter[str]]
"""Bed -> part -> copies."""

_places: Store[tuple[object, ...], bool] = Store(2_000_000)


def share_out(
    job: Job,
    group: Group,
    copies: Mapping[str, int],
    *,
    loads: Mapping[str, float],
    beds: Mapping[str, Roster],
    widest: int,
    plate_cost_s: float,
    together: Sequence[Sequence[str]] = (),
    pinned: Mapping[str, Mapping[str, int]] = MappingProxyType({}),
) -> Shares:
    """Give each copy to the bed whose machines would be done with it first.

    Longest copies first, each to the kind of bed that is least busy afterwards (the rule of
    R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM J. Appl. Math. 17 (1969)).
    A copy costs its print time and its share of `plate_cost_s`, which is what every plate
    costs besides printing, so that large parts go to large beds.
    `loads` is how busy each kind of bed already is, as a share of the time it has; at most
    `widest` kinds are opened per part, so that a small group does not leave a nearly empty
    plate on each. A part that fits nowhere is in no share. All copies of parts that are
    `together` go to one kind of bed, one that could print them on a plate by its time.
    `pinned` (bed -> part -> copies) are where they are already.
    """
    busy = {key: loads.get(key, 0.0) for key in beds}
    kinds = sorted(beds, key=lambda key: (busy[key], key))
    shares: Shares = {key: Counter(pinned.get(key, {})) for key in kinds}
    on_bed = {name: key for key, own in shares.items() for name in own}
    for share in shares.values():
        copies = {name: count - share[name] for name, count in copies.items()}
    named = {ready.part.name: ready for ready in group.parts}
    joined = [
        [named[name] for name in names if name in named and copies.get(name, 0)]
        for names in joined_groups(together)
    ]
    for unit in filter(None, joined):
        home = next((on_bed[r.part.name] for r in unit if r.part.name in on_bed), None)
        best_key = home or _bed_for_all(
            job, unit, copies, beds=beds, busy=busy, plate_cost_s=plate_cost_s
        )
        if best_key is not None:
            for ready in unit:
                step_s = _step(job, ready, beds[best_key], plate_cost_s)
                busy[best_key] += copies[ready.part.name] * step_s
                shares[best_key][ready.part.name] += copies[ready.part.name]
    settled = {ready.part.name for unit in joined for ready in unit}
    for ready in sorted(group.parts, key=lambda r: (-slowest_s(r), r.part.name)):
        if ready.part.name in settled:
            continue
        usable = [k for k in kinds if fits(job, ready, beds[k])][:widest]
        step = {key: _step(job, ready, beds[key], plate_cost_s) for key in usable}
        for _ in range(copies.get(ready.part.name, 0) if usable else 0):
            best = min(usable, key=lambda k: (busy[k] + step[k], kinds.index(k)))
            busy[best] += step[best]
            shares[best][ready.part.name] += 1
    return {key: share for key, share in shares.items() if share}


def _bed_for_all(
    job: Job,
    unit: Sequence[ReadyPart],
    copies: Mapping[str, int],
    *,
    beds: Mapping[str, Roster],
    busy: Mapping[str, float],
    plate_cost_s: float,
) -> str | None:
    """Return the kind of bed that would be done first with all copies of some parts."""

    def done(key: str) -> float:
        steps = (copies[r.part.name] * _step(job, r, beds[key], plate_cost_s) for r in unit)
        return busy[key] + sum(steps)

    usable = [
        key
        for key, roster in sorted(beds.items())
        if all(fits(job, ready, roster) for ready in unit)
        and sum(copies[r.part.name] * r.times[roster.printer.name].middle_s for r in unit)
        <= roster.limit_s
        and sum(copies[r.part.name] for r in unit) <= roster.limit_parts
    ]
    return min(usable, key=done, default=None)


def fits(job: Job, ready: ReadyPart, roster: Roster) -> bool:
    """Whether one copy can lie on the bed in one of its turns, and be done in time."""
    printer = roster.printer
    margin_mm = job.edge_mm + ready.part.settings.brim_mm
    sizes = sizes_of(ready)
    if sizes is None:
        lies = room.fits(printer, ready.posed.size_mm, margin_mm)
    else:
        lies = room.fits_as(printer, sizes, job.edge_mm)
    if lies and (printer.keep_out or printer.keep_out_patches):
        lies = _has_place(job, ready, printer)
    return lies and ready.times[printer.name].middle_s <= roster.limit_s


def _has_place(job: Job, ready: ReadyPart, printer: Printer) -> bool:
    """Ask the packer whether a copy has a place beside the keep-outs of an empty bed."""
    own = ready.part.settings
    key = (
        (ready.posed.solid.digest, ready.posed.up, ready.part.turns),
        (own.brim_mm, own.support, own.first_layer_mm),
        (printer, job.clearance_mm, job.edge_mm),
    )
    found = _places.get(key)
    if found is None:
        table = Table(
            [item_of(ready, quantity=1, seconds=0.0)],
            [bare_bed("", printer)],
            clearance_mm=job.clearance_mm,
            edge_mm=job.edge_mm,
        )
        found = table.fits_bed(0, 0)
        _places.put(key, found, 1000)
    return found


def slowest_s(ready: ReadyPart) -> float:
    """Time of one copy on the slowest printer."""
    return max(time.middle_s for time in ready.times.values())


def fastest_s(ready: ReadyPart, beds: Mapping[str, Roster]) -> float:
    """Time of one copy on the fastest of these printers."""
    return min(ready.times[roster.printer.name].middle_s for roster in beds.values())


def copies_to_batch(
    parts: Sequence[ReadyPart], on_first_article: Mapping[str, int]
) -> dict[str, int]:
    """Return the copies still to be printed once the first articles are."""
    return {
        ready.part.name: ready.need.to_print - on_first_article.get(ready.part.name, 0)
        for ready in parts
    }


def _step(job: Job, ready: ReadyPart, roster: Roster, plate_cost_s: float) -> float:
    printer = roster.printer
    heated = ready.part.settings
    start_s = printer.start_for(heated.nozzle_c, heated.bed_c)
    plate_s = plate_cost_s + start_s + printer.end_s
    per_plate = _side_by_side(ready, printer, job.clearance_mm)
    return (ready.times[printer.name].middle_s + plate_s / per_plate) / roster.capacity_s


def _side_by_side(ready: ReadyPart, printer: Printer, clearance_mm: float) -> int:
    """Return how many copies lie on the bed in plain rows, the better of two turns."""
    width, depth = (side + clearance_mm for side in ready.posed.size_mm[:2])
    across = printer.bed_width_mm + clearance_mm
    along = printer.bed_depth_mm + clearance_mm
    rows = (across // width) * (along // depth), (across // depth) * (along // width)
    return max(1, int(max(rows)))
