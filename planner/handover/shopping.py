"""What filament must be bought: by material and colour, in whole spools."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.handover.model import ShoppingLine

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.handover.model import PlannedPlate, ReadyPart
    from planner.job.model import Job, Spool
    from planner.schedule.model import WeekendPlan

    Kind = tuple[str, str | None]  # material, colour


def shopping_of(
    job: Job,
    parts: Sequence[ReadyPart],
    plates: Sequence[PlannedPlate],
    weekend: WeekendPlan,
) -> tuple[ShoppingLine, ...]:
    """Return one line per material and colour of the plates, scheduled or not, sorted.

    Plates without a run are fed from what the others leave, the heaviest first, each from
    the spool that it empties most; those that none has enough for share new ones. So there
    may be spools to buy though all that is on the shelf would do in sum. A plate heavier than
    a new spool counts as many as it takes: somebody must change over.
    """
    ranges = {ready.part.name: ready.grams_range for ready in parts}
    left_g = {spool.name: spool.left_g for spool in job.spools} | dict(weekend.spool_left_g)
    planned = {run.plate for run in weekend.runs}
    shelf_g = {spool.name: spool.left_g for spool in job.spools}
    lines = []
    # Those of a colour choose before those that take any.
    for kind in sorted({_kind(plate) for plate in plates}, key=_colours_first):
        mine = [plate for plate in plates if _kind(plate) == kind]
        need_g = sum(plate.grams for plate in mine)
        there_g = sum(shelf_g[spool.name] for spool in _fitting(job, kind))
        without = _without_spool([p for p in mine if p.id not in planned], job, kind, left_g)
        lines.append(
            ShoppingLine(
                material=kind[0],
                colour=kind[1],
                need_g=need_g,
                need_range_g=_range_g(mine, ranges),
                shelf_g=there_g,
                short_g=max(0.0, need_g - there_g),
                without_spool=tuple(plate.id for plate in without),
                spools=_new_spools([plate.grams for plate in without], job.new_spool_g),
                spool_g=job.new_spool_g,
                price_per_kg=price_per_kg(job, parts, kind),
            )
        )
        _take(shelf_g, [spool.name for spool in _fitting(job, kind)], need_g)
    return tuple(sorted(lines, key=lambda line: (line.material, line.colour or "")))


def _kind(plate: PlannedPlate) -> Kind:
    return plate.material, plate.colour


def _colours_first(kind: Kind) -> tuple[str, bool, str]:
    return kind[0], kind[1] is None, kind[1] or ""


def _fitting(job: Job, kind: Kind) -> list[Spool]:
    material, colour = kind
    return [
        spool
        for spool in job.spools
        if spool.filament.material == material and colour in {None, spool.colour}
    ]


def _range_g(
    plates: Sequence[PlannedPlate], ranges: Mapping[str, tuple[float, float]]
) -> tuple[float, float]:
    laid = [ranges[place.id] for plate in plates for place in plate.placements]
    return sum(low for low, _ in laid), sum(high for _, high in laid)


def _without_spool(
    plates: Sequence[PlannedPlate], job: Job, kind: Kind, left_g: dict[str, float]
) -> list[PlannedPlate]:
    """Return the plates that no spool can finish; `left_g` loses what the others take."""
    names = [spool.name for spool in _fitting(job, kind)]
    without = []
    for plate in sorted(plates, key=lambda plate: (-plate.grams, plate.id)):
        able = [name for name in names if left_g[name] >= plate.grams]
        if able:
            left_g[min(able, key=lambda name: left_g[name])] -= plate.grams
        else:
            without.append(plate)
    return without


def _new_spools(grams: Sequence[float], spool_g: float) -> int:
    """Count the spools that hold plates of these grams, none split that fits on one.

    First fit, heaviest first: at most 11/9 of the fewest and 6/9 of a spool more (Dosa,
    ESCAPE 2007, LNCS 4614).
    """
    left: list[float] = []
    whole = 0
    for each in sorted(grams, reverse=True):
        whole += int(each // spool_g)
        rest = each % spool_g
        if rest == 0:
            continue
        found = next((k for k, room in enumerate(left) if room >= rest), None)
        if found is None:
            left.append(spool_g - rest)
        else:
            left[found] -= rest
    return whole + len(left)


def price_per_kg(job: Job, parts: Sequence[ReadyPart], kind: Kind) -> float:
    """Return the price per kg of what is on the shelf, else the one of the filament's profile.

    `kind` is a material and a colour, None for any; the material is one of the parts'.
    """
    of_profile = {ready.filament.material: ready.filament.price_per_kg for ready in parts}
    return next((spool.price_per_kg for spool in _fitting(job, kind)), of_profile[kind[0]])


def _take(shelf_g: dict[str, float], names: Sequence[str], need_g: float) -> None:
    """Take what is needed off the spools, so that another line does not count it again."""
    for name in names:
        taken = min(shelf_g[name], need_g)
        shelf_g[name] -= taken
        need_g -= taken
