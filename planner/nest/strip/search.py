"""Shrinking a strip: separate the parts in a shorter one, compact, and again.

The loop is that of Gardeyn, Vanden Berghe and Wauters 2025 (arXiv 2509.13329): where no
separation is found, start again from one of the layouts that came near it, disturbed by
swapping two large parts.  A layout separated on the grid is made exact by `compact`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.nest.separate import Lie, Separation
from planner.nest.strip.compact import Laid, compacted
from planner.nest.strip.kit import Strip
from planner.nest.strip.start import started

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from random import Random

    from planner.nest.strip.kit import Kit

# Found by trial on eight published strips, several seeds each; no source.
SHRINK, SHRINK_LEAST, SHRINK_EASED = 0.02, 0.001, 0.85
EASED_AFTER = 3  # failures in a row
ROUNDS, STRIKES = 50, 2
SIZE_POWER = 0.25
LOOSEN = 0.02


@dataclass(slots=True)
class Near:
    """A layout that came near to a separation, and how much overlap it had left."""

    overlap: float
    lies: list[Lie]


class Shrinking:
    """One run of the search; `best` is the shortest layout without overlap so far."""

    def __init__(self, kit: Kit, random: Random, until: int) -> None:
        self.kit, self.random, self.until = kit, random, until
        hull = np.array([kit.hull_mm2[item] for item in kit.parts])
        self.hull = hull.tolist()
        self.size = (hull / hull.mean()) ** SIZE_POWER
        self.options = [kit.of[item] for item in kit.parts]
        self.best: Laid | None = None
        self.shrink = SHRINK

    def run(self, tell: Callable[[Laid], None], begin: Laid | None = None) -> Laid:
        """Shrink until the work is spent; `begin` is a layout to start from."""
        self.best = begin or self._first()
        tell(self.best)
        near: list[Near] = []
        failures = 0
        while self.kit.work < self.until and len(self.options) > 1:
            target_mm = self.best.length_mm * (1 - self.shrink)
            lies = self._disturbed(near) if near else self._gridded(self.best)
            found, left = self._separated(lies, target_mm)
            if found and found.length_mm < self.best.length_mm:
                self.best, failures = found, 0
                near.clear()
                tell(self.best)
                continue
            near.append(left)
            near.sort(key=lambda one: one.overlap)
            failures += 1
            if failures % EASED_AFTER == 0 and self.shrink > SHRINK_LEAST:
                self.shrink = max(SHRINK_LEAST, SHRINK_EASED * self.shrink)
                near.clear()
        return self.best

    def _first(self) -> Laid:
        """Lay the parts one by one; loosen the strip until they come apart exactly."""
        lies = started(self.kit)
        length_mm = self._reach_mm(lies)
        found = self._compacted(lies)
        while found is None:
            length_mm *= 1 + LOOSEN
            found, _ = self._separated(lies, length_mm)
        return found

    def _reach_mm(self, lies: Sequence[Lie]) -> float:
        kit = self.kit
        return max(lie.x * kit.step_mm + float(kit.shapes[lie.shape].high_mm[0]) for lie in lies)

    def _separated(self, lies: Sequence[Lie], length_mm: float) -> tuple[Laid | None, Near]:
        """Separate the parts at a length; return the exact layout, and the one on the grid."""
        kit = self.kit
        state = Separation(Strip(kit, length_mm), self.options, self.size, lies, self.random)
        room = max(self.until - kit.work, 0)
        apart = state.run(rounds=ROUNDS, strikes=STRIKES, until=room)
        kit.work += state.work
        return self._compacted(state.lies) if apart else None, Near(state.overlap(), state.lies)

    def _compacted(self, lies: Sequence[Lie]) -> Laid | None:
        places_mm = np.array([(lie.x, lie.y) for lie in lies]) * self.kit.step_mm
        return compacted(self.kit, [lie.shape for lie in lies], places_mm, self.until)

    def _gridded(self, laid: Laid) -> list[Lie]:
        places = np.rint(laid.places_mm / self.kit.step_mm).astype(int).tolist()
        return [Lie(shape, x, y) for shape, (x, y) in zip(laid.shapes, places, strict=True)]

    def _disturbed(self, near: Sequence[Near]) -> list[Lie]:
        """Swap two large parts in one of the layouts that came nearest."""
        rank = min(len(near) - 1, int(abs(self.random.gauss(0.0, 0.25)) * len(near)))
        lies = list(near[rank].lies)
        luck = [hull * self.random.uniform(0.3, 1.0) for hull in self.hull]
        large = sorted(range(len(lies)), key=lambda part: -luck[part])
        one, other = self.random.sample(large[: max(2, len(lies) // 3)], 2)
        lies[one], lies[other] = (
            self._in_place_of(lies[one], lies[other]),
            self._in_place_of(lies[other], lies[one]),
        )
        return lies

    def _in_place_of(self, lie: Lie, other: Lie) -> Lie:
        """Return a part moved so that its middle lies where another's does."""
        own, that = (self.kit.shapes[one.shape] for one in (lie, other))
        shift = (that.low_mm + that.high_mm - own.low_mm - own.high_mm) / 2 / self.kit.step_mm
        x, y = np.rint(shift).astype(int).tolist()
        return Lie(lie.shape, other.x + x, other.y + y)
