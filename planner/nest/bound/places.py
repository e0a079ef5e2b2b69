"""All places where items may lie, plates and holes, and which items each may hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.nest.bound.kind import disc_in, kind_of, relative, size_of, turned
from planner.nest.bound.mass import Ground, Mover
from planner.nest.bound.site import hole_site, plate_site

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.bound.form import Hole
    from planner.nest.bound.kind import Kind
    from planner.nest.bound.problem import Problem
    from planner.nest.bound.site import Site

MOVERS_MOST = 120
"""Turned shapes that are shifted over plates: those of further items count by area alone."""
HOLE_MOVERS_MOST, HOLE_SITES_MOST = 400, 12
"""In further holes, those that take up least, what lies there counts by area alone as well."""
_TOUCH = 1e-6


@dataclass(frozen=True, slots=True)
class Lay:
    """One kind on one site: its turns there; without any it counts by area alone."""

    kind: int
    movers: tuple[Mover, ...]


def places_of(problem: Problem, inside: Sequence[int], group: Sequence[int]) -> Places | None:
    """Return all places and who can lie there; None if there is nothing to lay or no place."""
    present = [bed for bed in group if problem.beds[bed].count != 0]
    sites = [
        (site, bed)
        for bed in present
        for site in (_plate(problem, bed, alone=len(present) == 1),)
        if site is not None
    ]
    kinds = [kind_of(problem, number) for number in inside]
    return Places(kinds, sites, problem.clearance_mm / 2) if sites and kinds else None


def _plate(problem: Problem, bed: int, *, alone: bool) -> Site | None:
    return plate_site(
        problem.beds[bed],
        clearance_mm=problem.clearance_mm,
        edge_mm=problem.edge_mm,
        alone=alone,
    )


class Places:
    """`grounds` are the sites made ready, `lays` the kinds that may lie on each."""

    def __init__(
        self, kinds: Sequence[Kind], plates: Sequence[tuple[Site, int]], radius_mm: float
    ) -> None:
        self.kinds, self._radius_mm = kinds, radius_mm
        self._sizes: dict[tuple[int, float], tuple[float, float]] = {}
        self.area_mm2 = [kind.form.area_mm2 for kind in kinds]
        self.grounds: list[Ground] = []
        self.lays: list[list[Lay]] = []
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
            lays = [Lay(guest, ()) for guest in guests] if plain else []
            if guests and not plain:
                lays = self._in_hole(ground, number, guests)
                left -= sum(len(lay.movers) for lay in lays)
                full -= 1
            if lays:
                self.grounds.append(ground)
                self.lays.append(lays)

    def _on_plate(self, ground: Ground, bed: int, left: int) -> list[Lay]:
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
            lays.append(Lay(number, movers))
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
            found = self._sizes[number, turn] = size_of(
                self.kinds[number].form, turn, self._radius_mm
            )
        return found

    def _guests(self, outer: int, hole: Hole) -> list[int]:
        """Return the kinds that might lie in a hole, by their area and their extents."""
        _, _, wide, deep = hole.region.bounds
        guests = []
        for number in self._heaviest():
            inner = self.kinds[number]
            turns = relative(inner.turns, self.kinds[outer].turns)
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

    def _in_hole(self, ground: Ground, outer: int, guests: Sequence[int]) -> list[Lay]:
        """Return the kinds that find a place in a hole of another."""
        lays = []
        for number in guests:
            inner = self.kinds[number]
            turns = relative(inner.turns, self.kinds[outer].turns)
            movers = self._movers(ground, inner, turns)
            if movers:
                lays.append(Lay(number, movers))
        return lays

    def _heaviest(self) -> list[int]:
        weight = [kind.copies * area for kind, area in zip(self.kinds, self.area_mm2, strict=True)]
        return sorted(range(len(weight)), key=lambda number: (-weight[number], number))

    def _movers(
        self, ground: Ground, kind: Kind, turns: tuple[float, ...] | None
    ) -> tuple[Mover, ...]:
        """Return the different turns of a kind that fit on a site."""
        found: dict[bytes, Mover] = {}
        cell_mm = ground.site.cell_mm
        shapes = (
            [disc_in(kind.form, cell_mm)]
            if turns is None
            else [turned(kind.form, turn, self._radius_mm, cell_mm) for turn in turns]
        )
        for shape, bare in shapes:
            key = shape.share.tobytes() + repr(shape.size_mm).encode()
            if key not in found:
                found[key] = Mover(ground, shape, bare)
        return tuple(mover for mover in found.values() if mover.fits)
