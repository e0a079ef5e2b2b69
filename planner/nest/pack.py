"""The packer: from items and beds to plates, checked, with a bound beside the count."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING

from planner.nest.least import least_plates
from planner.nest.model import NO_WISHES, Packing
from planner.nest.pinned import wrong_pins
from planner.nest.placing import placed
from planner.nest.result import copies_laid, left_over, plates_of
from planner.nest.runs import Run, best_layout, task_of
from planner.nest.scene import scene_of
from planner.nest.verify import verify
from planner.progress import silent
from planner.settings.groups import contradiction

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.bound import Bound
    from planner.nest.model import Bed, Item, Wishes
    from planner.nest.runs import Workers
    from planner.nest.scene import Scene
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
    wishes: Wishes = NO_WISHES,
    effort: int = EFFORT,
    seed: int = 0,
    progress: Progress = silent,
    runs: int = 1,
    workers: Workers = map,
) -> Packing:
    """Lay every copy of every item on as few plates as can be found.

    `clearance_mm` is kept between parts and `edge_mm` to the edge of the bed.  `effort` sets an
    amount of counted work, not a time: the same input, effort and seed give the same plates
    on any machine, and more effort is never worse.  There are so many `runs` of that effort, of
    which the best counts; `workers` may share them out to several cores.  Copies that fit
    nowhere, or for which there are no plates left, are in `unplaced` with the reason.  Raises
    ValueError for an impossible call (see `_checked`), be it a pin that breaks a rule.
    """
    _checked(items, beds, clearance_mm, edge_mm)
    _checked_wishes(items, beds, clearance_mm, edge_mm, wishes)
    scene = scene_of(items, beds, wishes, clearance_mm=clearance_mm, edge_mm=edge_mm)
    run = Run(
        items=scene.items,
        beds=scene.beds,
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
        terms=scene.terms,
        always=scene.always,
        work=effort * WORK_PER_EFFORT,
        bound=0,
        seed=seed,
    )
    task = task_of(run)

    def bound_of(copies: Counter[str]) -> Bound:
        return least_plates(
            [replace(item, quantity=copies[item.id]) for item in items if copies[item.id]],
            beds,
            clearance_mm=clearance_mm,
            edge_mm=edge_mm,
            wishes=wishes,
        )

    bound = bound_of(_copies_that_fit(scene, task.usable))
    run = replace(run, bound=bound.plates)
    layout = best_layout(task, run, runs, progress=progress, workers=workers)
    layout = placed(task, layout, wishes.placing)
    plates = plates_of(task, layout, scene, {item.id: item for item in items})
    if any(layout.left):  # for want of plates: only without those copies the bound is fair
        bound = bound_of(copies_laid(plates))
    packing = Packing(
        plates=plates,
        unplaced=_summed((*left_over(task, layout, scene), *scene.left_out), items),
        lower_bound=bound.plates,
        bound_by=bound.by,
    )
    wrong = verify(packing, items, beds, clearance_mm, edge_mm, wishes=wishes)
    if wrong:
        said = "; ".join(wrong[:5])
        raise RuntimeError(f"the packer broke its own rules, which is a bug of ours: {said}")
    return packing


def _copies_that_fit(scene: Scene, usable: Sequence[Sequence[int]]) -> Counter[str]:
    """Count the copies that are fixed, and those that have a bed to lie on."""
    copies = sum((plate.copies for plate in scene.fixed), Counter[str]())
    for item, own in zip(scene.items, usable, strict=True):
        if own:
            for name, count in scene.members(item.id).items():
                copies[name] += count * item.quantity
    return copies


def _summed(
    left: Sequence[tuple[str, int, str]], items: Sequence[Item]
) -> tuple[tuple[str, int, str], ...]:
    """Put what is left over in the order of the items, one entry for each reason."""
    order = {item.id: number for number, item in enumerate(items)}
    total: Counter[tuple[str, str]] = Counter()
    for name, count, why in left:
        total[name, why] += count
    entries = [(name, count, why) for (name, why), count in total.items()]
    return tuple(sorted(entries, key=lambda entry: (order[entry[0]], entry[2])))


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


def _checked_wishes(
    items: Sequence[Item],
    beds: Sequence[Bed],
    clearance_mm: float,
    edge_mm: float,
    wishes: Wishes,
) -> None:
    """Raise ValueError for wishes that name unknown things or cannot be met."""
    known = {item.id for item in items}
    named = [name for group in (*wishes.together, *wishes.apart) for name in group]
    named += [pin.id for pin in wishes.pins]
    strange = sorted(set(named) - known)
    if strange:
        raise ValueError(f"a group or pin names {strange[0]}, which is no item")
    strange = sorted({pin.bed for pin in wishes.pins} - {bed.id for bed in beds})
    if strange:
        raise ValueError(f"a pin names {strange[0]}, which is no bed")
    both = contradiction(wishes.together, wishes.apart)
    if both:
        raise ValueError(f"{both[0]} and {both[1]} must be together and apart")
    for place, wrong in wrong_pins(items, beds, wishes, clearance_mm=clearance_mm, edge_mm=edge_mm):
        raise ValueError(f"pin {place + 1}: {wrong}")
