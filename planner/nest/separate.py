"""Pushing overlapping parts apart in one space of fixed size.

Overlaps are allowed while this goes on.  Each part that overlaps moves, in turn, to the place
and turn of least weighted depth, found on a map of the whole space; the weights of pairs that
still overlap grow, so that no local minimum holds for long.  After Egeblad, Nielsen and
Odgaard 2007, "Fast neighborhood search for two- and three-dimensional nesting problems", and
Umetani et al. 2009, "Solving the irregular strip packing problem via guided local search for
overlap minimization"; the rounds, strikes and growth of weights are those of Gardeyn, Vanden
Berghe and Wauters 2025, "An open-source heuristic to reboot 2D nesting research" (arXiv
2509.13329), with penetration depths on a grid in place of sampled positions.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence
    from random import Random

    from planner.nest.depth import Depth, Single

GROWTH_LEAST, GROWTH_MOST, DECAY = 1.2, 2.0, 0.95
BETTER = 0.98
"""As in arXiv 2509.13329, Table 2 (there: M_l, M_u, M_d and the share that counts as better)."""
SHAPES_MOST = 6
"""Of more shapes than this a part tries so many at a time, drawn anew."""
PAIR_WORK, CELLS_PER_WORK = 2, 1500
"""Adding one part's depths to a map, in steps of the search (measured)."""


class Space(Protocol):
    """What the parts lie in, and how deep shapes are in each other."""

    def depth(self, fixed: int, moving: int, /) -> Depth:
        """Return the depths of the moving shape against the fixed one."""

    def room(self, shape: int, /) -> tuple[Single, int, int] | None:
        """Return the cost of each place itself (rows, columns) and the low corner's place.

        A place that is barred costs inf; None if there is no place at all.
        """


@dataclass(frozen=True, slots=True)
class Lie:
    """How a part lies: the shape's number and its position in grid steps."""

    shape: int
    x: int
    y: int


