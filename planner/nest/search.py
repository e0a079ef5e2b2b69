"""The search: build packings in random orders, then try to do with one plate fewer.

It asks the plates what is free and knows nothing of shapes.  All randomness comes from one
seeded generator and the end is set by counted work, so the answer depends on the input alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.nest.build import Layout, Task, build, filled
from planner.nest.squeeze import Squeeze

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.progress import Progress

BUILDS = 4
RUNG = 250_000
"""Work of the first attempt at one plate fewer; each further one has twice as much."""
PROVEN = 3
"""Once the bound is met, only a more empty last plate can be won: this share of the work done
so far is spent on that (one third)."""


def search(task: Task, work: int, *, bound: int, progress: Progress) -> Layout:
    """Return the best packing found with an amount of work (see `Table.work`).

    More work goes on where less would have ended, so it never gives a worse packing.
    """
    end = task.table.work + work

    def tell(best: Layout) -> None:
        done = min(work, work - (end - task.table.work))
        progress("nest", done, work, f"{len(best.plates)} plates, bound {bound}")

    best = build(task, tries=1, spread=0.0, by_priority=True)
    tell(best)
    for number in range(BUILDS):
        if task.table.work < end:
            more = build(task, tries=3, spread=0.25, by_priority=number % 2 == 0)
            best = min(best, more, key=lambda layout: rank(task, layout))
    tell(best)
    begun, rung, proven = end - work, RUNG, False
    while task.table.work < end and _may_shrink(task, best):
        if len(best.plates) <= bound and not proven:
            end = min(end, task.table.work + (task.table.work - begun) // PROVEN)
            proven = True
        best, fewer = _attempt(task, best, rung, end, tell)
        rung = rung if fewer else 2 * rung
    tell(best)
    return best


def _attempt(
    task: Task, best: Layout, rung: int, end: int, tell: Callable[[Layout], None]
) -> tuple[Layout, bool]:
    """Try to do with one plate fewer; return the best packing, and whether it has fewer.

    Whatever brings down what is homeless may also give the same plates with an emptier last.
    """
    attempt = Squeeze(task, best, _emptiest(task, best), task.table.work + rung, end)
    kept = best
    for state in attempt.states():
        if not any(state.left):
            tell(state)
            return state, True
        tell(kept)
        kept = _emptier(task, best, kept, state)
    return kept, False


def rank(task: Task, layout: Layout) -> tuple[float, ...]:
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


def _emptier(task: Task, start: Layout, best: Layout, state: Layout) -> Layout:
    """Return the better of two: the best, and a state whose homeless are laid on the plate saved.

    `start` is the packing that the state came from, by dissolving a plate.
    """
    beds = [bed for bed, _ in start.plates]
    for bed, _ in state.plates:
        beds.remove(bed)
    plate = filled(task, beds[0], state.left, 0.0)
    pool = list(state.left)
    for spot in plate.spots:
        pool[spot.item] -= 1
    if any(pool):
        return best
    whole = Layout((*state.plates, (beds[0], tuple(plate.spots))), tuple(pool))
    return min(best, whole, key=lambda layout: rank(task, layout))
