"""The search: build packings in random orders, then try to do with one plate fewer.

It asks the plates what is free and knows nothing of shapes.  All randomness comes from one
seeded generator and the end is set by counted work, so the answer depends on the input alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.nest.build import Layout, Task, build, filled
from planner.nest.squeeze import Squeeze

if TYPE_CHECKING:
    from planner.progress import Progress

BUILDS = 4
PROVEN = 4
"""Once the bound is met, the part of the work left that is spent on emptying the last plate."""


def search(task: Task, work: int, *, bound: int, progress: Progress) -> Layout:
    """Return the best packing found with an amount of work (see `Table.work`)."""
    end = task.table.work + work

    def tell(best: Layout) -> None:
        done = min(work, work - (end - task.table.work))
        progress("nest", done, work, f"{len(best.plates)} plates, bound {bound}")

    best = build(task, tries=1, spread=0.0, by_priority=True)
    tell(best)
    for number in range(BUILDS):
        if task.table.work < end:
            more = build(task, tries=3, spread=0.25, by_priority=number % 2 == 0)
            best = min(best, more, key=lambda layout: _rank(task, layout))
    tell(best)
    while task.table.work < end and _may_shrink(task, best):
        left = end - task.table.work
        if len(best.plates) <= bound:
            left //= PROVEN  # no fewer plates are possible, only a more empty last one
        attempt = Squeeze(task, best, _emptiest(task, best), task.table.work + left)
        if not attempt.run():
            best = _emptier(task, best, attempt)
            break
        best = attempt.layout()
        tell(best)
    tell(best)
    return best


def _rank(task: Task, layout: Layout) -> tuple[float, ...]:
    """Rank packings: area left over, plates, mixed priorities, loads of the emptiest plates."""
    left = sum(count * task.table.area_mm2[item] for item, count in enumerate(layout.left))
    loads = sorted(round(task.load_mm2(spots), 3) for _, spots in layout.plates)
    return (round(left, 3), len(loads), _disorder(task, layout), *loads)


def _disorder(task: Task, layout: Layout) -> float:
    """Return how mixed the priorities on each plate are: area times distance from their mean.

    Plates of one priority each can be put in order of priority; mixed ones cannot.
    """
    total = 0.0
    for _, spots in layout.plates:
        mean = task.mean_priority(spots)
        total += sum(
            task.table.area_mm2[spot.item] * abs(task.table.items[spot.item].priority - mean)
            for spot in spots
        )
    return round(total, 3)


def _may_shrink(task: Task, layout: Layout) -> bool:
    """Say whether a plate may be dissolved: all is laid, and another one is left."""
    free = any(bed not in task.always for bed, _ in layout.plates)
    return free and len(layout.plates) > 1 and not any(layout.left)


def _emptiest(task: Task, layout: Layout) -> int:
    """Return the place of the emptiest plate that may be dissolved."""
    loads = {
        place: task.load_mm2(spots)
        for place, (bed, spots) in enumerate(layout.plates)
        if bed not in task.always
    }
    return min(loads, key=lambda place: (loads[place], place))


def _emptier(task: Task, best: Layout, attempt: Squeeze) -> Layout:
    """Use the state that left least homeless, if what is homeless fits on the plate saved."""
    state = attempt.best
    if state is None:
        return best
    beds = [bed for bed, _ in best.plates]
    for bed, _ in state.plates:
        beds.remove(bed)
    plate = filled(task, beds[0], state.left, 0.0)
    pool = list(state.left)
    for spot in plate.spots:
        pool[spot.item] -= 1
    if any(pool):
        return best
    whole = Layout((*state.plates, (beds[0], tuple(plate.spots))), tuple(pool))
    return min(best, whole, key=lambda layout: _rank(task, layout))