class Separation:
    """Parts in a space.  `options[part]` are the shapes it may take; `lies[part]` is how it lies.

    `size` is the weight of a part in the sum that is brought down.  `work` counts elementary
    steps, in the same unit as `Table.work`.
    """

    def __init__(
        self,
        space: Space,
        options: Sequence[Sequence[int]],
        size: Sequence[float],
        lies: Sequence[Lie],
        random: Random,
    ) -> None:
        self.space, self.options, self.random = space, options, random
        self.size = np.asarray(size, dtype=np.float32)
        self.lies = list(lies)
        self.count = len(self.lies)
        self.work = 0
        self.depths = np.zeros((self.count, self.count), dtype=np.float32)
        self.weights = np.ones((self.count, self.count), dtype=np.float32)

    def run(self, *, rounds: int, strikes: int, until: int) -> bool:
        """Separate all parts (True), or end with the least overlap found (False).

        A try ends after so many rounds without a better state; after so many strikes (tries
        that bettered nothing), or once `work` reaches `until`, the run ends.
        """
        self.measure()
        self.weights[:] = 1.0
        best, kept = self.overlap(), list(self.lies)
        struck = 0
        while best > 0 and struck < strikes and self.work < until:
            before, idle = best, 0
            while idle < rounds and self.work < until:
                self._round()
                now = self.overlap()
                idle = 0 if now < BETTER * best else idle + 1
                if now < best:
                    best, kept = now, list(self.lies)
                if now == 0:
                    return True
                self._reweigh()
            struck = 0 if best < BETTER * before else struck + 1
            self.lies = list(kept)
            self.measure()
        return best == 0

    def overlap(self) -> float:
        """Return the sum of depths, each times the sizes of both parts."""
        return float(self.size @ self.depths @ self.size) / 2

    def measure(self) -> None:
        """Bring all lies into the space and work out all depths."""
        for part, lie in enumerate(self.lies):
            self.lies[part] = self._inside(lie)
        for part in range(self.count):
            self.depths[part] = self._depths_of(part)
        for part, lie in enumerate(self.lies):
            if self._is_barred(lie):
                self.move(part)

    def _is_barred(self, lie: Lie) -> bool:
        room = self.space.room(lie.shape)
        return room is None or not np.isfinite(room[0][lie.y - room[2], lie.x - room[1]])

    def _inside(self, lie: Lie) -> Lie:
        room = self.space.room(lie.shape)
        if room is None:
            return lie
        (rows, columns), low_x, low_y = room[0].shape, room[1], room[2]
        x = min(max(lie.x, low_x), low_x + columns - 1)
        y = min(max(lie.y, low_y), low_y + rows - 1)
        return Lie(lie.shape, x, y)

    def _round(self) -> None:
        """Move every part that overlaps, in random order."""
        hit = np.flatnonzero(self.depths.any(axis=1)).tolist()
        self.random.shuffle(hit)
        for part in hit:
            if self.depths[part].any():
                self.move(part)

    def _reweigh(self) -> None:
        share = self.depths / self.depths.max()
        grown = self.weights * (GROWTH_LEAST + (GROWTH_MOST - GROWTH_LEAST) * share)
        rested = np.maximum(1.0, DECAY * self.weights)
        self.weights = np.where(self.depths > 0, grown, rested).astype(np.float32)

    def move(self, part: int) -> None:
        """Let a part lie where its weighted depths are least, in any of its shapes."""
        weight = (self.weights[part] * self.size).tolist()
        best: tuple[float, Lie] | None = None
        shapes = self.options[part]
        if len(shapes) > SHAPES_MOST:
            shapes = [self.lies[part].shape, *self.random.sample(shapes, SHAPES_MOST - 1)]
        for shape in shapes:
            found = self._least(part, shape, weight)
            if found and (best is None or found[0] < best[0]):
                best = found
        if best is not None:
            self.lies[part] = best[1]
            self.depths[part] = self.depths[:, part] = self._depths_of(part)

    def _least(self, part: int, shape: int, weight: Sequence[float]) -> tuple[float, Lie] | None:
        """Return the least weighted depth of a part in one shape, and where."""
        room = self.space.room(shape)
        if room is None:
            return None
        cost, from_x, from_y = room[0].copy(), room[1], room[2]
        rows, columns = cost.shape
        depth, cells = self.space.depth, 0
        for other, lie in enumerate(self.lies):
            if other == part:
                continue
            steps, low_x, low_y = depth(lie.shape, shape)
            left, low = lie.x + low_x - from_x, lie.y + low_y - from_y
            high, right = low + steps.shape[0], left + steps.shape[1]
            if high <= 0 or right <= 0 or low >= rows or left >= columns:
                continue
            if low < 0 or left < 0 or high > rows or right > columns:
                y, x = max(low, 0), max(left, 0)
                high, right = min(high, rows), min(right, columns)
                steps = steps[y - low : high - low, x - left : right - left]
                low, left = y, x
            if weight[other] != 1.0:
                steps = steps * weight[other]
            cost[low:high, left:right] += steps
            cells += steps.size
        self.work += PAIR_WORK * self.count + cells // CELLS_PER_WORK + cost.size // 4000
        place = int(cost.argmin())
        row, column = divmod(place, columns)
        return float(cost[row, column]), Lie(shape, from_x + column, from_y + row)

    def _depths_of(self, part: int) -> list[float]:
        """Return how deep a part is in every other."""
        own, depth, found = self.lies[part], self.space.depth, [0.0] * self.count
        for other, lie in enumerate(self.lies):
            if other != part:
                steps, low_x, low_y = depth(lie.shape, own.shape)
                row, column = own.y - lie.y - low_y, own.x - lie.x - low_x
                if 0 <= row < steps.shape[0] and 0 <= column < steps.shape[1]:
                    found[other] = float(steps[row, column])
        return found
