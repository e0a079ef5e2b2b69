"""The fewest plates that could ever do, over several kinds of bed.

Every argument is a relaxation that errs downwards.  Parts are taken with slightly less than
half the clearance around them, beds with slightly more room than they have, and whatever is
not sure to be impossible counts as possible.
"""

from __future__ import annotations

from itertools import chain, combinations, islice
from typing import TYPE_CHECKING

from planner.nest.bound.argue import Bound, strongest
from planner.nest.bound.exclude import exclusive_pairs
from planner.nest.bound.problem import problem_of
from planner.nest.model import NO_WISHES

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Bed, Item, Wishes

UNIONS_MOST, SUMMED_MOST = 64, 64
"""Beyond these numbers not every combination is tried: the bound stays true, if weaker."""


def lower_bound(
    items: Sequence[Item],
    beds: Sequence[Bed],
    *,
    clearance_mm: float,
    edge_mm: float,
    wishes: Wishes = NO_WISHES,
) -> Bound:
    """Return the fewest plates that could hold every copy that fits on some bed at all.

    Kinds of bed are looked at in groups: items that only fit into a group need plates of that
    group, and needs of groups that share no bed add up.  Of the wishes, groups apart and
    together count.
    """
    problem = problem_of(items, beds, clearance_mm, edge_mm, wishes)
    present = [number for number, item in enumerate(items) if item.quantity]
    groups = sorted({problem.allowed[item] for item in present} - {frozenset()}, key=sorted)
    excluded = exclusive_pairs(
        problem.items,
        problem.outlines,
        problem.beds,
        problem.allowed,
        clearance_mm=clearance_mm,
        edge_mm=edge_mm,
    ) | _apart(problem.items, wishes)
    needs = []
    for union in _unions(groups):
        inside = [
            item for item in present if problem.allowed[item] and problem.allowed[item] <= union
        ]
        needs.append((union, strongest(problem, inside, sorted(union), excluded)))
    return _best_sum(needs)


def _apart(items: Sequence[Item], wishes: Wishes) -> frozenset[tuple[int, int]]:
    """Return the pairs of items that must not share a plate."""
    number = {item.id: place for place, item in enumerate(items)}
    groups = [sorted({number[name] for name in group if name in number}) for group in wishes.apart]
    return frozenset(pair for group in groups for pair in combinations(group, 2))


def _unions(groups: Sequence[frozenset[int]]) -> list[frozenset[int]]:
    """Return the unions of groups of beds that are looked at; of very many groups, not all."""
    chosen = chain.from_iterable(
        combinations(groups, size) for size in range(1, min(len(groups), 6) + 1)
    )
    unions = {frozenset().union(*few) for few in islice(chosen, UNIONS_MOST)}
    return sorted(unions | ({frozenset().union(*groups)} if groups else set()), key=sorted)


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
