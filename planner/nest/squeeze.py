"""One plate fewer: dissolve a plate and lay its parts on the others, by ruin and recreate.

A random plate loses some of its parts and is filled again from those and the homeless ones;
the change stays if it leaves less homeless, or a little more while the search is still warm
(threshold accepting).  Parts that stay homeless for long gain weight.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.nest.build import Layout
from planner.nest.fill import RULES, fill, shuffled_order
from planner.nest.rough import new_plate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.build import Task
    from planner.nest.plate import Plate

# Found by trial on the mixes of the benchmark, two seeds each; no source.
BLAME_EVERY = 20  # rounds
BLAME = 1.05
WARMTH = 0.15  # of the mean area of a copy
SPREAD = 0.2
RUIN_ALL = 0.2
RUIN_SHARE = (0.05, 0.3)
RUIN_NEAR = 0.7
ROUND_WORK = 20
"""What a round costs beside the forbidden-offset maps; also sees to it that rounds end."""


class Squeeze:
    """The state of one attempt; `best` is the packing that left the least area homeless."""

    def __init__(self, task: Task, start: Layout, dissolved: int, until: int) -> None:
        self.task, self.random, self.until = task, task.random, until
        self.begun = task.table.work
        self.plates = [
            new_plate(task.table, bed, spots)
            for number, (bed, spots) in enumerate(start.plates)
            if number != dissolved
        ]
        self.homeless = list(start.left)
        for spot in start.plates[dissolved][1]:
            self.homeless[spot.item] += 1
        self.blame = [1.0] * len(self.homeless)
        wanted = sum(task.wanted)
        self.typical_mm2 = self._bare(task.wanted) / wanted if wanted else 0.0
        self.best: Layout | None = None
        self._lowest = self._bare(self.homeless)

    def run(self) -> bool:
        """Go on until nothing is homeless (True) or the counted work is spent (False)."""
        if not self.plates:
            return not any(self.homeless)
        for number, plate in enumerate(self.plates):
            self._refill(plate, self.homeless)
            self.plates[number] = plate
        self._note()
        rounds = 0
        while any(self.homeless) and self.task.table.work < self.until:
            self._round()
            rounds += 1
            if rounds % BLAME_EVERY == 0:
                self._put_blame()
        return not any(self.homeless)

    def layout(self) -> Layout:
        """Return the present state."""
        return Layout(
            tuple((plate.bed, tuple(plate.spots)) for plate in self.plates), tuple(self.homeless)
        )

    def _round(self) -> None:
        """Ruin and recreate one plate; keep the change or drop it."""
        self.task.table.work += max(ROUND_WORK, len(self.task.items))
        number = self.random.randrange(len(self.plates))
        old = self.plates[number]
        new = self._ruined(old)
        pool = list(self.homeless)
        for spot in old.spots:
            pool[spot.item] += 1
        for spot in new.spots:
            pool[spot.item] -= 1
        self._refill(new, pool)
        allowed = WARMTH * self.typical_mm2 * self._heat() * self.random.random()
        if self._cost(pool) <= self._cost(self.homeless) + allowed:
            self.plates[number], self.homeless = new, pool
            self._note()

    def _note(self) -> None:
        bare = self._bare(self.homeless)
        if bare < self._lowest - 1e-9:
            self._lowest, self.best = bare, self.layout()

    def _heat(self) -> float:
        """Return 1 at the start, 0 when the work is spent."""
        return max(0.0, (self.until - self.task.table.work) / max(1, self.until - self.begun))

    def _put_blame(self) -> None:
        for item in self.task.items:
            if self.homeless[item]:
                self.blame[item] *= BLAME

    def _bare(self, pool: Sequence[int]) -> float:
        return sum(pool[item] * self.task.table.area_mm2[item] for item in self.task.items)

    def _cost(self, pool: Sequence[int]) -> float:
        area, blame = self.task.table.area_mm2, self.blame
        return sum(pool[item] * area[item] * blame[item] for item in self.task.items)

    def _ruined(self, plate: Plate) -> Plate:
        """Take some parts off: a neighbourhood, a random choice, or now and then everything."""
        count = len(plate.spots)
        draw = self.random.random()
        share = 1.0 if draw < RUIN_ALL else self.random.uniform(*RUIN_SHARE)
        size = min(count, max(1, round(share * count)))
        if draw < RUIN_NEAR and count:
            return plate.without(frozenset(self._nearest(plate)[:size]))
        return plate.without(frozenset(self.random.sample(range(count), size)))

    def _nearest(self, plate: Plate) -> list[int]:
        """Return the places of all spots, by distance from a random one."""
        centre = plate.spots[self.random.randrange(len(plate.spots))]
        away = [(spot.x - centre.x) ** 2 + (spot.y - centre.y) ** 2 for spot in plate.spots]
        return sorted(range(len(away)), key=lambda place: (away[place], place))

    def _refill(self, plate: Plate, pool: list[int]) -> None:
        """Fill up a plate from the pool (counted down)."""
        weight = [own * more for own, more in zip(self.task.weight, self.blame, strict=True)]
        order = shuffled_order(self.task.present(plate, pool), weight, self.random, SPREAD)
        fill(plate, pool, order, RULES[self.random.randrange(len(RULES))], self.random)
