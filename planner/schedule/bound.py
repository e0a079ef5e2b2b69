"""Finishes that no plan can beat, each from one argument; the latest of them counts.

All of them relax the weekend (drop rules), so they hold for any plan that prints the given
plates: (1) no plate ends before its own first possible start plus its run; (2) the runs need
printer time, and a printer that ends at night stands still until somebody comes; (3) starts
take hands, and a pair of hands starts one plate at a time; (4) as (2) for the spools.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from planner.schedule.clock import Stretch, after_presence, joined, overlap_s
from planner.schedule.instance import NEVER

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from planner.schedule.instance import Instance

    Room = Callable[[int], float]

LARGE = 60_000  # plates x kinds beyond which prices are not worth the seconds they cost
ROUNDS = 4  # of re-pricing the kinds of printers; the price settles after two or three


@dataclass(frozen=True, slots=True, kw_only=True)
class Starts:
    """When hands are there: `moments` are the closed stretches in which a start may begin."""

    people: tuple[tuple[Stretch, ...], ...]
    presence: tuple[Stretch, ...]
    moments: tuple[Stretch, ...]
    hands_on_s: int

    def first(self, begin: int) -> int:
        """Return the first moment from `begin` on at which a start may begin, or NEVER."""
        i = bisect_left([last for _, last in self.moments], begin)
        return max(begin, self.moments[i][0]) if i < len(self.moments) else NEVER

    def first_fit(self, begin: int, duration_s: int, *, unattended: bool) -> int:
        """Return the first start of a run that, if need be, passes in presence, or NEVER."""
        start = self.first(begin)
        if unattended or start == NEVER:
            return start
        for a, b in self.presence:
            start = self.first(max(a, begin))
            if a <= start and start + duration_s <= b:
                return start
        return NEVER

    def ranked(self, begin: int, wanted: int) -> list[int]:
        """Return the earliest times at which the 1st, 2nd, ... start after `begin` may begin."""
        if self.hands_on_s == 0:
            return [self.first(begin)] * wanted
        slots: list[int] = []
        for a, b in (stretch for stretches in self.people for stretch in stretches):
            times = range(max(a, begin), b - self.hands_on_s + 1, self.hands_on_s)
            slots.extend(times[:wanted])
        slots.sort()
        return (slots + [NEVER] * wanted)[:wanted]


def starts_of(instance: Instance) -> Starts:
    """Return the moments of the weekend at which a person can begin hands-on work."""
    closed = (
        (a, b - instance.hands_on_s)
        for stretches in instance.people
        for a, b in stretches
        if b - a >= instance.hands_on_s
    )
    return Starts(
        people=instance.people,
        presence=instance.presence,
        moments=_joined_closed(closed),
        hands_on_s=instance.hands_on_s,
    )


def _joined_closed(stretches: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """Join closed stretches of whole seconds; one of no length is still a moment."""
    grown = joined((a, b + 1) for a, b in stretches)
    return tuple((a, b - 1) for a, b in grown)


def lower_bound(instance: Instance, plates: Sequence[int]) -> tuple[int, str] | None:
    """Return (seconds after the start, the argument in words), or None without plates.

    Holds for every plan that prints all of `plates`, which must each have a printer.
    """
    if not plates:
        return None
    starts = starts_of(instance)
    heads, ends = _heads_and_ends(instance, starts)
    arguments = [
        (max(ends[j] for j in plates), "the plate that can end no sooner, by what it waits for"),
        _hands(instance, starts, plates),
        _printers(instance, starts, {j: heads[j] for j in plates}),
        _spools(instance, starts, plates),
    ]
    return max(arguments, key=lambda argument: argument[0])


def _heads_and_ends(instance: Instance, starts: Starts) -> tuple[list[int], list[int]]:
    """Return when each plate's checks can be over, and when it can end, as if it were alone."""
    heads, ends = [0] * len(instance.options), [NEVER] * len(instance.options)
    for plate in instance.gates_first:
        for gate in instance.gates[plate]:
            off_s = starts.first(ends[gate]) + instance.hands_on_s
            open_s = after_presence(instance.presence, off_s, instance.check_s[plate])
            heads[plate] = max(heads[plate], NEVER if open_s is None else open_s)
        ends[plate] = min(
            (
                starts.first_fit(heads[plate], s, unattended=instance.kinds[kind].unattended) + s
                for kind, s in instance.options[plate]
            ),
            default=NEVER,
        )
    return heads, ends


