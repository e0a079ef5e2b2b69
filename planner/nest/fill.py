"""Fill one plate greedily: in a given order, at the free position a rule likes best."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.nest.plate import Spot

if TYPE_CHECKING:
    from collections.abc import Sequence
    from random import Random

    from planner.nest.options import Option
    from planner.nest.plate import Plate


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Where to look first.

    `layout`: 0 fills line by line along x, 1 along y.  `far`: from the opposite corner.
    `by_reach`: of the turns that fit, take the one that reaches least far into the plate,
    otherwise the one that starts nearest to the corner.
    """

    layout: int
    far: bool
    by_reach: bool


RULES = tuple(
    Rule(layout=layout, far=far, by_reach=by_reach)
    for by_reach in (True, False)
    for layout in (0, 1)
    for far in (False, True)
)


TURNS_MOST = 6
"""Of more turns than this, so many are drawn anew for each filling: pairs of turns cost work."""


PATIENCE = 40
"""After so many items in a row without a place, more and more of the next ones are passed over:
those that come after are smaller."""


def fill(plate: Plate, pool: list[int], order: Sequence[int], rule: Rule, random: Random) -> None:
    """Lay as many copies as possible; `pool` (copies left, per item) is counted down."""
    plate.use_layout(rule.layout)
    place = missed = 0
    while place < len(order):
        laid = _lay(plate, pool, order[place], rule, random)
        missed = missed // 2 if laid else missed + 1
        place += 1 + max(0, missed - PATIENCE)


def _lay(plate: Plate, pool: list[int], item: int, rule: Rule, random: Random) -> bool:
    """Lay as many copies of an item as possible; say whether there was place for any."""
    turns = plate.table.turns(plate.bed, item)
    if len(turns) > TURNS_MOST:
        turns = tuple(random.sample(turns, TURNS_MOST))
    before = len(plate.spots)
    while pool[item] and plate.allows(item):
        spot = best_spot(plate, item, turns, rule)
        if spot is None:
            break
        plate.place(spot)
        pool[item] -= 1
    return len(plate.spots) > before


def best_spot(plate: Plate, item: int, turns: Sequence[Option], rule: Rule) -> Spot | None:
    """Return the best free position of an item over some turns, or None if there is none."""
    table = plate.table
    stride, layout = table.stride(rule.layout), rule.layout
    best: tuple[tuple[int, int, int], Spot] | None = None
    for option in turns:
        bit = plate.first(option.shape, far=rule.far)
        if bit is None:
            continue
        v, u = divmod(bit, stride)
        size = table.size[option.shape]
        rank = _rank(u, v, u + size[layout], v + size[1 - layout], rule)
        if best is None or rank < best[0]:
            x, y = (u, v) if layout == 0 else (v, u)
            best = rank, Spot(item, option, x, y)
    return best[1] if best else None


def _rank(u: int, v: int, u_end: int, v_end: int, rule: Rule) -> tuple[int, int, int]:
    """Order candidates: a smaller rank is better."""
    if rule.far:
        return (-v, -v_end, -u_end) if rule.by_reach else (-v_end, -u_end, -v)
    return (v_end, v, u) if rule.by_reach else (v, u, v_end)


def shuffled_order(
    items: Sequence[int], weight: Sequence[float], random: Random, spread: float
) -> list[int]:
    """Sort items by falling weight after a random factor e^(spread * normal) on each."""
    keys = {item: weight[item] * 2.718281828 ** random.gauss(0.0, spread) for item in items}
    return sorted(keys, key=lambda item: (-keys[item], item))
