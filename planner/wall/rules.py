"""Which rules of the panel system fit which place."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.job.layout.model import PartRule, Shape, Side, Spot
    from planner.wall.model import Cell, Edge, Junction

    What = tuple[Side, ...] | str
    """Open sides of a cell, "level" or "upright" of an edge, shape of a junction."""
    Kind = tuple[Spot, What]
    """All that a rule can tell apart."""

SHAPES: tuple[Shape, ...] = ("outer corner", "straight", "diagonal", "inner corner", "middle")


def kind_of_cell(cell: Cell) -> Kind:
    """Return what rules can tell of a cell."""
    return "cell", cell.open_sides


def kind_of_edge(edge: Edge) -> Kind:
    """Return what rules can tell of an edge."""
    return "shared edge" if edge.shared else "free edge", "upright" if edge.upright else "level"


def kind_of_junction(junction: Junction) -> Kind:
    """Return what rules can tell of a junction."""
    return "junction", junction.shape


def condition(rule: PartRule) -> What | None:
    """Return what a rule asks of its place, None if nothing."""
    if rule.open_sides is not None:
        return rule.open_sides
    return rule.along or rule.shape


def fits(rule: PartRule, kind: Kind) -> bool:
    """Tell whether a rule fits places of a kind."""
    spot, what = kind
    return rule.spot == spot and condition(rule) in (None, what)


def fitting(rules: Iterable[PartRule], kind: Kind) -> tuple[PartRule, ...]:
    """Return every rule that fits places of a kind, those that say "none" too."""
    return tuple(rule for rule in rules if fits(rule, kind))


def uncovered(rules: Iterable[PartRule], kinds: Iterable[Kind]) -> tuple[Kind, ...]:
    """Return the kinds of place that no rule fits although other rules speak of such a spot.

    A spot of which no rule speaks at all needs nothing: tiles need no parts at junctions.
    """
    rules = tuple(rules)
    spoken = {rule.spot for rule in rules}
    return tuple(kind for kind in kinds if kind[0] in spoken and not fitting(rules, kind))