def _hands(instance: Instance, starts: Starts, plates: Sequence[int]) -> tuple[int, str]:
    """Return the hands argument: of the k longest plates, one starts at the k-th start or later."""
    runs = sorted((_shortest(instance, plate) for plate in plates), reverse=True)
    ranked = starts.ranked(0, len(runs))
    end_s = max(start + run for start, run in zip(ranked, runs, strict=True))
    return end_s, "the hands-on time: one person starts one plate at a time"


def _shortest(instance: Instance, plate: int) -> int:
    return min(seconds for _, seconds in instance.options[plate])


def _printers(instance: Instance, starts: Starts, heads: dict[int, int]) -> tuple[int, str]:
    """Return the work argument, for all plates and for those that wait longest."""
    words = "the work of all plates: printers are started only while somebody is there"
    best = 0
    for head_s in sorted(set(heads.values())):
        late = [plate for plate, own in heads.items() if own >= head_s]
        best = max(best, _work(instance, starts, late, head_s))
    return best, words


def _work(instance: Instance, starts: Starts, plates: Sequence[int], begin: int) -> int:
    """Return the first finish by which the printers have room for the plates.

    For any prices p >= 0 per second of each kind of printer, the cheapest way to run the
    plates, sum over plates of min over kinds of p x seconds, must not cost more than all the
    room there is, sum over kinds of p x room (weak duality of the assignment problem
    relaxed to fractions). Prices from the linear programme make this as tight as it gets.
    """
    import numpy as np  # noqa: PLC0415  # kept out of the start-up path

    seconds = np.full((len(plates), len(instance.kinds)), np.inf)
    for row, plate in enumerate(plates):
        for kind, duration_s in instance.options[plate]:
            seconds[row, kind] = duration_s
    used = np.isfinite(seconds).any(axis=0)
    seconds = seconds[:, used]
    rooms = [
        _room(
            starts,
            [int(s) for s in column[np.isfinite(column)]],
            machines=len(kind.machines),
            unattended=kind.unattended,
            begin=begin,
        )
        for kind, column in zip(
            (kind for kind, use in zip(instance.kinds, used, strict=True) if use),
            seconds.T,
            strict=True,
        )
    ]
    return _priced_finish(seconds, rooms, begin)


def _priced_finish(seconds: NDArray[np.float64], rooms: list[Room], begin: int) -> int:
    import numpy as np  # noqa: PLC0415

    prices, best = np.ones(len(rooms)), 0
    rounds = ROUNDS if len(rooms) > 1 and seconds.size <= LARGE else 1
    for _ in range(rounds):
        finish = _first_with_room(seconds, rooms, prices, begin)
        if finish <= best:
            break
        best = finish
        if rounds > 1:
            prices = _prices(seconds, np.array([room(best) for room in rooms]))
    return best


def _first_with_room(
    seconds: NDArray[np.float64], rooms: list[Room], prices: NDArray[np.float64], begin: int
) -> int:
    """Bisect for the first whole second by which the priced room covers the priced work."""
    import numpy as np  # noqa: PLC0415

    able = np.isfinite(seconds)
    priced = np.where(able, np.where(able, seconds, 0.0) * prices, np.inf).min(axis=1).sum()
    priced *= 1 - 1e-9  # so that rounding never lifts the bound above a plan

    def enough(finish: int) -> bool:
        room = sum(p * room(finish) for p, room in zip(prices, rooms, strict=True) if p > 0)
        return bool(room >= priced)

    return _first_second(enough, begin)


