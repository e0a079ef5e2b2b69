"""From ready parts to plates: first articles apart, the rest shared out and packed."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from functools import partial
from math import ceil, inf
from typing import TYPE_CHECKING

from planner.errors import input_error
from planner.handover.beds import bed_of, largest_spool_g, rosters, without_hours
from planner.handover.groups import group_parts
from planner.handover.items import item_of
from planner.handover.model import PlannedPlate, PlateBound
from planner.handover.pins import (
    check_pins,
    holds_pins,
    long_enough,
    pinned_copies,
    pins_on,
)
from planner.handover.seconds import seconds_on_machines, seconds_on_plate
from planner.handover.share import copies_to_batch, fastest_s, share_out, slowest_s
from planner.handover.unplaced import why_on_no_plate
from planner.nest.least import least_plates
from planner.nest.model import Wishes
from planner.nest.pack import effort_for, pack
from planner.progress import silent

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from planner.handover.beds import Roster
    from planner.handover.groups import Group
    from planner.handover.model import ReadyPart
    from planner.job.model import Job
    from planner.nest.model import PackedPlate
    from planner.progress import Progress
    from planner.settings.model import Printer

FIRST = "first article"
BATCH = "batch"
SHORTEST_WORTH_A_PLATE_S = 2 * 3600.0
"""A group is spread over one more printer for every so many seconds; our own choice."""
PACKINGS_MOST = 4
"""So often a load is packed at the most until no plate is too long; pinned ones may stay so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How to make plates: the longest one wanted, and what one more plate is taken to cost.

    A plate costs waiting for somebody and their hands besides printing; the more it is
    taken to cost, the more large parts go to large beds.
    """

    cap_s: float = inf
    plate_cost_s: float = 3600.0


PLAIN = Recipe()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateSet:
    """Plates for the whole job, with the bound of each group and what was left out."""

    plates: tuple[PlannedPlate, ...]
    bounds: tuple[PlateBound, ...]
    left_out: tuple[tuple[str, int, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Load:
    """One packing to be done: these copies of one group on one kind of bed."""

    group: Group
    kind: str
    bed: str
    roster: Roster
    copies: Mapping[str, int]


def make_plates(
    job: Job,
    parts: Sequence[ReadyPart],
    *,
    recipe: Recipe = PLAIN,
    seconds: float = 3.0,
    seed: int = 0,
    progress: Progress = silent,
) -> PlateSet:
    """Pack every copy as the recipe says, and within what each bed allows.

    Plates come out in the order in which they are wanted: first articles, then by stage.
    Raises InputError for parts that must share a plate but cannot be printed together.
    """
    groups = group_parts(job, parts)
    _check_together(job, groups)
    batches = {g.name: copies_to_batch(g.parts, _first_articles(g)) for g in groups}
    check_pins(job, groups, batches)
    loads, left_out = _loads(job, groups, recipe)
    plates: list[PlannedPlate] = []
    effort = effort_for(seconds / max(1, len(loads)))
    for done, load in enumerate(loads):
        progress("plates", done, len(loads), note=load.group.name)
        packed, left = _pack(job, load, effort=effort, seed=seed)
        plates += packed
        left_out += left
    progress("plates", len(loads), len(loads), note=f"{len(plates)} plates")
    return PlateSet(
        plates=numbered(plates),
        bounds=_bounds(job, loads, plates),
        left_out=tuple(sorted(left_out)),
    )


def _check_together(job: Job, groups: Sequence[Group]) -> None:
    homes = {ready.part.name: group.name for group in groups for ready in group.parts}
    for number, names in enumerate(job.plating.together):
        own = {homes[name]: name for name in names if name in homes}
        if len(own) > 1:
            parts = ", ".join(f"{name} ({home})" for home, name in own.items())
            raise input_error(
                next(iter(job.plating.together_at[number:]), job.path),
                place=f"together[{number}]",
                found=f"parts that cannot be printed on one plate: {parts}",
                expected="parts of the same settings, material and colour",
                remedy="give them the same settings, or take one out of the group",
            )


def _loads(
    job: Job, groups: Sequence[Group], recipe: Recipe
) -> tuple[list[_Load], list[tuple[str, int, str]]]:
    loads: list[_Load] = []
    left_out: list[tuple[str, int, str]] = []
    busy: dict[str, float] = defaultdict(float)
    firsts = {group.name: _first_articles(group) for group in groups}
    wanted = [(group, FIRST, firsts[group.name]) for group in groups]
    # The longest groups first, so that the short ones even out what is left.
    wanted += [
        (group, BATCH, copies_to_batch(group.parts, firsts[group.name]))
        for group in sorted(groups, key=lambda g: -_group_s(g))
    ]
    for group, kind, copies in wanted:
        beds = rosters(job, group, cap_s=recipe.cap_s)
        widest = 1 if kind == FIRST else max(1, ceil(_group_s(group) / SHORTEST_WORTH_A_PLATE_S))
        shares = share_out(
            job,
            group,
            copies,
            loads=busy,
            beds=beds,
            widest=widest,
            plate_cost_s=recipe.plate_cost_s,
            together=() if kind == FIRST else job.plating.together,
            pinned={} if kind == FIRST else pinned_copies(job, group),
        )
        left_out += _missing(job, group, kind, copies, shares, recipe=recipe)
        for key, share in sorted(shares.items()):
            loads.append(
                _Load(group=group, kind=kind, bed=key, roster=beds[key], copies=dict(share))
            )
            busy[key] += (
                sum(
                    ready.times[beds[key].printer.name].middle_s * share[ready.part.name]
                    for ready in group.parts
                )
                / beds[key].capacity_s
            )
    return loads, left_out


def _first_articles(group: Group) -> dict[str, int]:
    return {ready.part.name: 1 for ready in group.parts if ready.part.mating}


def _missing(
    job: Job,
    group: Group,
    kind: str,
    copies: Mapping[str, int],
    shares: Mapping[str, Counter[str]],
    *,
    recipe: Recipe,
) -> list[tuple[str, int, str]]:
    ready = {each.part.name: each for each in group.parts}
    shared = {name for names in job.plating.together for name in names if kind == BATCH}
    why = partial(why_on_no_plate, job, group, cap_s=recipe.cap_s)
    placed = Counter[str]()
    for share in shares.values():
        placed.update(share)
    return [
        (name, count - placed[name], f"{why(ready[name], shared=name in shared)} ({kind})")
        for name, count in sorted(copies.items())
        if count > placed[name]
    ]


def _pack(
    job: Job, load: _Load, *, effort: int, seed: int
) -> tuple[list[PlannedPlate], list[tuple[str, int, str]]]:
    """Pack a load; once more, with less, as long as a plate is longer than the job allows.

    How long a plate is shows only when it is known where the copies lie.
    """
    by_name = {ready.part.name: ready for ready in load.group.parts}
    wishes, roster = _wishes(job, load), load.roster
    if wishes.pins:
        each_s = {
            name: seconds_on_plate(job, ready.times[roster.printer.name])
            for name, ready in by_name.items()
        }
        whole = rosters(job, load.group, cap_s=inf)[load.bed]
        roster = long_enough(roster, whole, wishes.pins, each_s)
    for _ in range(PACKINGS_MOST):
        plates, left = _packed(job, load, roster, wishes, effort=effort, seed=seed)
        over_s = max((_over_s(job, plate) for plate in plates), default=0.0)
        if over_s <= 0:
            break
        roster = replace(roster, limit_s=max(1.0, roster.limit_s - over_s))
    return plates, left


def _over_s(job: Job, plate: PlannedPlate) -> float:
    """Return by how much a plate is longer, on the bed it was packed for, than it may be."""
    own = (s for m, s in plate.seconds.items() if _has_bed(job, m, plate.printer))
    return max(own, default=0.0) - job.plating.seconds_max


def _has_bed(job: Job, machine: str, printer: Printer) -> bool:
    return any(m.name == machine and m.printer == printer for m in job.machines)


def _packed(
    job: Job, load: _Load, roster: Roster, wishes: Wishes, *, effort: int, seed: int
) -> tuple[list[PlannedPlate], list[tuple[str, int, str]]]:
    by_name = {ready.part.name: ready for ready in load.group.parts}
    packing = pack(
        [
            item_of(
                by_name[name],
                quantity=count,
                seconds=seconds_on_plate(job, by_name[name].times[load.roster.printer.name]),
            )
            for name, count in sorted(load.copies.items())
        ],
        [bed_of(load.bed, roster, spool_g=largest_spool_g(job, load.group))],
        clearance_mm=job.clearance_mm,
        edge_mm=job.edge_mm,
        wishes=wishes,
        effort=effort,
        seed=seed,
    )
    plates = [
        planned_plate(
            job,
            load.group,
            load.roster.printer,
            packed,
            kind=load.kind,
            stays=holds_pins(packed, wishes.pins),
        )
        for packed in packing.plates
    ]
    return plates, list(packing.unplaced)


def _wishes(job: Job, load: _Load) -> Wishes:
    """Return what the job asks of these copies; first articles go on one plate anyway."""
    asked, present = job.plating, load.copies.keys()
    together = () if load.kind == FIRST else asked.together
    return Wishes(
        together=tuple(_among(group, present) for group in together if present & set(group)),
        apart=tuple(_among(group, present) for group in asked.apart if present & set(group)),
        placing=asked.placing,
        pins=() if load.kind == FIRST else pins_on(job, load.group, load.bed),
    )


def _among(group: Sequence[str], present: Collection[str]) -> tuple[str, ...]:
    return tuple(name for name in group if name in present)


def planned_plate(
    job: Job, group: Group, printer: Printer, packed: PackedPlate, *, kind: str, stays: bool
) -> PlannedPlate:
    """Return a packed plate with its times and grams, still without a name and gates.

    One that `stays` runs on no other kind of bed than that of `printer`.
    """
    by_name = {ready.part.name: ready for ready in group.parts}
    counts = Counter(placement.id for placement in packed.placements)
    laid = [(by_name[name], count) for name, count in sorted(counts.items())]
    settings = laid[0][0].part.settings
    times = seconds_on_machines(job, group, printer, packed, laid, stays=stays)
    return PlannedPlate(
        id="",
        kind=kind,
        printer=printer,
        placements=packed.placements,
        fill=packed.fill,
        nozzle_mm=settings.nozzle_mm,
        layer_mm=settings.layer_mm,
        material=settings.material,
        colour=laid[0][0].part.colour,
        grams=sum(ready.grams * count for ready, count in laid),
        seconds={name: middle_s for name, (middle_s, _) in times.items()},
        ranges_s={name: range_s for name, (_, range_s) in times.items()},
        stage=min(ready.part.stage for ready, _ in laid),
        gate=(),
    )


def numbered(plates: Sequence[PlannedPlate]) -> tuple[PlannedPlate, ...]:
    """Name plates in the order in which they are wanted, and say what waits for first articles."""
    firsts = [plate for plate in plates if plate.kind == FIRST]
    batch = sorted((plate for plate in plates if plate.kind == BATCH), key=wanted)
    named = [replace(plate, id=f"F{n}") for n, plate in enumerate(firsts, 1)]
    gate = tuple(plate.id for plate in named)
    mating = {placement.id for plate in firsts for placement in plate.placements}
    return (
        *named,
        *(
            replace(plate, id=f"P{n}", gate=gate if mating & set(plate.counts) else ())
            for n, plate in enumerate(batch, 1)
        ),
    )


def wanted(plate: PlannedPlate) -> tuple[int, float]:
    """Return by what plates of the batch are sorted: by stage, then the longest first."""
    return plate.stage, -max(plate.seconds.values())


def _bounds(
    job: Job, loads: Sequence[_Load], plates: Sequence[PlannedPlate]
) -> tuple[PlateBound, ...]:
    """One bound per group and kind, over all the beds that the group could have used.

    Hours are no argument, but for those that the job allows a plate: copies beside each other
    take less time than each alone, and how long a printer runs is up to the weekend.
    """
    rows = []
    for (name, kind), own in _by_group(loads).items():
        group = own[0].group
        beds = without_hours(job, rosters(job, group, cap_s=inf))
        copies = Counter[str]()
        for load in own:
            copies.update(load.copies)
        bound, by = least_plates(
            [
                item_of(ready, quantity=copies[ready.part.name], seconds=fastest_s(ready, beds))
                for ready in group.parts
                if copies[ready.part.name]
            ],
            [
                bed_of(key, roster, spool_g=largest_spool_g(job, group))
                for key, roster in beds.items()
            ],
            clearance_mm=job.clearance_mm,
            edge_mm=job.edge_mm,
            wishes=Wishes(
                together=() if kind == FIRST else job.plating.together, apart=job.plating.apart
            ),
        )
        rows.append(
            PlateBound(
                group=f"{kind}: {name}",
                plates=_count(group, kind, plates),
                lower_bound=bound,
                bound_by=by,
            )
        )
    return tuple(rows)


def recounted(
    groups: Sequence[Group], bounds: Sequence[PlateBound], plates: Sequence[PlannedPlate]
) -> tuple[PlateBound, ...]:
    """Return the bounds beside the counts of other plates for the same copies."""
    counts = {
        f"{kind}: {group.name}": _count(group, kind, plates)
        for group in groups
        for kind in (FIRST, BATCH)
    }
    return tuple(replace(bound, plates=counts[bound.group]) for bound in bounds)


def _count(group: Group, kind: str, plates: Sequence[PlannedPlate]) -> int:
    parts = {ready.part.name for ready in group.parts}
    return sum(plate.kind == kind and parts >= set(plate.counts) for plate in plates)


def _by_group(loads: Sequence[_Load]) -> dict[tuple[str, str], list[_Load]]:
    grouped: dict[tuple[str, str], list[_Load]] = {}
    for load in loads:
        grouped.setdefault((load.group.name, load.kind), []).append(load)
    return grouped


def _group_s(group: Group) -> float:
    return sum(slowest_s(ready) * ready.need.to_print for ready in group.parts)
