"""The bound by weighted ground: holes that nothing can fill, edges that nothing can cover.

The weights come from a linear program in floating point.  What they prove is worked out anew
in whole numbers and fractions: weights are rounded to integers, what an item covers is counted
in whole 256ths of cells, and only then is the number of plates drawn from it.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, inf
from typing import TYPE_CHECKING

import numpy as np

from planner.nest.bound.count import by_counts
from planner.nest.bound.kind import kind_of
from planner.nest.bound.master import Master
from planner.nest.bound.places import places_of
from planner.nest.bound.tried import Tried
from planner.nest.memory import Store
from planner.nest.obstacles import keep_out_regions

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from planner.nest.bound.mass import Spot
    from planner.nest.bound.places import Places
    from planner.nest.bound.problem import Problem

ROUNDS_MOST = 40
MARGIN = Fraction(1, 10**6)

_known: Store[tuple[Hashable, ...], int] = Store(4_000_000)


def least_by_waste(
    problem: Problem, inside: Sequence[int], group: Sequence[int], *, known: int
) -> int:
    """Return how few plates of a group of beds could hold the items that lie on no others.

    `known` is what other arguments give; no less is returned, and work on less is saved.  Holes
    of items that may lie elsewhere too do not matter.
    """
    kinds = [kind_of(problem, number) for number in inside]
    beds = tuple(problem.beds[bed] for bed in group)
    key = (tuple(kind.key for kind in kinds), beds, problem.clearance_mm, problem.edge_mm, known)
    found = _known.get(key)
    if found is None:
        found = known
        if inside and _easily(problem, inside, group) > known:
            places = places_of(problem, inside, group)
            found = Weighing(places).plates(known) if places else known
        _known.put(key, found, 200 * len(kinds) + 1000)
    return found


def _easily(problem: Problem, inside: Sequence[int], group: Sequence[int]) -> float:
    """Return how many plates certainly do: on a plain kind of bed, each item boxed on its own.

    No weights can prove more (fractions of plates are laid there, and rounded up at the end).
    """
    plain = [
        problem.beds[bed]
        for bed in group
        if problem.beds[bed].count is None and not keep_out_regions(problem.beds[bed])
    ]
    more = problem.clearance_mm - 2 * problem.edge_mm
    best = inf
    for bed in plain:
        room = np.array([bed.width_mm + more, bed.depth_mm + more])
        plates = 0.0
        for item in inside:
            sizes = problem.solid[item].extents_mm(problem.items[item].rotations_deg)
            most = int((room // (sizes + problem.clearance_mm)).prod(axis=1).max())
            plates += problem.items[item].quantity / most if most else inf
        best = min(best, plates)
    return best if best == inf else float(ceil(best - 1e-6))


class Weighing:
    """The search for the weights that prove most."""

    def __init__(self, places: Places) -> None:
        self._places = places
        copies = [kind.copies for kind in places.kinds]
        self._master = Master(copies, places.area_mm2, places.grounds)
        self._moving = [
            (number, lay, mover)
            for number, lays in enumerate(places.lays)
            for lay in lays
            for mover in lay.movers
        ]
        self._seen: set[tuple[int, Spot]] = set()

    def plates(self, known: int) -> int:
        """Return the most plates that any weights found prove necessary, or `known` if more."""
        self._begin()
        best, before = known, None
        for turn in range(ROUNDS_MOST):
            weights = self._master.solve()
            if weights is None or ceil(weights.value - MARGIN) <= best:
                break
            # Every other time the mean with the weights before: plain cuts alone swing about.
            before = Tried.of(self._places.grounds, weights, before if turn % 2 else None)
            least, fresh = self._cut(before)
            best = max(best, proven(self._places, before, least))
            if not (fresh or turn % 2):
                break
        return best

    def _begin(self) -> None:
        """Add a first position for everything: weights would be without bounds."""
        for number, lays in enumerate(self._places.lays):
            for lay in lays:
                if not lay.movers:
                    self._master.cut(lay.kind, number, None, None)
        nothing = Tried.of(self._places.grounds, None)
        for place, (number, lay, mover) in enumerate(self._moving):
            _, spot = mover.least(nothing.spectra[number])
            self._seen.add((place, spot))
            self._master.cut(lay.kind, number, mover, spot)

    def _cut(self, tried: Tried) -> tuple[list[dict[int, int]], bool]:
        """Add positions that cover too little; return the least by site and kind, and if any."""
        least: list[dict[int, int]] = [{} for _ in self._places.grounds]
        fresh = False
        for place, (number, lay, mover) in enumerate(self._moving):
            extra, spot = mover.least(tried.spectra[number])
            area_mm2 = self._places.area_mm2[lay.kind]
            if (place, spot) not in self._seen and tried.lacks(lay.kind, number, extra, area_mm2):
                self._seen.add((place, spot))
                self._master.cut(lay.kind, number, mover, spot)
                fresh = True
            own = least[number]
            own[lay.kind] = min(extra, own.get(lay.kind, extra))
        return least, fresh


def proven(places: Places, tried: Tried, least: Sequence[Mapping[int, int]]) -> int:
    """Return the plates that whole-number weights prove, in exact arithmetic.

    `least` gives, for each site, what each kind covers at least of the weights of blocks.
    """
    covered = [
        {
            lay.kind: tried.covered(number, places.area_mm2[lay.kind], own.get(lay.kind, 0))
            for lay in lays
        }
        for number, (lays, own) in enumerate(zip(places.lays, least, strict=True))
    ]
    worth = _worths(places, tried, covered)
    copies = [kind.copies for kind in places.kinds]
    total = sum((n * value for n, value in zip(copies, worth, strict=True)), Fraction(0))
    rooms, counts = [], []
    for number, ground in enumerate(places.grounds):
        if ground.site.inside is None:
            rooms.append(tried.weight(number))
            counts.append(ground.site.count)
        else:
            held = _held(places, tried, number, worth, covered[number])
            total -= (ground.site.count or 0) * held
    return by_counts(total, rooms, counts)


def _worths(
    places: Places, tried: Tried, covered: Sequence[Mapping[int, Fraction]]
) -> list[Fraction]:
    """Return what a copy of each kind covers on any plate; no more than planned if it hides."""
    plates = [
        own
        for ground, own in zip(places.grounds, covered, strict=True)
        if ground.site.inside is None
    ]
    hiding = {
        lay.kind
        for ground, lays in zip(places.grounds, places.lays, strict=True)
        if ground.site.inside is not None
        for lay in lays
    }
    worth = []
    for kind in range(len(places.kinds)):
        least = min((own[kind] for own in plates if kind in own), default=Fraction(0))
        worth.append(min(least, Fraction(tried.worth[kind])) if kind in hiding else least)
    return worth


def _held(
    places: Places,
    tried: Tried,
    number: int,
    worth: Sequence[Fraction],
    covered: Mapping[int, Fraction],
) -> Fraction:
    """Return the most that what lies in a hole is worth: by its weights, or by its area."""
    kinds = [lay.kind for lay in places.lays[number] if worth[lay.kind] > 0]
    by_area = max((worth[kind] / Fraction(places.area_mm2[kind]) for kind in kinds), default=0)
    most = Fraction(places.grounds[number].site.area_mm2) * by_area
    if all(covered[kind] > 0 for kind in kinds):
        share = max((worth[kind] / covered[kind] for kind in kinds), default=Fraction(0))
        most = min(most, share * tried.weight(number))
    return most
