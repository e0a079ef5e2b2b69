"""The arguments for a number of plates, each by itself, and the strongest of them."""

from __future__ import annotations

from math import ceil, isfinite
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from planner.nest.bound.centre import covers_centre
from planner.nest.bound.count import by_counts
from planner.nest.bound.waste import least_by_waste

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from planner.nest.bound.problem import Problem

    Shares = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
    Copies = np.ndarray[tuple[int, ...], np.dtype[np.int64]]

_SLACK = 1e-9
_NEVER_SHARE = "parts of which no two share a plate"
CUTS_MOST, CLIQUE_MOST = 500, 60
"""Beyond these numbers not every combination is tried: the bound stays true, if weaker."""


class Bound(NamedTuple):
    """At least so many plates, and the argument that says so."""

    plates: int
    by: str


def strongest(
    problem: Problem,
    inside: Sequence[int],
    group: Sequence[int],
    excluded: frozenset[tuple[int, int]],
) -> Bound:
    """Return the best of all arguments for the items that only fit into a group of beds."""
    tried = [
        Bound(plates=1, by="one plate at least"),
        _by_area(problem, inside, group),
        *_by_limits(problem, inside, group),
        _around_centre(problem, inside),
        _clique(problem, inside, excluded),
    ]
    best = max(tried, key=lambda bound: bound.plates)
    waste = least_by_waste(problem, inside, group, known=best.plates)
    if waste > best.plates:
        return Bound(plates=waste, by="ground that parts must leave empty: holes, edges")
    return best


def _by_area(problem: Problem, inside: Sequence[int], group: Sequence[int]) -> Bound:
    total = sum(problem.items[item].quantity * problem.area_mm2[item] for item in inside)
    rooms = [problem.room_mm2[bed] for bed in group]
    counts = [problem.beds[bed].count for bed in group]
    return Bound(
        plates=by_counts(total, rooms, counts),
        by="area of the parts with half the clearance around them",
    )


def _by_limits(problem: Problem, inside: Sequence[int], group: Sequence[int]) -> Iterator[Bound]:
    """Compare area, hours, grams and numbers of parts with the largest limit of any bed."""
    items = [problem.items[item] for item in inside]
    beds = [problem.beds[bed] for bed in group]
    for name, sizes, limits in (
        ("area", [problem.area_mm2[i] for i in inside], [problem.room_mm2[b] for b in group]),
        ("hours", [item.seconds for item in items], [bed.limit_s for bed in beds]),
        ("grams", [item.grams for item in items], [bed.limit_g for bed in beds]),
        ("number", [float(item.parts) for item in items], [bed.limit_parts for bed in beds]),
    ):
        largest = max(limits)
        if not (isfinite(largest) and largest > 0):
            continue
        shares, copies = _as_bundles(problem, inside, np.array(sizes) / largest)
        if name != "area":
            plates = ceil(float(shares @ copies) - 1e-6)
            yield Bound(plates=plates, by=f"{name} against the largest limit")
        large = _dual_feasible(np.minimum(shares, 1.0), copies)
        yield Bound(plates=large, by=f"large parts by {name} (dual feasible functions)")


def _as_bundles(problem: Problem, inside: Sequence[int], shares: Shares) -> tuple[Shares, Copies]:
    """Make one of all copies that must share a plate: their shares add up."""
    copies = [problem.items[item].quantity for item in inside]
    own = dict(zip(inside, shares.tolist(), strict=True))
    single, bundled = list(shares), list(copies)
    for bundle in problem.bundles:
        members = [place for place, item in enumerate(inside) if item in bundle]
        for place in members:
            bundled[place] = 0
        single.append(sum(own[inside[place]] * copies[place] for place in members))
        bundled.append(1)
    return np.array(single, dtype=np.float64), np.array(bundled, dtype=np.int64)


def _dual_feasible(
    shares: Shares,
    copies: Copies,
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


def _around_centre(problem: Problem, inside: Sequence[int]) -> Bound:
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


def _clique(problem: Problem, inside: Sequence[int], excluded: frozenset[tuple[int, int]]) -> Bound:
    """Return the most copies of which no two can share a plate (heaviest clique).

    What must share a plate is one vertex, that excludes whatever a member of it excludes.
    Exact for up to `CLIQUE_MOST` kinds that exclude any other, a greedy one beyond: any
    clique will do for a bound.
    """
    import networkx as nx  # noqa: PLC0415  (slow to import, needed only here)

    stands_for = {item: item for item in inside}
    for bundle in problem.bundles:
        stands_for |= dict.fromkeys(bundle & stands_for.keys(), min(bundle, default=0))
    alone = set(inside) - set().union(*problem.bundles)
    weight = {
        stands_for[item]: problem.items[item].quantity
        if item in alone and (item, item) in excluded
        else 1
        for item in inside
    }
    pairs = {
        (stands_for[one], stands_for[other])
        for one, other in excluded
        if one in stands_for and other in stands_for
    }
    edges = sorted({(min(pair), max(pair)) for pair in pairs if pair[0] != pair[1]})
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
