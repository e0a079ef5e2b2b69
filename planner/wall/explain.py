"""How many of every part, and why: "7 shared edges", "12 junctions (4 outer corners, ...)"."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from math import ceil
from typing import TYPE_CHECKING

from planner.wall.model import Count
from planner.wall.naming import open_to
from planner.wall.rules import SHAPES, condition, fits

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from planner.job.layout.model import Hung, PartRule
    from planner.wall.rules import Kind

_MANY = {
    "shared edge": "shared edges",
    "free edge": "free edges",
    "outer corner": "outer corners",
    "inner corner": "inner corners",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Census:
    """What one wall has of every kind of place, its screws, and what hangs on it."""

    kinds: Mapping[Kind, int]
    hung: Sequence[Hung] = ()
    fixings: int = 0

    @property
    def cells(self) -> int:
        """Cells of the wall."""
        return sum(n for (spot, _), n in self.kinds.items() if spot == "cell")


@dataclass(slots=True)
class _Sum:
    count: int = 0
    reasons: list[str] = field(default_factory=list)

    def add(self, count: int, reason: str) -> None:
        if count:
            self.count += count
            self.reasons.append(reason)


def counts_of(
    rules: Iterable[PartRule], walls: Sequence[Census], extra: Mapping[str, int]
) -> tuple[Count, ...]:
    """Return how many of every part the walls need together, in the order of the rules.

    Accessories follow in the order in which they hang, then those that are only listed.
    """
    sums: dict[str, _Sum] = {}
    bought = {rule.part for rule in rules if rule.bought}
    for part, count, reason in (*_by_rules(rules, walls), *_by_hand(walls), *_listed(extra)):
        sums.setdefault(part, _Sum()).add(count, reason)
    return tuple(
        Count(part=part, count=each.count, because=" + ".join(each.reasons), bought=part in bought)
        for part, each in sums.items()
        if each.count
    )


def _by_rules(rules: Iterable[PartRule], walls: Sequence[Census]) -> Iterator[tuple[str, int, str]]:
    for rule in rules:
        if rule.part is None:
            continue
        if rule.spot == "cells":
            yield _per_cells(rule, walls)
        elif rule.spot == "fixing":
            number = sum(wall.fixings for wall in walls)
            yield rule.part, number * rule.count, _times(number, "fixing", "fixings", rule.count)
        else:
            kinds: Counter[Kind] = Counter()
            for wall in walls:
                kinds.update(wall.kinds)
            here = {kind: n for kind, n in kinds.items() if fits(rule, kind)}
            number = sum(here.values())
            yield rule.part, number * rule.count, _reason(rule, here)


def _per_cells(rule: PartRule, walls: Sequence[Census]) -> tuple[str, int, str]:
    cells = [wall.cells for wall in walls]
    number = sum(ceil(each / rule.every) for each in cells) * rule.count
    each_wall = " of a wall" if len(walls) > 1 else ""
    reason = f"{rule.count} for every {rule.every} of {sum(cells)} cells{each_wall} = {number}"
    return rule.part or "", number, reason


def _by_hand(walls: Sequence[Census]) -> Iterator[tuple[str, int, str]]:
    number: Counter[str] = Counter()
    cells: Counter[str] = Counter()
    for wall in walls:
        for each in wall.hung:
            number[each.thing] += each.count
            cells[each.thing] += 1
    for thing, count in number.items():
        one = "1 place" if cells[thing] == 1 else f"{cells[thing]} places"
        yield thing, count, f"{count} hung in {one}"


def _listed(extra: Mapping[str, int]) -> Iterator[tuple[str, int, str]]:
    return ((thing, count, f"{count} listed as extra") for thing, count in extra.items())


def _reason(rule: PartRule, here: Mapping[Kind, int]) -> str:
    number, asked = sum(here.values()), condition(rule)
    if rule.spot == "cell":
        told = "" if rule.open_sides is None else f" {open_to(rule.open_sides)}"
        return _times(number, f"cell{told}", f"cells{told}", rule.count)
    if rule.spot == "junction":
        return _times(number, *_junctions(asked, here), rule.count)
    way = f"{asked} " if asked else ""
    return _times(number, f"{way}{rule.spot}", f"{way}{_MANY[rule.spot]}", rule.count)


def _junctions(asked: object, here: Mapping[Kind, int]) -> tuple[str, str]:
    """Return one and many junctions in words, with their shapes unless one was asked for."""
    if isinstance(asked, str):
        corner = asked.endswith("corner")
        return (asked, _MANY[asked]) if corner else (f"{asked} junction", f"{asked} junctions")
    told = [
        f"{here['junction', shape]} {shape if one else _MANY.get(shape, shape)}"
        for shape in SHAPES
        if ("junction", shape) in here
        for one in [here["junction", shape] == 1]
    ]
    shapes = f" ({', '.join(told)})"
    return f"junction{shapes}", f"junctions{shapes}"


def _times(number: int, one: str, many: str, each: int) -> str:
    """Return "27 shared edges", or "27 shared edges x 2 = 54"."""
    told = f"{number} {one if number == 1 else many}"
    return told if each == 1 else f"{told} x {each} = {number * each}"
