"""The quick estimate itself: parts that are ready, in rows, at the prices at hand."""

from __future__ import annotations

from collections import defaultdict
from math import ceil, inf
from typing import TYPE_CHECKING

from planner.audit.rules.room import quarter_turned
from planner.handover.beds import bed_of, largest_spool_g, rosters
from planner.handover.costs import HOUR_S, J_PER_KWH
from planner.handover.groups import bed_key, group_parts
from planner.handover.items import item_of, sizes_of
from planner.handover.quick.model import PartEstimate, QuickEstimate
from planner.handover.quick.rows import in_rows
from planner.handover.share import fastest_s
from planner.layers.plate import plate_range, plate_seconds
from planner.nest.least import least_plates
from planner.nest.model import Wishes

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.handover.groups import Group
    from planner.handover.model import ReadyPart
    from planner.handover.quick.model import Range
    from planner.job.model import Job, Machine
    from planner.settings.model import Printer

REASONS = (
    "hours: quickest to slowest suitable printer, and what its profile leaves open",
    "filament: what the path of a strand leaves open",
    "plates: least by the packer's bound, likely in rows, enough if no kinds share a plate",
    "cost: filament at the cheapest and dearest suitable spool, electricity and wear",
    "no calendar: a plan says what fits into the hours you are there",
)


def quick_estimate(job: Job, parts: Sequence[ReadyPart], *, bounded: bool = True) -> QuickEstimate:
    """Add up all copies of the parts, spares included, without packing a plate.

    Rows of boxes stand for packing, so the most plates are enough for certain (limits on a
    plate's hours, parts and filament aside), and the least are the packer's own bound, which
    takes the longest to work out: without `bounded` it is left at 0.
    """
    groups = group_parts(job, parts)
    told = [_part(job, group, ready) for group in groups for ready in group.parts]
    rows = sorted(told, key=lambda row: [ready.part.name for ready in parts].index(row.part))
    counted = [row for row in rows if row.per_plate > 0]
    grams: dict[str, float] = defaultdict(float)
    for row in counted:
        grams[row.material] += row.grams
    return QuickEstimate(
        parts=tuple(rows),
        filament_g=sum(grams.values()),
        filament_range_g=_sum(row.grams_range for row in counted),
        filament_g_by_material=dict(sorted(grams.items())),
        print_s=sum(row.print_s for row in counted),
        print_range_s=_sum(row.print_range_s for row in counted),
        plates=_plates(job, groups, {row.part: row.per_plate for row in counted}, bounded=bounded),
        cost=sum(row.cost for row in counted),
        cost_range=_sum(row.cost_range for row in counted),
        currency=job.currency,
        reasons=REASONS,
        not_counted=tuple(row.part for row in rows if row.per_plate == 0),
    )


def _part(job: Job, group: Group, ready: ReadyPart) -> PartEstimate:
    copies, part = ready.need.to_print, ready.part
    room = {bed_key(kind): _in_rows(job, kind, ready) for kind in group.printers}
    able = [m for m in group.machines if room[bed_key(m.printer)] > 0]
    hours = [_hours(m, ready, min(copies, room[bed_key(m.printer)])) for m in able]
    middle_s = copies * sum(s for s, _ in hours) / max(1, len(hours))
    low_s = copies * min((low for _, (low, _) in hours), default=0.0)
    high_s = copies * max((high for _, (_, high) in hours), default=0.0)
    least_g, most_g = (copies * end for end in ready.grams_range)
    cheap, dear = _prices(job, ready)
    rates = [_rate(job, machine) for machine in able]
    rate = sum(rates) / max(1, len(rates))
    return PartEstimate(
        part=part.name,
        copies=copies,
        material=part.settings.material,
        colour=part.colour,
        grams=copies * ready.grams,
        grams_range=(least_g, most_g),
        print_s=middle_s,
        print_range_s=(low_s, high_s),
        per_plate=max(room.values(), default=0),
        cost=copies * ready.grams * (cheap + dear) / 2 + middle_s * rate,
        cost_range=(
            least_g * cheap + low_s * min(rates, default=0.0),
            most_g * dear + high_s * max(rates, default=0.0),
        ),
    )


def _in_rows(job: Job, printer: Printer, ready: ReadyPart) -> int:
    """Return how many copies lie on the bed; one after another, only one is sure."""
    brim_mm = ready.part.settings.brim_mm
    wide, deep, high = ready.posed.size_mm
    box = (wide + 2 * brim_mm, deep + 2 * brim_mm, high)
    count = in_rows(
        printer,
        sizes_of(ready) or quarter_turned(box),
        clearance_mm=job.clearance_mm,
        edge_mm=job.edge_mm,
    )
    return min(count, 1) if printer.one_by_one else count


def _hours(machine: Machine, ready: ReadyPart, together: int) -> tuple[float, Range]:
    """Return seconds per copy, and their range, on plates that hold so many."""
    pairs = [(ready.times[machine.printer.name], together)]
    settings = ready.part.settings
    overhead_s = machine.printer.start_for(settings.nozzle_c, settings.bed_c)
    overhead_s += machine.printer.end_s
    low, high = ((end + overhead_s) / together for end in plate_range(pairs))
    return (plate_seconds(pairs) + overhead_s) / together, (low, high)


def _prices(job: Job, ready: ReadyPart) -> Range:
    """Return the cheapest and the dearest price per gram of what could feed the part."""
    part = ready.part
    prices = [
        spool.price_per_kg
        for spool in job.spools
        if spool.filament.material == part.settings.material and part.colour in (None, spool.colour)
    ] or [ready.filament.price_per_kg]
    return min(prices) / 1000, max(prices) / 1000


def _rate(job: Job, machine: Machine) -> float:
    """Return what a second of printing costs on the machine."""
    electricity = machine.power_w * job.electricity_per_kwh / J_PER_KWH
    return electricity + (machine.wear_per_hour or 0.0) / HOUR_S


def _plates(
    job: Job, groups: Sequence[Group], per_plate: dict[str, int], *, bounded: bool
) -> tuple[int, int, int]:
    least = likely = enough = 0
    for group in groups:
        own = [ready for ready in group.parts if ready.part.name in per_plate]
        if own:
            shares = [ready.need.to_print / per_plate[ready.part.name] for ready in own]
            bound = _least(job, group, own) if bounded else 0
            least += bound
            likely += max(bound, ceil(sum(shares) - 1e-9))
            enough += max(bound, sum(ceil(share - 1e-9) for share in shares))
    return least, likely, enough


def _least(job: Job, group: Group, parts: Sequence[ReadyPart]) -> int:
    beds = rosters(job, group, cap_s=inf)
    return least_plates(
        [
            item_of(ready, quantity=ready.need.to_print, seconds=fastest_s(ready, beds))
            for ready in parts
        ],
        [bed_of(key, roster, spool_g=largest_spool_g(job, group)) for key, roster in beds.items()],
        clearance_mm=job.clearance_mm,
        edge_mm=job.edge_mm,
        wishes=Wishes(together=job.plating.together, apart=job.plating.apart),
    ).plates


def _sum(ranges: Iterable[Range]) -> Range:
    """Add up both ends: what is wrong with a profile is wrong for every part alike."""
    pairs = list(ranges)
    return sum(low for low, _ in pairs), sum(high for _, high in pairs)
