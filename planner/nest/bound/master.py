"""The best weights for the ground, by linear programming with cuts.

Give the ground of a plate weights that sum to 1.  If copies of item i cover at least w_i
wherever they lie, no plate holds copies whose w sum to more than 1, so the plates number at
least the sum of w over all copies.  That is the dual of laying fractions of copies so that no
point is covered more than once; uniform weights give the area bound, weights on single points
the conservative scales of Fekete and Schepers, "A general framework for bounds for
higher-dimensional orthogonal packing problems", Math. Methods of Operations Research 60 (2004)
311-329.  A hole counts as a place of its own that holds at most so much as it weighs; the item
around it covers it, and pays for what may lie in it.

Positions are added where an item covers too little (the cutting-plane method of Kelley, 1960)
until the wanted number of plates is certain or out of reach.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.nest.bound.mass import Ground, Mover, Spot

    Floats = NDArray[np.float64]

_DEAREST = 50.0
"""What a plate of a counted kind may weigh at most: keeps the program bounded."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weights:
    """An answer: `worth` (kinds,), and per site the weight per mm2 everywhere and in each block.

    `value` is the number of plates that no other weights can beat, as far as is known.
    """

    value: float
    worth: Floats
    everywhere: tuple[float, ...]
    extra: tuple[Floats, ...]


class Master:
    """The program with the cuts found so far: worths, then per site its weights and its price."""

    def __init__(
        self, copies: Sequence[int], area_mm2: Sequence[float], grounds: Sequence[Ground]
    ) -> None:
        self._grounds, self._area = grounds, np.array(area_mm2)
        self._scale = max(ground.site.area_mm2 for ground in grounds)
        self._first = np.cumsum(
            [len(copies), *(2 + ground.blocks + len(ground.joints) for ground in grounds)]
        )
        self._cost = np.zeros(self._first[-1])
        self._cost[: len(copies)] = -np.array(copies, dtype=np.float64)
        self._high = np.full(self._first[-1], np.inf)
        self._plates: list[Floats] = []
        self._cuts: list[Floats] = []
        for number, ground in enumerate(grounds):
            first, site = self._first[number], ground.site
            weighs = np.append(site.area_mm2, ground.most * site.unit_mm2) / self._scale
            price = self._first[number + 1] - 1
            behind = first + 1 + ground.blocks
            self._high[price] = _DEAREST if site.inside is None and site.count is not None else 0.0
            if site.inside is None:
                row = np.zeros(self._first[-1])
                row[first:behind], row[price] = weighs, -1.0
                self._plates.append(row)
                self._cost[price] = site.count or 0
            elif site.count is not None:
                self._cost[first:behind] = site.count * weighs
            self._join(ground, first + 1)

    def _join(self, ground: Ground, first: int) -> None:
        """Demand that a joint weighs no more than each of its blocks."""
        for number, blocks in enumerate(ground.joints):
            for block in sorted(set(blocks.tolist())):
                row = np.zeros(self._first[-1])
                row[first + ground.blocks + number], row[first + block] = 1.0, -1.0
                self._cuts.append(row)

    def cut(self, kind: int, number: int, mover: Mover | None, spot: Spot | None) -> None:
        """Demand that a kind is worth no more than what it covers at a spot, or by its area."""
        first, ground = self._first[number], self._grounds[number]
        row = np.zeros(self._first[-1])
        row[kind] = 1.0
        row[first] = -self._area[kind] / self._scale
        if mover is not None and spot is not None:
            covered = mover.by_block(spot) * ground.site.unit_mm2
            row[first + 1 : first + 1 + len(covered)] = -covered / self._scale
        self._cuts.append(row)

    def solve(self) -> Weights | None:
        """Return the best weights under the cuts, or None if the solver finds none."""
        found = linprog(  # type: ignore[call-overload]  # its types know no sparse matrices
            self._cost,
            A_ub=csr_matrix(np.array([*self._plates, *self._cuts])),
            b_ub=np.concatenate([np.ones(len(self._plates)), np.zeros(len(self._cuts))]),
            bounds=list(zip(np.zeros(len(self._high)).tolist(), self._high.tolist(), strict=True)),
            method="highs",
        )
        if found.status != 0:
            return None
        x = np.maximum(found.x, 0.0)
        firsts = self._first[:-1]
        return Weights(
            value=-float(found.fun),
            worth=x[: firsts[0]],
            everywhere=tuple(float(x[first]) / self._scale for first in firsts),
            extra=tuple(
                x[first + 1 : first + 1 + ground.blocks] / self._scale
                for first, ground in zip(firsts, self._grounds, strict=True)
            ),
        )