def _prices(seconds: NDArray[np.float64], room_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the shadow price of each kind's room when the plates are shared out evenly.

    Linear programme: share plates out in fractions so that the largest load per room is
    least. Its duals are only a proposal: the bound they give holds for any prices.
    """
    import numpy as np  # noqa: PLC0415
    from scipy.optimize import linprog  # noqa: PLC0415
    from scipy.sparse import coo_array  # noqa: PLC0415

    plate, kind = np.nonzero(np.isfinite(seconds))
    variables = np.arange(len(plate) + 1)  # one per share, and the load at the end
    n, k = seconds.shape
    loads = coo_array(
        (
            np.append(seconds[plate, kind], -room_s),
            (
                np.append(kind, np.arange(k)),
                np.append(variables[:-1], np.full(k, variables[-1])),
            ),
        ),
        shape=(k, len(variables)),
    )
    shares = coo_array((np.ones(len(plate)), (plate, variables[:-1])), shape=(n, len(variables)))
    answer: Any = linprog(  # type: ignore[call-overload]  # its stubs know dense matrices only
        np.append(np.zeros(len(plate)), 1.0),
        A_ub=loads.tocsr(),
        b_ub=np.zeros(k),
        A_eq=shares.tocsr(),
        b_eq=np.ones(n),
        method="highs",
    )
    if answer.status != 0:
        return np.ones(k)
    return np.maximum(0.0, -np.asarray(answer.ineqlin.marginals, dtype=np.float64))


def _spools(instance: Instance, starts: Starts, plates: Sequence[int]) -> tuple[int, str]:
    """Return the work argument for the spools: a spool feeds one printer at a time."""
    words = "the spools: each feeds one printer at a time"
    printers = sum(len(kind.machines) for kind in instance.kinds)
    best = 0
    for spools in sorted({instance.spools_for[plate] for plate in plates}):
        if not spools or len(spools) >= printers:
            continue
        fed = [plate for plate in plates if set(instance.spools_for[plate]) <= set(spools)]
        runs = [_shortest(instance, plate) for plate in fed]
        longest = [max(seconds for _, seconds in instance.options[plate]) for plate in fed]
        alone = any(
            instance.kinds[kind].unattended for plate in fed for kind, _ in instance.options[plate]
        )
        room = _room(starts, longest, machines=len(spools), unattended=alone, begin=0)
        best = max(best, _first_second(partial(_covers, room, sum(runs)), 0))
    return best, words


def _first_second(enough: Callable[[int], bool], begin: int) -> int:
    """Return the first whole second from `begin` on at which `enough`, once true, holds."""
    low, high = begin, begin + 3600
    while not enough(high):
        low, high = high, begin + 2 * (high - begin)
        if high > NEVER:
            return NEVER
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _covers(room: Room, work_s: float, finish: int) -> bool:
    return room(finish) >= work_s


def _room(starts: Starts, runs: list[int], *, machines: int, unattended: bool, begin: int) -> Room:
    """Return finish -> the most seconds that `machines` can run by then, from `begin` on.

    The i-th of them starts no sooner than the i-th start there can be. Between two moments
    of starting, B and then A, a machine runs on only for as long as what it was
    started with by B: standing still costs it at least (its first start after A) - B - run.
    Those losses are smallest when the longest runs cover the longest gaps, so runs and gaps
    are matched in order of length. A run that can reach into several gaps counts
    for each of them. Machines that must not run alone have only the hours of presence.
    """
    first = starts.ranked(begin, machines)
    if not unattended:
        presence = starts.presence
        return lambda finish: sum(overlap_s(presence, slot, finish) for slot in first)
    gaps = _gaps(starts, first)
    reach = [last for last, _, _ in gaps]
    cover = sorted((run for run in runs for _ in range(_gaps_reached(reach, run))), reverse=True)

    def room(finish: int) -> float:
        idle = sorted(
            (
                min(slot, following, finish) - last
                for last, following, slots in gaps
                if last < finish
                for slot in slots
            ),
            reverse=True,
        )
        covered = cover[: len(idle)] + [0] * (len(idle) - len(cover))
        lost = sum(max(0, gap - run) for gap, run in zip(idle, covered, strict=True))
        return sum(max(0, finish - slot) for slot in first) - lost

    return room


def _gaps(starts: Starts, first: list[int]) -> list[tuple[int, int, list[int]]]:
    """Return (last start before the gap, last start before the next one, ranked starts after)."""
    lasts = [last for _, last in starts.moments]
    out = []
    for i, last in enumerate(lasts):
        running = sum(slot <= last for slot in first)
        after = starts.ranked(last + 1, running)
        out.append((last, lasts[i + 1] if i + 1 < len(lasts) else NEVER, after))
    return [gap for gap in out if gap[2]]


def _gaps_reached(lasts: list[int], run: int) -> int:
    """Return into how many gaps one run of this length can reach."""
    return max(
        (bisect_left(lasts, last + run) - i for i, last in enumerate(lasts)),
        default=0,
    )
