"""The work argument of the bound: priced printer time, by linear programming duality."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.schedule.clock import first_second
from planner.schedule.room import room_of, uncovered

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.schedule.instance import Instance
    from planner.schedule.room import Room
    from planner.schedule.starts import Starts

    Floats = NDArray[np.float64]

LARGE = 60_000  # plates x kinds beyond which prices are not worth the seconds they cost
ROUNDS = 4  # of re-pricing the kinds of printers; the price settles after two or three


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """Plates and the printers that can take them.

    `seconds` is plates x kinds, inf where a kind cannot take the plate; `rooms` and
    `covers` (runs that can cover gaps, longest first) are per kind, `kinds` their numbers.
    """

    seconds: Floats
    kinds: tuple[int, ...]
    rooms: tuple[Room, ...]
    covers: tuple[list[float], ...]
    reached: tuple[int, ...]

    def room_s(self, finish: int) -> Floats:
        """Return the printer seconds of each kind by `finish`, each kind for itself."""
        return np.array(
            [
                room.gross_s(finish) - uncovered([float(g) for g in room.gaps_s(finish)], cover)
                for room, cover in zip(self.rooms, self.covers, strict=True)
            ]
        )

    def priced_room(self, prices: Floats, finish: int) -> float:
        """Return the priced room of all kinds together.

        The gaps are covered by runs of their own within each kind, and also over all
        kinds, a run then counting at its highest price; what is left of them is at least
        the greater of the two.
        """
        gross = sum(p * room.gross_s(finish) for p, room in zip(prices, self.rooms, strict=True))
        lists = [
            [p * gap for gap in room.gaps_s(finish)]
            for p, room in zip(prices, self.rooms, strict=True)
        ]
        apart = sum(
            uncovered(gaps, [p * run for run in cover])
            for p, gaps, cover in zip(prices, lists, self.covers, strict=True)
        )
        together = uncovered([gap for gaps in lists for gap in gaps], self._shared_covers(prices))
        return float(gross - max(apart, together))

    def _shared_covers(self, prices: Floats) -> list[float]:
        dearest = np.where(np.isfinite(self.seconds), self.seconds, 0.0) * prices
        return sorted(np.repeat(dearest.max(axis=1), self.reached).tolist(), reverse=True)


def work_of(instance: Instance, starts: Starts, plates: Sequence[int], begin: int) -> Work:
    """Return the work of these plates on all printers from `begin` on."""
    seconds = np.full((len(plates), len(instance.kinds)), np.inf)
    for row, plate in enumerate(plates):
        for kind, duration_s in instance.options[plate]:
            seconds[row, kind] = duration_s
    kinds = [int(k) for k in np.flatnonzero(np.isfinite(seconds).any(axis=0))]
    rooms = tuple(
        room_of(
            starts,
            machines=len(instance.kinds[k].machines),
            unattended=instance.kinds[k].unattended,
            begin=begin,
        )
        for k in kinds
    )
    columns = [[int(s) for s in seconds[:, k] if np.isfinite(s)] for k in kinds]
    longest = np.where(np.isfinite(seconds), seconds, 0.0).max(axis=1)
    return Work(
        seconds=seconds[:, kinds],
        kinds=tuple(kinds),
        rooms=rooms,
        covers=tuple(room.covers(runs) for room, runs in zip(rooms, columns, strict=True)),
        reached=tuple(max(room.gaps_reached(int(s)) for room in rooms) for s in longest),
    )


def work_finish(work: Work, begin: int) -> tuple[int, Floats]:
    """Return (first finish with room for the work, plates x kinds shares that need least).

    For any prices p >= 0 per second of each kind of printer, the cheapest way to run the
    plates, sum over plates of min over kinds of p x seconds, must not cost more than all the
    room there is, sum over kinds of p x room (weak duality of the assignment problem
    relaxed to fractions). Prices from the linear programme make this as tight as it gets.
    """
    shares = np.isfinite(work.seconds).astype(np.float64)
    prices, best = np.ones(len(work.rooms)), 0
    rounds = ROUNDS if len(work.rooms) > 1 and work.seconds.size <= LARGE else 1
    for _ in range(rounds):
        finish = _first_with_room(work, prices, begin)
        if finish <= best:
            break
        best = finish
        if rounds > 1:
            prices, shares = _shared_out(work.seconds, work.room_s(best))
    return best, shares


def _first_with_room(work: Work, prices: Floats, begin: int) -> int:
    """Return the first whole second by which the priced room covers the priced work."""
    able = np.isfinite(work.seconds)
    cost = np.where(able, np.where(able, work.seconds, 0.0) * prices, np.inf)
    wanted = float(cost.min(axis=1).sum()) * (1 - 1e-9)  # rounding must not lift the bound
    return first_second(lambda finish: work.priced_room(prices, finish) >= wanted, begin)


def _shared_out(seconds: Floats, room_s: Floats) -> tuple[Floats, Floats]:
    """Return (shadow price of each kind's room, plates x kinds shares).

    Linear programme: share plates out in fractions so that the largest load per room is
    least. Its duals are only a proposal: the bound they give holds for any prices.
    """
    from scipy.optimize import linprog  # noqa: PLC0415  # half a second to import
    from scipy.sparse import coo_array  # noqa: PLC0415

    plate, kind = np.nonzero(np.isfinite(seconds))
    n, k = seconds.shape
    one = np.arange(len(plate))  # a variable per share, and the load at the end
    rows, columns = np.append(kind, np.arange(k)), np.append(one, np.full(k, len(plate)))
    loads = np.append(seconds[plate, kind], -room_s)
    answer: Any = linprog(  # type: ignore[call-overload]  # its stubs know dense matrices only
        np.append(np.zeros(len(plate)), 1.0),
        A_ub=coo_array((loads, (rows, columns)), shape=(k, len(plate) + 1)).tocsr(),
        b_ub=np.zeros(k),
        A_eq=coo_array((np.ones(len(plate)), (plate, one)), shape=(n, len(plate) + 1)).tocsr(),
        b_eq=np.ones(n),
        method="highs",
    )
    shares = np.zeros((n, k))
    if answer.status != 0:
        return np.ones(k), np.isfinite(seconds).astype(np.float64)
    shares[plate, kind] = answer.x[:-1]
    return np.maximum(0.0, -np.asarray(answer.ineqlin.marginals, dtype=np.float64)), shares
