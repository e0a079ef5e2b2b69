"""From walls to counts: every wall filled, then all of them added up."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.errors import InputError
from planner.wall.explain import counts_of
from planner.wall.faults import in_order
from planner.wall.fill import Filled, census_of, copies_of, fill, refuse_too_many
from planner.wall.model import Counted, Placed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.job.layout.model import PartRule, Walls
    from planner.wall.model import Fixing, Panelling


def count_walls(walls: Walls) -> Counted:
    """Fill every wall with cells and count what they need; screws are added by `with_fixings`.

    Raises InputError, naming the cell, for accessories where no cell is, for places that no
    rule of the system covers, for a wall on which no cell is left, and for more copies than
    can be drawn.
    """
    filled = _filled(walls)
    problems = in_order(problem for each in filled for problem in each.problems)
    if problems:
        raise InputError(*problems)
    return Counted(
        walls=walls,
        panellings=tuple(each.panelling for each in filled),
        counts=counts_of(walls.system.rules, [each.census for each in filled], walls.extra),
        remarks=tuple(remark for each in filled for remark in each.remarks),
    )


def _filled(walls: Walls) -> list[Filled]:
    filled: list[Filled] = []
    placed = 0
    for wall in walls.walls:
        filled.append(fill(wall, walls.system, placed=placed))
        placed += copies_of(filled[-1].panelling.counts)
    return filled


def with_fixings(counted: Counted, fixings: Sequence[Fixing]) -> Counted:
    """Return the counts with the parts that the system wants at every screw into the wall.

    Raises InputError for more copies than can be drawn.
    """
    rules = [rule for rule in counted.walls.system.rules if rule.spot == "fixing"]
    if not any(rule.part for rule in rules):
        return counted
    screws = Counter(fixing.wall for fixing in fixings)
    censuses = [
        census_of(panelling, screws[panelling.wall.name]) for panelling in counted.panellings
    ]
    system = counted.walls.system
    counts = counts_of(system.rules, censuses, counted.walls.extra)
    refuse_too_many(
        counted.panellings[0].wall, copies_of(counts) - sum(counted.walls.extra.values())
    )
    return replace(
        counted,
        panellings=tuple(
            replace(
                panelling,
                placed=(*panelling.placed, *_at_screws(rules, panelling, fixings)),
                counts=counts_of(system.rules, [census], {}),
            )
            for panelling, census in zip(counted.panellings, censuses, strict=True)
        ),
        counts=counts,
    )


def _at_screws(
    rules: Sequence[PartRule], panelling: Panelling, fixings: Sequence[Fixing]
) -> tuple[Placed, ...]:
    return tuple(
        Placed(part=rule.part, spot="fixing", x_mm=fixing.x_mm, y_mm=fixing.y_mm)
        for fixing in fixings
        if fixing.wall == panelling.wall.name
        for rule in rules
        if rule.part is not None
        for _ in range(rule.count)
    )
