"""One plate fewer: dissolve a plate and lay its parts on the others.

A random plate loses some of its parts and is filled again from those and the homeless ones
(ruin and recreate); once few are homeless, one of them is now and then pressed onto a plate
whose parts make room for it.  The change stays if it leaves less homeless, or a little more
while the search is still warm (threshold accepting).  Parts that stay homeless for long gain
weight.
"""

from __future__ import annotations

from math import prod
from typing import TYPE_CHECKING

from planner.nest.build import Layout
from planner.nest.cram import crammed, depths_of
from planner.nest.fill import RULES, fill, shuffled_order
from planner.nest.rough import new_plate

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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
CRAM_SHARE, CRAM_MOST = 0.15, 3
"""Share of the work for pressing parts onto plates, and the most copies homeless at that time."""
CRAM_WORK = 12_000
EXCHANGE, EXCHANGE_MOST = 0.3, 0.7
ROUND_WORK = 20
"""What a round costs beside the forbidden-offset maps; also sees to it that rounds end."""


class Squeeze:
    """The state of one attempt, which cools down until `until` and ends at `end` at the latest."""

    def __init__(self, task: Task, start: Layout, dissolved: int, until: int, end: int) -> None:
        self.task, self.random, self.until, self.end = task, task.random, until, min(until, end)
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
        self._lowest = self._bare(self.homeless)
        self._depths, self._crammed = depths_of(task), 0

    def states(self) -> Iterator[Layout]:
        """Yield every state that leaves less area homeless than all before it.

        The last one may leave nothing; otherwise they end when the counted work is spent.
        """
        for plate in self.plates:
            self._refill(plate, self.homeless)
        rounds = 0
        while True:
            bare = self._bare(self.homeless)
            if bare < self._lowest - 1e-9 or not any(self.homeless):
                self._lowest = bare
                yield self.layout()
            if not (self.plates and any(self.homeless) and self.task.table.work < self.end):
                return
            self._round()
            rounds += 1
            if rounds % BLAME_EVERY == 0:
                self._put_blame()

    def layout(self) -> Layout:
        """Return the present state."""
        return Layout(
            tuple((plate.bed, tuple(plate.spots)) for plate in self.plates), tuple(self.homeless)
        )

    def _round(self) -> None:
        """Change one plate; keep the change or drop it."""
        self.task.table.work += max(ROUND_WORK, len(self.task.items))
        table = self.task.table
        few = self._depths and sum(self.homeless) <= CRAM_MOST
        if few and self._crammed < CRAM_SHARE * (table.work - self.begun):
            before = table.work
            self._cram()
            self._crammed += table.work - before
        else:
            self._recreate()

    def _cram(self) -> None:
        """Press a homeless part onto a plate, now and then in exchange for a smaller one."""
        area = self.task.table.area_mm2
        owed = [item for item in self.task.items if self.homeless[item]]
        owing = [self.homeless[item] * area[item] * self.blame[item] for item in owed]
        item = self.random.choices(owed, owing)[0]
        number = self._roomy(item)
        if number is None or self._depths is None:
            return
        plate = self.plates[number]
        gone = self._in_exchange(plate, item)
        if gone is None or not (trimmed := plate.without(gone)).allows(item):
            return
        until = min(self.end, self.task.table.work + CRAM_WORK)
        new = crammed(self._depths, trimmed, item, self.random, until)
        if new is not None:
            pool = list(self.homeless)
            pool[item] -= 1
            for place in gone:
                pool[plate.spots[place].item] += 1
            self._refill(new, pool)
            self._take(number, new, pool)

    def _roomy(self, item: int) -> int | None:
        """Draw a plate that an item may lie on: the emptier, the likelier."""
        able = [n for n, plate in enumerate(self.plates) if plate.bed in self.task.usable[item]]
        rooms = [max(1.0, self._spare_mm2(self.plates[number])) ** 3 for number in able]
        return self.random.choices(able, rooms)[0] if able else None

    def _spare_mm2(self, plate: Plate) -> float:
        return prod(self.task.table.room_mm(plate.bed)) - plate.area_mm2()

    def _in_exchange(self, plate: Plate, item: int) -> frozenset[int] | None:
        """Draw what has to leave a plate for an item: nothing or a smaller part; None if no use."""
        area = self.task.table.area_mm2
        lack = area[item] - self._spare_mm2(plate)
        if lack <= 0 and self.random.random() > EXCHANGE:
            return frozenset()
        smaller = [
            place
            for place, spot in enumerate(plate.spots)
            if max(lack, 0.0) <= area[spot.item] < EXCHANGE_MOST * area[item]
        ]
        return frozenset([self.random.choice(smaller)]) if smaller else None

    def _recreate(self) -> None:
        """Ruin and recreate one plate."""
        number = self.random.randrange(len(self.plates))
        old = self.plates[number]
        new = self._ruined(old)
        pool = list(self.homeless)
        for spot in old.spots:
            pool[spot.item] += 1
        for spot in new.spots:
            pool[spot.item] -= 1
        self._refill(new, pool)
        self._take(number, new, pool)

    def _take(self, number: int, new: Plate, pool: list[int]) -> None:
        """Take a changed plate and what is then homeless, unless it is too much worse."""
        allowed = WARMTH * self.typical_mm2 * self._heat() * self.random.random()
        if self._cost(pool) <= self._cost(self.homeless) + allowed:
            self.plates[number], self.homeless = new, pool

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
