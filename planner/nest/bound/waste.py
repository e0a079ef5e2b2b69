"""The bound by weighted ground: holes that nothing can fill, edges that nothing can cover.

The weights come from a linear program in floating point.  What they prove is worked out anew
in whole numbers and fractions: weights are rounded to integers, what an item covers is counted
in whole 256ths of cells, and only then is the number of plates drawn from it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, inf
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.nest.bound.count import by_counts
from planner.nest.bound.form import TURNS_MOST, form_of, turned_about_low
from planner.nest.bound.mass import Ground, Mover
from planner.nest.bound.master import Master
from planner.nest.bound.raster import raster
from planner.nest.bound.site import hole_site, plate_site
from planner.nest.memory import Store
from planner.nest.obstacles import keep_out_regions
from planner.nest.shape import turned_region

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from planner.nest.bound.form import Form, Hole
    from planner.nest.bound.mass import Spectrum
    from planner.nest.bound.master import Weights
    from planner.nest.bound.problem import Problem
    from planner.nest.bound.raster import Cell, Raster, Shares
    from planner.nest.bound.site import Site
    from planner.nest.outline import Outline

MOVERS_MOST = 120
"""Turned shapes that are shifted over plates: those of further items count by area alone."""
ROUNDS_MOST = 40
HOLE_MOVERS_MOST, HOLE_SITES_MOST = 400, 12
"""In further holes, those that take up least, what lies there counts by area alone as well."""
MARGIN = Fraction(1, 10**6)
_TOUCH = 1e-6
_CORNERS = 64

_known: Store[tuple[Hashable, ...], int] = Store(4_000_000)
_FINE = 2**18
"""Weights are rounded to multiples of this share of the heaviest."""


@dataclass(frozen=True, slots=True)
class _Kind:
    """An item with copies to lay, and the turns that a person allows (None: any)."""

    outline: Outline
    radius_mm: float
    turns: tuple[float, ...] | None
    copies: int
    beds: frozenset[int]

    @property
    def form(self) -> Form:
        """The item grown and filled up."""
        return form_of(self.outline, self.radius_mm)

    @property
    def key(self) -> tuple[Hashable, ...]:
        """What tells kinds apart."""
        return self.outline.key, self.turns, self.copies, tuple(sorted(self.beds))


@dataclass(frozen=True, slots=True)
class _Lay:
    """One kind on one site: its turns there; without any it counts by area alone."""

    kind: int
    movers: tuple[Mover, ...]


def least_by_waste(
    problem: Problem, inside: Sequence[int], group: Sequence[int], *, known: int
) -> int:
    """Return how few plates of a group of beds could hold the items that lie on no others.

    `known` is what other arguments give; no less is returned, and work on less is saved.  Holes
    of items that may lie elsewhere too do not matter.
    """
    kinds = [_kind(problem, number) for number in inside]
    beds = tuple(problem.beds[bed] for bed in group)
    key = (tuple(kind.key for kind in kinds), beds, problem.clearance_mm, problem.edge_mm, known)
    found = _known.get(key)
    if found is None:
        found = known
        if inside and _easily(problem, inside, group) > known:
            weighing = weighing_of(problem, inside, group)
            found = weighing.plates(known) if weighing else known
        _known.put(key, found, 200 * len(kinds) + 1000)
    return found


def weighing_of(problem: Problem, inside: Sequence[int], group: Sequence[int]) -> Weighing | None:
    """Return all places and who can lie there; None if there is nothing to lay or no place."""
    present = [bed for bed in group if problem.beds[bed].count != 0]
    sites = [
        (site, bed)
        for bed in present
        for site in (_plate(problem, bed, alone=len(present) == 1),)
        if site is not None
    ]
    kinds = [_kind(problem, number) for number in inside]
    return Weighing(kinds, sites, problem.clearance_mm / 2) if sites and kinds else None


def _kind(problem: Problem, number: int) -> _Kind:
    turns = problem.items[number].rotations_deg
    fixed = number not in problem.free and len(turns) <= TURNS_MOST
    return _Kind(
        problem.solid[number],
        problem.clearance_mm / 2,
        turns if fixed else None,
        problem.items[number].quantity,
        problem.allowed[number],
    )


def _plate(problem: Problem, bed: int, *, alone: bool) -> Site | None:
    return plate_site(
        problem.beds[bed],
        clearance_mm=problem.clearance_mm,
        edge_mm=problem.edge_mm,
        alone=alone,
    )


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
    """The sites, who can lie on which, and the search for weights."""

    def __init__(
        self, kinds: Sequence[_Kind], plates: Sequence[tuple[Site, int]], radius_mm: float
    ) -> None:
        self.kinds, self._radius_mm = kinds, radius_mm
        self._sizes: dict[tuple[int, float], tuple[float, float]] = {}
        self.area_mm2 = [kind.form.area_mm2 for kind in kinds]
        self.grounds: list[Ground] = []
        self.lays: list[list[_Lay]] = []
        left = MOVERS_MOST
        for site, bed in plates:
            ground = Ground(site)
            self.grounds.append(ground)
            lays = self._on_plate(ground, bed, left)
            self.lays.append(lays)
            left -= sum(len(lay.movers) for lay in lays)
        left, full = HOLE_MOVERS_MOST, HOLE_SITES_MOST
        for number, hole in self._holes():
            guests = self._guests(number, hole)
            plain = full <= 0 or left <= 0
            site = hole_site(hole, number, kinds[number].copies * hole.copies, plain=plain)
            ground = Ground(site)
            lays = [_Lay(guest, ()) for guest in guests] if plain else []
            if guests and not plain:
                lays = self._in_hole(ground, number, guests)
                left -= sum(len(lay.movers) for lay in lays)
                full -= 1
            if lays:
                self.grounds.append(ground)
                self.lays.append(lays)

    def _on_plate(self, ground: Ground, bed: int, left: int) -> list[_Lay]:
        """Shift the kinds that make up most of the area; the others count by area alone."""
        lays = []
        for number in self._heaviest():
            kind = self.kinds[number]
            if bed not in kind.beds:
                continue
            movers: tuple[Mover, ...] = ()
            if left > 0:
                movers = self._movers(ground, kind, kind.turns)
                left -= len(movers)
            lays.append(_Lay(number, movers))
        return lays

    def _holes(self) -> list[tuple[int, Hole]]:
        """Return all holes with the kinds they are in, those that take up most first."""
        holes = [
            (number, place, hole)
            for number, kind in enumerate(self.kinds)
            for place, hole in enumerate(kind.form.holes)
        ]
        holes.sort(
            key=lambda one: (
                -self.kinds[one[0]].copies * one[2].copies * one[2].region.area,
                one[:2],
            )
        )
        return [(number, hole) for number, _, hole in holes]

    def _size(self, number: int, turn: float) -> tuple[float, float]:
        found = self._sizes.get((number, turn))
        if found is None:
            found = self._sizes[number, turn] = _size(
                self.kinds[number].form, turn, self._radius_mm
            )
        return found

    def _guests(self, outer: int, hole: Hole) -> list[int]:
        """Return the kinds that might lie in a hole, by their area and their extents."""
        _, _, wide, deep = hole.region.bounds
        guests = []
        for number in self._heaviest():
            inner = self.kinds[number]
            turns = _relative(inner.turns, self.kinds[outer].turns)
            fits = inner.form.least_mm2 <= hole.region.area + _TOUCH and inner.copies > 0
            if fits and turns is not None:
                fits = any(
                    size[0] <= wide + _TOUCH and size[1] <= deep + _TOUCH
                    for turn in turns
                    for size in (self._size(number, turn),)
                )
            if fits:
                guests.append(number)
        return guests

    def _in_hole(self, ground: Ground, outer: int, guests: Sequence[int]) -> list[_Lay]:
        """Return the kinds that find a place in a hole of another."""
        lays = []
        for number in guests:
            inner = self.kinds[number]
            turns = _relative(inner.turns, self.kinds[outer].turns)
            movers = self._movers(ground, inner, turns)
            if movers:
                lays.append(_Lay(number, movers))
        return lays

    def _heaviest(self) -> list[int]:
        weight = [kind.copies * area for kind, area in zip(self.kinds, self.area_mm2, strict=True)]
        return sorted(range(len(weight)), key=lambda number: (-weight[number], number))

    def _movers(
        self, ground: Ground, kind: _Kind, turns: tuple[float, ...] | None
    ) -> tuple[Mover, ...]:
        """Return the different turns of a kind that fit on a site."""
        found: dict[bytes, Mover] = {}
        cell_mm = ground.site.cell_mm
        shapes = (
            [_disc(kind.form, cell_mm)]
            if turns is None
            else [_turned(kind.form, turn, self._radius_mm, cell_mm) for turn in turns]
        )
        for shape, bare in shapes:
            key = shape.share.tobytes() + repr(shape.size_mm).encode()
            if key not in found:
                found[key] = Mover(ground, shape, bare)
        return tuple(mover for mover in found.values() if mover.fits)

    def plates(self, known: int) -> int:
        """Return the most plates that any weights found prove necessary, or `known` if more."""
        master = Master([kind.copies for kind in self.kinds], self.area_mm2, self.grounds)
        places = [
            (number, lay, mover)
            for number, lays in enumerate(self.lays)
            for lay in lays
            for mover in lay.movers
        ]
        seen = set()
        for number, lays in enumerate(self.lays):
            for lay in lays:
                if not lay.movers:
                    master.cut(lay.kind, number, None, None)
        nothing = Tried.of(self.grounds, None)
        for place, (number, lay, mover) in enumerate(places):
            _, spot = mover.least(nothing.spectra[number])
            seen.add((place, spot))
            master.cut(lay.kind, number, mover, spot)
        best, before = known, None
        for turn in range(ROUNDS_MOST):
            weights = master.solve()
            if weights is None or ceil(weights.value - MARGIN) <= best:
                break
            tried = Tried.of(self.grounds, weights, before if turn % 2 else None)
            before = tried
            fresh = False
            least: list[dict[int, int]] = [{} for _ in self.grounds]
            for place, (number, lay, mover) in enumerate(places):
                extra, spot = mover.least(tried.spectra[number])
                if (place, spot) not in seen and tried.lacks(lay.kind, number, extra, self):
                    seen.add((place, spot))
                    master.cut(lay.kind, number, mover, spot)
                    fresh = True
                own = least[number]
                own[lay.kind] = min(extra, own.get(lay.kind, extra))
            best = max(best, self.proven(tried, least))
            if not fresh and not turn % 2:
                break
        return best

    def proven(self, tried: Tried, least: Sequence[dict[int, int]]) -> int:
        """Return the plates that a set of whole-number weights proves, in exact arithmetic."""
        worth = [Fraction(tried.worth[kind]) for kind in range(len(self.kinds))]
        covered = [
            {
                lay.kind: tried.covered(number, self.area_mm2[lay.kind], own.get(lay.kind, 0))
                for lay in lays
            }
            for number, (lays, own) in enumerate(zip(self.lays, least, strict=True))
        ]
        inner = {
            lay.kind
            for ground, lays in zip(self.grounds, self.lays, strict=True)
            if ground.site.inside is not None
            for lay in lays
        }
        rooms, counts = [], []
        for kind in range(len(worth)):
            own_plates = [
                sums[kind]
                for ground, sums in zip(self.grounds, covered, strict=True)
                if ground.site.inside is None and kind in sums
            ]
            most = min(own_plates, default=Fraction(0))
            worth[kind] = min(worth[kind], most) if kind in inner else most
        total = sum(
            (kind.copies * value for kind, value in zip(self.kinds, worth, strict=True)),
            Fraction(0),
        )
        for number, ground in enumerate(self.grounds):
            site = ground.site
            if site.inside is None:
                rooms.append(tried.weight(number))
                counts.append(site.count)
            elif self.lays[number]:
                total -= (site.count or 0) * self._held(tried, number, worth, covered[number])
        return by_counts(total, rooms, counts)

    def _held(
        self,
        tried: Tried,
        number: int,
        worth: Sequence[Fraction],
        covered: Mapping[int, Fraction],
    ) -> Fraction:
        """Return the most that what lies in a hole is worth: by its weights, or by its area."""
        site = self.grounds[number].site
        kinds = [lay.kind for lay in self.lays[number] if worth[lay.kind] > 0]
        by_area = max((worth[kind] / Fraction(self.area_mm2[kind]) for kind in kinds), default=0)
        most = Fraction(site.area_mm2) * by_area
        if all(covered[kind] > 0 for kind in kinds):
            share = max((worth[kind] / covered[kind] for kind in kinds), default=Fraction(0))
            most = min(most, share * tried.weight(number))
        return most


@dataclass(frozen=True, slots=True, eq=False)
class Tried:
    """Weights as whole numbers, `everywhere` and `extra` (blocks,), with their spectra."""

    grounds: Sequence[Ground]
    worth: tuple[float, ...]
    everywhere: tuple[int, ...]
    extra: tuple[Shares, ...]
    spectra: tuple[tuple[Spectrum, Spectrum], ...]

    @staticmethod
    def of(
        grounds: Sequence[Ground], weights: Weights | None, before: Tried | None = None
    ) -> Tried:
        """Round weights, or the mean of them and those tried before; None stands for none."""
        if weights is None:
            everywhere = tuple(0 for _ in grounds)
            extra = tuple(np.zeros(ground.blocks, dtype=np.int64) for ground in grounds)
            worth: tuple[float, ...] = ()
        else:
            heaviest = max(
                even + float(more.max())
                for even, more in zip(weights.everywhere, weights.extra, strict=True)
            )
            fine = _FINE / heaviest
            everywhere = tuple(int(even * fine) for even in weights.everywhere)
            extra = tuple(np.floor(more * fine).astype(np.int64) for more in weights.extra)
            worth = tuple(float(value) * fine for value in weights.worth)
            if before is not None:
                everywhere = tuple(
                    (a + b) // 2 for a, b in zip(everywhere, before.everywhere, strict=True)
                )
                extra = tuple((a + b) // 2 for a, b in zip(extra, before.extra, strict=True))
        spectra = tuple(
            ground.spread(more.astype(np.float64))
            for ground, more in zip(grounds, extra, strict=True)
        )
        return Tried(grounds, worth, everywhere, extra, spectra)

    def covered(self, number: int, area_mm2: float, extra: int) -> Fraction:
        """Return what an item weighs on a site: by its area, and what it covers besides."""
        unit = Fraction(self.grounds[number].site.unit_mm2)
        return Fraction(area_mm2) * self.everywhere[number] + extra * unit

    def weight(self, number: int) -> Fraction:
        """Return what all of a site weighs."""
        ground = self.grounds[number]
        unit = Fraction(ground.site.unit_mm2)
        heavy = sum(
            int(more) * int(most)
            for more, most in zip(self.extra[number], ground.most, strict=True)
        )
        return Fraction(ground.site.area_mm2) * self.everywhere[number] + heavy * unit

    def lacks(self, kind: int, number: int, extra: int, of: Weighing) -> bool:
        """Say whether a kind covers less than it is held to be worth."""
        return float(self.covered(number, of.area_mm2[kind], extra)) < self.worth[kind] * (1 - 1e-7)


def _relative(
    inner: tuple[float, ...] | None, outer: tuple[float, ...] | None
) -> tuple[float, ...] | None:
    """Return the turns of an item as seen from another that it lies in; None for any."""
    if inner is None or outer is None:
        return None
    turns = sorted({(one - other) % 360.0 for one in inner for other in outer})
    return tuple(turns) if len(turns) <= TURNS_MOST else None


def _size(form: Form, angle: float, radius_mm: float) -> tuple[float, float]:
    low_x, low_y, high_x, high_y = turned_region(form.bare, angle).bounds
    return high_x - low_x + 2 * radius_mm, high_y - low_y + 2 * radius_mm


def _turned(form: Form, angle: float, radius_mm: float, cell_mm: Cell) -> tuple[Raster, Raster]:
    low_x, low_y, _, _ = turned_region(form.bare, angle).bounds
    size = _size(form, angle, radius_mm)
    filled, bare = (
        raster(
            turned_about_low(form, angle, bare=bare, low_mm=(low_x - radius_mm, low_y - radius_mm)),
            size,
            cell_mm,
        )
        for bare in (False, True)
    )
    return filled, bare


def _disc(form: Form, cell_mm: Cell) -> tuple[Raster, None]:
    radius = form.disc[2]
    angles = 2 * np.pi * np.arange(_CORNERS) / _CORNERS
    corners = radius * (1 + np.column_stack([np.cos(angles), np.sin(angles)]))
    return raster(shapely.Polygon(corners), (2 * radius, 2 * radius), cell_mm), None
