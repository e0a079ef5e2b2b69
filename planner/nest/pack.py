"""The packer: from items and beds to plates, checked, with a bound beside the count."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from math import isfinite
from random import Random
from typing import TYPE_CHECKING

from planner.nest.bound import Bound, lower_bound
from planner.nest.build import Task
from planner.nest.model import PackedPlate, Packing, Placement
from planner.nest.reasons import why_unplaced
from planner.nest.search import search
from planner.nest.table import Table
from planner.nest.verify import verify
from planner.progress import silent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.build import Layout
    from planner.nest.model import Bed, Item
    from planner.nest.plate import Spot
    from planner.progress import Progress

EFFORT = 100
"""Default effort: a first answer and one to two seconds of bettering it on a common machine."""
WORK_PER_EFFORT = 10_000
EFFORT_PER_SECOND = 50
"""Roughly what a 2020s desktop core does; only to turn a wish in seconds into an effort."""


def effort_for(seconds: float) -> int:
    """Return the effort that takes about so long on a common machine.

    >>> effort_for(3.0)
    150
    """
    return max(1, round(seconds * EFFORT_PER_SECOND))


def pack(
    items: Sequence[Item],
    beds: Sequence[Bed],
    *,
    clearance_mm: float,
    edge_mm: float,
    effort: int = EFFORT,
    seed: int = 0,
    progress: Progress = silent,
) -> Packing:
    """Lay every copy of every item on as few plates as can be found.

    `clearance_mm` is kept between parts and `edge_mm` to the edge of the bed.  `effort` sets an
    amount of counted work, not a time: the same input, effort and seed give the same plates
    on any machine.  Copies that fit nowhere, or for which there are no plates left, are in
    `unplaced` with the reason.  Raises ValueError for an impossible call (see `_checked`).
    """
    _checked(items, beds, clearance_mm, edge_mm)
    table = Table(items, beds, clearance_mm=clearance_mm, edge_mm=edge_mm)
    usable = [
        tuple(bed for bed in range(len(beds)) if table.fits_bed(item, bed))
        for item in range(len(items))
    ]
    bound = lower_bound(
        [item for item, own in zip(items, usable, strict=True) if own],
        beds,
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
    )
    task = Task(table, usable, Random(seed))  # noqa: S311  (repeatable, not secret)
    layout = search(task, effort * WORK_PER_EFFORT, bound=bound.plates, progress=progress)
    packing = _packing(task, layout, bound)
    wrong = verify(packing, items, beds, clearance_mm, edge_mm)
    if wrong:
        said = "; ".join(wrong[:5])
        raise RuntimeError(f"the packer broke its own rules, which is a bug of ours: {said}")
    return packing


def _checked(
    items: Sequence[Item], beds: Sequence[Bed], clearance_mm: float, edge_mm: float
) -> None:
    """Raise ValueError unless the call makes sense: forms say it better for files."""
    if not beds:
        raise ValueError("there is no bed to lay anything on")
    for name, value in (("clearance_mm", clearance_mm), ("edge_mm", edge_mm)):
        if not (isfinite(value) and value >= 0):
            raise ValueError(f"{name} is {value}, expected a finite number of at least 0")
    for kind, names in (("item", [item.id for item in items]), ("bed", [bed.id for bed in beds])):
        twice = sorted(name for name, count in Counter(names).items() if count > 1)
        if twice:
            raise ValueError(f"{kind} {twice[0]} occurs more than once")
    for item in items:
        if item.quantity < 0:
            raise ValueError(f"item {item.id}: quantity is {item.quantity}, expected at least 0")
        if not item.rotations_deg:
            raise ValueError(f"item {item.id}: no turn is allowed, expected at least one angle")


def _packing(task: Task, layout: Layout, bound: Bound) -> Packing:
    """Turn grid positions into millimetres, sort the plates, say what is left over and why."""
    table, usable = task.table, task.usable
    plates = sorted(
        layout.plates,
        key=lambda plate: (task.mean_priority(plate[1]), -task.load_mm2(plate[1])),
    )
    unplaced = []
    for number, item in enumerate(table.items):
        left = layout.left[number] if usable[number] else item.quantity
        if left:
            why = why_unplaced(table, number, usable[number], len(plates))
            unplaced.append((item.id, left, why))
    if any(layout.left):
        laid = Counter(spot.item for _, spots in plates for spot in spots)
        bound = _bound_of_laid(table, laid)
    return Packing(
        plates=tuple(_packed(table, bed, spots) for bed, spots in plates),
        unplaced=tuple(unplaced),
        lower_bound=bound.plates,
        bound_by=bound.by,
    )


def _bound_of_laid(table: Table, laid: Counter[int]) -> Bound:
    """Return the bound for the copies that were laid: the only fair one when plates ran out."""
    items = [replace(item, quantity=laid[number]) for number, item in enumerate(table.items)]
    return lower_bound(items, table.beds, clearance_mm=table.clearance_mm, edge_mm=table.edge_mm)


def _packed(table: Table, bed: int, spots: Sequence[Spot]) -> PackedPlate:
    shift = table.edge_mm - table.clearance_mm / 2
    placements = [
        Placement(
            id=table.items[spot.item].id,
            x_mm=round(shift + spot.x * table.step_mm + spot.option.origin_mm[0], 9) + 0.0,
            y_mm=round(shift + spot.y * table.step_mm + spot.option.origin_mm[1], 9) + 0.0,
            rotation_deg=spot.option.rotation_deg,
        )
        for spot in sorted(spots, key=lambda spot: (spot.item, spot.y, spot.x))
    ]
    kind = table.beds[bed]
    covered = sum(table.regions[spot.item].area for spot in spots)
    return PackedPlate(
        bed=kind.id,
        placements=tuple(placements),
        fill=round(covered / (kind.width_mm * kind.depth_mm), 6),
    )
