"""Plates by sums: how many are needed, largest first, for a total of area, time or weight."""

from __future__ import annotations

from fractions import Fraction
from math import ceil
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Sequence

_MARGIN = Fraction(1, 10**6)

N = TypeVar("N", float, Fraction)


def by_counts(total: N, rooms: Sequence[N], counts: Sequence[int | None]) -> int:
    """Return how many plates, largest first, have room for a total.

    A millionth of a plate is forgiven, for noise of the geometry.

    >>> by_counts(10.0, [4.0, 3.0], [1, None])
    3
    """
    plates, left = 0, total
    for room, count in sorted(zip(rooms, counts, strict=True), key=lambda pair: -pair[0]):
        needed = ceil(Fraction(left) / Fraction(room) - _MARGIN) if room > 0 else 0
        used = max(0, needed if count is None else min(needed, count))
        plates, left = plates + used, left - used * room
    return plates
