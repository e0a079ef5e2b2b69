"""How long a plate takes on each machine that could print it."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

from planner.handover.beds import bare_bed
from planner.handover.groups import bed_key
from planner.handover.items import item_of
from planner.layers.placed import Copy, placed_seconds
from planner.layers.plate import hop_s
from planner.layers.timing import plate_range, plate_seconds
from planner.nest.model import Packing
from planner.nest.verify import verify

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.handover.groups import Group
    from planner.handover.model import ReadyPart
    from planner.job.model import Job
    from planner.layers.model import PrintTime
    from planner.nest.model import PackedPlate
    from planner.settings.model import Printer, Settings


def seconds_on_machines(
    job: Job,
    group: Group,
    printer: Printer,
    packed: PackedPlate,
    laid: Sequence[tuple[ReadyPart, int]],
    *,
    stays: bool = False,
) -> dict[str, tuple[float, tuple[float, float]]]:
    """Return machine -> (seconds from start to plate free, their range), where it fits.

    The time in which the machine cools at the end is part of it.

    The plate was packed for `printer`; another bed counts if every part lies inside it and
    out of its keep-outs without being moved, and if it prints parts together, or one after the
    other, as the first one does. A plate that `stays` runs on no other kind of bed.
    """
    takes = {
        bed_key(kind): bed_key(kind) == bed_key(printer)
        or (not stays and _same_way(kind, printer) and _also_fits(job, kind, packed, laid))
        for kind in group.printers
    }
    return {
        machine.name: _cooled(_whole_s(machine.printer, packed, laid), machine.cool_down_s)
        for machine in group.machines
        if takes[bed_key(machine.printer)]
    }


def _cooled(
    whole: tuple[float, tuple[float, float]], cool_down_s: float
) -> tuple[float, tuple[float, float]]:
    middle_s, (low_s, high_s) = whole
    return middle_s + cool_down_s, (low_s + cool_down_s, high_s + cool_down_s)


def seconds_on_plate(job: Job, time: PrintTime) -> float:
    """Time of one copy, with the ways to it if a person limits the hours of a plate."""
    if job.plating.seconds_max == inf:
        return time.middle_s
    return time.middle_s + hop_s(time) * len(time.by_layer_s)


def whole_seconds(
    printer: Printer, packed: PackedPlate, laid: Sequence[tuple[ReadyPart, int]]
) -> float:
    """Time a plate on one printer from where the copies lie, start and end included."""
    times = {ready.part.name: ready.times[printer.name] for ready, _ in laid}
    copies = [
        Copy(
            time=times[place.id],
            x_mm=place.x_mm,
            y_mm=place.y_mm,
            rotation_deg=place.rotation_deg,
        )
        for place in packed.placements
    ]
    if printer.one_by_one:  # each alone, so each with its own least time per layer
        middle_s = sum(placed_seconds([copy]) + hop_s(copy.time) for copy in copies)
    else:
        middle_s = placed_seconds(copies)
    return middle_s + overhead_s(printer, laid[0][0].part.settings)


def overhead_s(printer: Printer, heated: Settings) -> float:
    """Seconds of start and end; parts of one plate share their temperatures."""
    return printer.start_for(heated.nozzle_c, heated.bed_c) + printer.end_s


def _whole_s(
    printer: Printer, packed: PackedPlate, laid: Sequence[tuple[ReadyPart, int]]
) -> tuple[float, tuple[float, float]]:
    """Time a plate on one printer with its bracket, start and end included.

    The middle comes from where the copies lie; the bracket keeps the shares that errors of
    the profile would make of the same copies wherever they lay.
    """
    whole_s = whole_seconds(printer, packed, laid)
    counted = [(ready.times[printer.name], count) for ready, count in laid]
    low, high = (end / plate_seconds(counted) for end in plate_range(counted))
    overhead = overhead_s(printer, laid[0][0].part.settings)
    middle_s = whole_s - overhead
    return whole_s, (middle_s * low + overhead, middle_s * high + overhead)


def _same_way(one: Printer, other: Printer) -> bool:
    return one.one_by_one == other.one_by_one


def _also_fits(
    job: Job, kind: Printer, packed: PackedPlate, laid: Sequence[tuple[ReadyPart, int]]
) -> bool:
    items = [item_of(ready, quantity=count, seconds=0.0) for ready, count in laid]
    moved = replace(packed, bed=bed_key(kind))
    packing = Packing(plates=(moved,), unplaced=(), lower_bound=0, bound_by="")
    return not verify(
        packing,
        items,
        [bare_bed(bed_key(kind), kind)],
        clearance_mm=job.clearance_mm,
        edge_mm=job.edge_mm,
    )
