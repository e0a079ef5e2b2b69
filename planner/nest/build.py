"""Packings from nothing: fill plate after plate, each the best of several random fillings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.nest.fill import RULES, fill, shuffled_order
from planner.nest.rough import new_plate

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from random import Random

    from planner.nest.cram import Depths
    from planner.nest.plate import Plate, Spot
    from planner.nest.table import Table


@dataclass(frozen=True, slots=True)
class Layout:
    """A packing inside the search: per plate the bed's number and the spots; copies left over."""

    plates: tuple[tuple[int, tuple[Spot, ...]], ...]
    left: tuple[int, ...]


class Task:
    """What is to be packed: the table, and what may lie where.

    `usable[item]` lists the beds on which an item may lie; `items` are those with any, `wanted`
    their copies (0 for the others).  `weight` is the area, more for slim items: they are hard
    to place late.  Of each of the beds `always` there is one plate in every packing, for
    copies are pinned on it.  `depths` are kept here once somebody has asked for them.
    """

    def __init__(
        self,
        table: Table,
        usable: Sequence[tuple[int, ...]],
        random: Random,
        *,
        always: frozenset[int] = frozenset(),
    ) -> None:
        self.table, self.usable, self.random, self.always = table, usable, random, always
        self.depths: Depths | None = None
        self.items = [item for item in range(len(table.items)) if usable[item]]
        self.wanted = [
            item.quantity if usable[number] else 0 for number, item in enumerate(table.items)
        ]
        self.weight = [
            area * (1.0 + 3.0 * _slimness(table, item)) for item, area in enumerate(table.area_mm2)
        ]

    def present(self, plate: Plate, pool: Sequence[int]) -> list[int]:
        """Return the items with copies in the pool that may lie on the plate's bed."""
        return [item for item in self.items if pool[item] and plate.bed in self.usable[item]]

    def load_mm2(self, spots: Sequence[Spot]) -> float:
        """Return the area that spots take up, half the clearance included."""
        return sum(self.table.area_mm2[spot.item] for spot in spots)

    def mean_priority(self, spots: Sequence[Spot]) -> float:
        """Return the area-weighted mean priority, rounded so that sums in any order agree."""
        area, items = self.table.area_mm2, self.table.items
        weighted = sum(area[spot.item] * items[spot.item].priority for spot in spots)
        return round(weighted / self.load_mm2(spots), 6) if spots else 0.0


def build(task: Task, *, tries: int, spread: float, by_priority: bool) -> Layout:
    """Fill plate after plate; each is the best of `tries` random fillings per kind of bed."""
    pool, plates = list(task.wanted), []
    counts = [bed.count for bed in task.table.beds]
    for bed in sorted(task.always):
        empty = new_plate(task.table, bed)
        fillings = list(_fillings(task, [bed], pool, tries, spread, by_priority=by_priority))
        best = max(fillings, key=lambda plate: _score(task, plate), default=empty)
        for spot in best.spots:
            pool[spot.item] -= 1
        counts[bed] = 0
        plates.append((bed, tuple(best.spots)))
    while any(pool):
        beds = [bed for bed, count in enumerate(counts) if count != 0]
        fillings = list(_fillings(task, beds, pool, tries, spread, by_priority=by_priority))
        if not fillings:
            break
        best = max(fillings, key=lambda plate: _score(task, plate))
        for spot in best.spots:
            pool[spot.item] -= 1
        count = counts[best.bed]
        counts[best.bed] = None if count is None else count - 1
        plates.append((best.bed, tuple(best.spots)))
    return Layout(tuple(plates), tuple(pool))


def filled(
    task: Task, bed: int, pool: Sequence[int], spread: float, *, by_priority: bool = False
) -> Plate:
    """Fill a new plate from the pool (left as it is) in a random order."""
    plate = new_plate(task.table, bed)
    order = shuffled_order(task.present(plate, pool), task.weight, task.random, spread)
    order.sort(key=lambda item: _precedence(task, item, bed, by_priority=by_priority))
    fill(plate, list(pool), order, RULES[task.random.randrange(len(RULES))], task.random)
    return plate


def _fillings(
    task: Task,
    beds: Sequence[int],
    pool: Sequence[int],
    tries: int,
    spread: float,
    *,
    by_priority: bool,
) -> Iterator[Plate]:
    for bed in beds:
        for _ in range(tries):
            plate = filled(task, bed, pool, spread, by_priority=by_priority)
            if plate.spots:
                yield plate


def _precedence(task: Task, item: int, bed: int, *, by_priority: bool) -> tuple[int, int]:
    """Put first what only scarce beds can carry, then (if wanted) the lower priority number."""
    scarce = task.table.beds[bed].count is not None
    return (
        len(task.usable[item]) if scarce else 0,
        task.table.items[item].priority if by_priority else 0,
    )


def _score(task: Task, plate: Plate) -> tuple[float, float]:
    """Rank fillings: large parts count a little more than their area; a small bed breaks ties."""
    room = task.table.room_mm(plate.bed)
    return sum(task.table.area_mm2[spot.item] ** 1.1 for spot in plate.spots), -room[0] * room[1]


def _slimness(table: Table, item: int) -> float:
    """Return how far an item is from a square, 0 to 1."""
    turned = table.shapes[table.options[item][0].shape]
    return 1.0 - min(turned.width_mm, turned.depth_mm) / max(turned.width_mm, turned.depth_mm)
