"""Two spools for a plate that no single one can feed: the first to its end, then the second."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from operator import itemgetter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.schedule.board import Board


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """The second spool of a plate, what it feeds, and when; `person` changes it, -1: itself."""

    spool: int
    milligrams: int
    at_s: int
    person: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two spools of one material and colour, free from `ready_s` on, and what each feeds."""

    first: int
    second: int
    first_mg: int
    second_mg: int
    ready_s: int

    def lead_s(self, printing_s: int) -> int:
        """Return the seconds of printing after which the first spool is at its end.

        In the share of the grams, as if filament went at one pace: an estimate. One second
        at least, so that no visit falls on another.
        """
        return max(1, printing_s * self.first_mg // (self.first_mg + self.second_mg))


def pair_for(board: Board, plate: int) -> Pair | None:
    """Return two free spools that suffice together: soonest free, then the emptiest.

    The second is the tightest fit. Spools of another material or colour never make a pair.
    """
    need_mg, left_mg, free_s = board.instance.milligrams[plate], board.left_mg, board.spool_free
    best: tuple[tuple[int, int, int], Pair] | None = None
    for alike in _alike(board, plate):
        for at, (first_mg, first) in enumerate(alike[:-1]):
            # the emptier of the two comes first
            i = bisect_left(alike, need_mg - first_mg, lo=at + 1, key=itemgetter(0))
            if i == len(alike):
                continue
            second_mg, second = alike[i]
            ready_s = max(free_s[first], free_s[second])
            key = (ready_s, first_mg, second_mg)
            if best is None or key < best[0]:
                best = (
                    key,
                    Pair(
                        first=first,
                        second=second,
                        first_mg=left_mg[first],
                        second_mg=need_mg - left_mg[first],
                        ready_s=ready_s,
                    ),
                )
    return None if best is None else best[1]


def _alike(board: Board, plate: int) -> list[list[tuple[int, int]]]:
    """Return (milligrams, spool) of those with something left, per colour, emptiest first."""
    groups: dict[int, list[tuple[int, int]]] = {}
    for spool in board.instance.spools_for[plate]:
        if board.left_mg[spool] > 0:
            groups.setdefault(board.instance.spool_alike[spool], []).append(
                (board.left_mg[spool], spool)
            )
    return [sorted(group) for group in groups.values()]
