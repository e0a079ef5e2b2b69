"""How few plates could ever do: a number that no packing can beat.

Every argument here is a relaxation that errs downwards.  Parts are taken with slightly less
than half the clearance around them, beds with slightly more room than they have, and whatever
is not sure to be impossible counts as possible.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain, combinations, islice
from math import ceil, isfinite
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from planner.nest.centre import covers_centre
from planner.nest.exclude import exclusive_pairs
from planner.nest.grid import nominal_step
from planner.nest.outline import Outline, least_area_mm2, outline_of
from planner.nest.shape import rounded_outside

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.nest.model import Bed, Item

_SLACK = 1e-9
_NEVER_SHARE = "large parts of which no two share a plate"
UNIONS_MOST, SUMMED_MOST, CUTS_MOST, CLIQUE_MOST = 64, 64, 500, 60
"""Beyond these numbers not every combination is tried: the bound stays true, if weaker."""


class Bound(NamedTuple):
    """At least so many plates, and the argument that says so."""

    plates: int
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Problem:
    """What the arguments work on: per item its copies, its least area and its beds."""

    items: tuple[Item, ...]
    beds: tuple[Bed, ...]
    outlines: tuple[Outline, ...]
    area_mm2: tuple[float, ...]
    room_mm2: tuple[float, ...]
    allowed: tuple[frozenset[int], ...]
    clearance_mm: float
    edge_mm: float


def lower_bound(
    items: Sequence[Item], beds: Sequence[Bed], *, clearance_mm: float, edge_mm: float
) -> Bound:
    """Return the fewest plates that could hold every copy that fits on some bed at all.

    Kinds of bed are looked at in groups: items that only fit into a group need plates of that
    group, and needs of groups that share no bed add up.
    """
    problem = _problem(items, beds, clearance_mm, edge_mm)
    present = [number for number, item in enumerate(items) if item.quantity]
    groups = sorted({problem.allowed[item] for item in present} - {frozenset()}, key=sorted)
    excluded = exclusive_pairs(
        problem.items,
        problem.outlines,
        problem.beds,
        problem.allowed,
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
    )
    needs = []
    for union in _unions(groups):
        inside = [
            item for item in present if problem.allowed[item] and problem.allowed[item] <= union
        ]
        needs.append((union, _strongest(problem, inside, sorted(union), excluded)))
    return _best_sum(needs)


def _unions(groups: Sequence[frozenset[int]]) -> list[frozenset[int]]:
    """Return the unions of groups of beds that are looked at; of very many groups, not all."""
    chosen = chain.from_iterable(
        combinations(groups, size) for size in range(1, min(len(groups), 6) + 1)
    )
    unions = {frozenset().union(*few) for few in islice(chosen, UNIONS_MOST)}
    return sorted(unions | ({frozenset().union(*groups)} if groups else set()), key=sorted)


def _problem(
    items: Sequence[Item], beds: Sequence[Bed], clearance_mm: float, edge_mm: float
) -> _Problem:
    step_mm = nominal_step(beds)
    outlines = tuple(outline_of(item.footprint, step_mm)[0] for item in items)
    return _Problem(
        items=tuple(items),
        beds=tuple(beds),
        outlines=outlines,
        area_mm2=tuple(least_area_mm2(outline, clearance_mm / 2) for outline in outlines),
        room_mm2=tuple(_room_mm2(bed, clearance_mm, edge_mm) for bed in beds),
        allowed=tuple(
            _allowed(item, outline, beds, edge_mm)
            for item, outline in zip(items, outlines, strict=True)
        ),
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
    )


def _room_mm2(bed: Bed, clearance_mm: float, edge_mm: float) -> float:
    """Return an upper bound of the area that grown parts can cover on a bed."""
    inside = shapely.box(edge_mm, edge_mm, bed.width_mm - edge_mm, bed.depth_mm - edge_mm)
    taken = [
        shapely.box(area.x_min_mm, area.y_min_mm, area.x_max_mm, area.y_max_mm)
        for area in bed.keep_out
    ]
    free = inside.difference(shapely.union_all(taken)) if taken else inside
    grown = rounded_outside(free, clearance_mm / 2) if clearance_mm else free
    return float(grown.area)


def _allowed(item: Item, outline: Outline, beds: Sequence[Bed], edge_mm: float) -> frozenset[int]:
    """Return the beds on which an item might lie, judged by its extents in every turn."""
    extents = outline.extents_mm(item.rotations_deg)
    return frozenset(
        number
        for number, bed in enumerate(beds)
        if item.height_mm <= bed.height_mm
        and item.seconds <= bed.limit_s
        and item.grams <= bed.limit_g
        and bool(
            (
                (extents[:, 0] <= bed.width_mm - 2 * edge_mm + 1e-6)
                & (extents[:, 1] <= bed.depth_mm - 2 * edge_mm + 1e-6)
            ).any()
        )
    )


def _strongest(
    problem: _Problem,
    inside: Sequence[int],
    group: Sequence[int],
    excluded: frozenset[tuple[int, int]],
) -> Bound:
    """Return the best of all arguments for the items that only fit into a group of beds."""
    items = [problem.items[item] for item in inside]
    copies = [item.quantity for item in items]
    beds = [problem.beds[bed] for bed in group]
    rooms = [problem.room_mm2[bed] for bed in group]
    tried = [
        Bound(plates=1, by="one plate at least"),
        Bound(
            plates=_by_counts(
                sum(n * problem.area_mm2[item] for n, item in zip(copies, inside, strict=True)),
                rooms,
                [bed.count for bed in beds],
            ),
            by="area of the parts with half the clearance around them",
        ),
    ]
    for name, sizes, limits in (
        ("area", [problem.area_mm2[item] for item in inside], rooms),
        ("hours", [item.seconds for item in items], [bed.limit_s for bed in beds]),
        ("grams", [item.grams for item in items], [bed.limit_g for bed in beds]),
    ):
        largest = max(limits)
        if isfinite(largest) and largest > 0:
            shares = np.array(sizes) / largest
            tried += [
                Bound(
                    plates=ceil(float(shares @ copies) - 1e-6),
                    by=f"{name} against the largest limit",
                )
                if name != "area"
                else tried[1],
                Bound(
                    plates=_dual_feasible(shares, np.array(copies)),
                    by=f"large parts by {name} (dual feasible functions)",
                ),
            ]
    tried += [_around_centre(problem, inside), _clique(inside, copies, excluded)]
    return max(tried, key=lambda bound: bound.plates)


def _by_counts(total: float, rooms: Sequence[float], counts: Sequence[int | None]) -> int:
    """Return how many plates, largest first, have room for a total area."""
    plates, left = 0, total
    for room, count in sorted(zip(rooms, counts, strict=True), key=lambda pair: -pair[0]):
        needed = ceil(left / room - 1e-6) if room > 0 else 0
        used = max(0, needed if count is None else min(needed, count))
        plates, left = plates + used, left - used * room
    return plates


def _dual_feasible(
    shares: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    copies: np.ndarray[tuple[int, ...], np.dtype[np.int64]],
) -> int:
    """Return the best one-dimensional bin-packing bound over two families of functions.

    A dual feasible function f maps shares of a bin so that whatever fits into one bin still
    sums to at most 1.  u_k(x) = floor((k + 1) x) / k and the step function f_e (0 below e, 1
    above 1 - e, x between) are theorem 1 and corollary 1 of Fekete and Schepers, "New classes
    of fast lower bounds for bin packing problems", Mathematical Programming 91 (2001) 11-31;
    f_e is the bound L2 of Martello and Toth (1990).
    """
    below = np.maximum(shares - _SLACK, 0.0)
    best = 0.0
    cuts = sorted({float(share) for share in below if share <= 0.5} | {0.5}, reverse=True)
    for cut in cuts[:: max(1, len(cuts) // CUTS_MOST)]:
        kept = np.where(below > 1 - cut, 1.0, np.where(below < cut, 0.0, below))
        best = max(best, float(kept @ copies))
        for k in (1, 2, 3, 4, 5):
            whole = (k + 1) * kept
            exact = np.abs(whole - np.rint(whole)) < _SLACK
            value = np.where(exact, kept, np.floor(whole) / k)
            best = max(best, float(value @ copies))
    return ceil(best - 1e-6)


def _around_centre(problem: _Problem, inside: Sequence[int]) -> Bound:
    """Count the copies that cover the centre of every bed they may lie on."""
    more = problem.clearance_mm - 2 * problem.edge_mm
    copies = sum(
        problem.items[item].quantity
        for item in inside
        if all(
            covers_centre(
                problem.outlines[item],
                problem.items[item].rotations_deg,
                (problem.beds[bed].width_mm + more, problem.beds[bed].depth_mm + more),
                problem.clearance_mm,
            )
            for bed in sorted(problem.allowed[item])
        )
    )
    return Bound(plates=copies, by=_NEVER_SHARE)


def _clique(
    inside: Sequence[int], copies: Sequence[int], excluded: frozenset[tuple[int, int]]
) -> Bound:
    """Return the most copies of which no two can share a plate (heaviest clique).

    Exact for up to `CLIQUE_MOST` kinds that exclude any other, a greedy one beyond: any
    clique will do for a bound.
    """
    import networkx as nx  # noqa: PLC0415  (slow to import, needed only here)

    weight = {
        item: count if (item, item) in excluded else 1
        for item, count in zip(inside, copies, strict=True)
    }
    edges = [
        (one, other)
        for one, other in sorted(excluded)
        if one < other and one in weight and other in weight
    ]
    best = max(weight.values())
    graph = nx.Graph(edges)
    if len(graph) > CLIQUE_MOST:
        best = max(best, _greedy_clique(frozenset(edges), weight))
    elif edges:
        nx.set_node_attributes(graph, weight, "weight")
        best = max(best, int(nx.max_weight_clique(graph)[1]))
    return Bound(plates=best, by=_NEVER_SHARE)


def _greedy_clique(edges: frozenset[tuple[int, int]], weight: Mapping[int, int]) -> int:
    clique: list[int] = []
    for item in sorted(weight, key=lambda item: (-weight[item], item)):
        if all((min(item, other), max(item, other)) in edges for other in clique):
            clique.append(item)
    return sum(weight[item] for item in clique)


def _best_sum(needs: Sequence[tuple[frozenset[int], Bound]]) -> Bound:
    """Return the largest sum of needs over groups that share no bed."""
    best = Bound(plates=0, by="nothing to lay")
    if len(needs) > SUMMED_MOST:
        needs = sorted(needs, key=lambda need: -need[1].plates)[:SUMMED_MOST]
    for size in range(1, min(len(needs), 4) + 1):
        for chosen in combinations(needs, size):
            beds = [bed for group, _ in chosen for bed in group]
            total = sum(bound.plates for _, bound in chosen)
            if len(beds) == len(set(beds)) and total > best.plates:
                best = Bound(plates=total, by="; ".join(bound.by for _, bound in chosen))
    return best
