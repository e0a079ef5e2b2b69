"""From the best draft to plates: packed, timed exactly, named."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.handover.plates import BATCH, numbered, planned_plate, recounted, wanted

if TYPE_CHECKING:
    from planner.handover.hours.draft import Rated
    from planner.handover.hours.fitting import Fitting
    from planner.handover.hours.shop import Sheet, Shop
    from planner.handover.model import PlannedPlate
    from planner.handover.plates import PlateSet

Runs = tuple[tuple[str, str], ...]
"""(plate, machine), in the order in which the decoder takes them."""


def plates_of(shop: Shop, fitting: Fitting, best: Rated, base: PlateSet) -> tuple[PlateSet, Runs]:
    """Return the plates of a draft, and how it ran them.

    First articles, what is left out and the bounds are those of the plates begun with.
    """
    made = [_plate(shop, fitting, sheet) for sheet in best.draft.sheets]
    as_named = sorted(range(len(made)), key=lambda at: wanted(made[at]))
    plates = numbered([*shop.firsts, *(made[at] for at in as_named)])
    firsts = plates[: len(shop.firsts)]
    batch = dict(zip(as_named, plates[len(firsts) :], strict=True))
    ran = [*zip(firsts, best.on_firsts, strict=True)]
    ran += [(batch[at], best.machine[at]) for at in best.draft.order]
    runs = tuple((plate.id, shop.job.machines[on].name) for plate, on in ran if on >= 0)
    bounds = recounted(shop.groups, base.bounds, plates)
    return replace(base, plates=plates, bounds=bounds), runs


def _plate(shop: Shop, fitting: Fitting, sheet: Sheet) -> PlannedPlate:
    return planned_plate(
        shop.job,
        shop.groups[sheet.group],
        shop.beds[sheet.group][sheet.bed].printer,
        fitting.packed(sheet),
        kind=BATCH,
        stays=sheet.tied >= 0,
    )
