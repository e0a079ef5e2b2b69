"""Finishes that no plan can beat, each from one argument; the latest of them counts.

All of them relax the weekend (drop rules), so they hold for any plan that prints the given
plates: (1) no plate ends before its own first possible start plus its run; (2) the runs need
printer time, and a printer that ends at night stands still until somebody comes; (3) starts
take hands, and a pair of hands starts one plate at a time; (4) as (2) for the spools. A run
is the hands-on time with which it begins and the printing after it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from planner.schedule.clock import NEVER, after_presence, first_second
from planner.schedule.price import work_finish, work_of
from planner.schedule.room import Room, room_of, uncovered
from planner.schedule.starts import Starts, starts_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.schedule.instance import Instance


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """The earliest finish [s after the start] that can be, and the argument in words.

    `advice` maps plates to the kind of printer that has most of their share when the work is
    spread evenly in fractions: a hint for the search.
    """

    finish_s: int
    words: str
    advice: tuple[tuple[int, int], ...]


def lower_bound(instance: Instance, plates: Sequence[int]) -> Bound | None:
    """Return a bound for every plan that prints all of `plates`; None without plates.

    Each of them must have a printer that can take it.
    """
    if not plates:
        return None
    starts = starts_of(instance)
    heads, ends = heads_and_ends(instance, starts)
    work_s, advice = _printers(instance, starts, {j: heads[j] for j in plates})
    arguments = [
        (max(ends[j] for j in plates), "the plate that can end no sooner, by what it waits for"),
        (_hands(instance, starts, plates), "the hands-on time: one start at a time per person"),
        (work_s, "the work of all plates: printers are started only while somebody is there"),
        (_spools(instance, starts, plates), "the spools: each feeds one printer at a time"),
    ]
    finish_s, words = max(arguments, key=lambda argument: argument[0])
    return Bound(finish_s=finish_s, words=words, advice=advice)


def heads_and_ends(instance: Instance, starts: Starts) -> tuple[list[int], list[int]]:
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


def _hands(instance: Instance, starts: Starts, plates: Sequence[int]) -> int:
    """Return the hands argument: of the k longest plates, one starts at the k-th start or later."""
    runs = sorted((_shortest(instance, plate) for plate in plates), reverse=True)
    ranked = starts.ranked(0, len(runs))
    return max(start + run for start, run in zip(ranked, runs, strict=True))


def _shortest(instance: Instance, plate: int) -> int:
    return min(seconds for _, seconds in instance.options[plate])


def _printers(
    instance: Instance, starts: Starts, heads: dict[int, int]
) -> tuple[int, tuple[tuple[int, int], ...]]:
    """Return the work argument, for all plates and for those that wait longest; and advice."""
    best = 0
    advice: tuple[tuple[int, int], ...] = ()
    for head_s in sorted(set(heads.values())):
        late = [plate for plate, own in heads.items() if own >= head_s]
        work = work_of(instance, starts, late, head_s)
        finish_s, shares = work_finish(work, head_s)
        best = max(best, finish_s)
        if len(late) == len(heads):
            favourites = (work.kinds[int(column)] for column in shares.argmax(axis=1))
            advice = tuple(zip(late, favourites, strict=True))
    return best, advice


def _spools(instance: Instance, starts: Starts, plates: Sequence[int]) -> int:
    """Return the work argument for each set of spools that shares plates."""
    printers = sum(len(kind.machines) for kind in instance.kinds)
    best = 0
    for spools in sorted({instance.spools_for[plate] for plate in plates}):
        if not spools or len(spools) >= printers:
            continue
        fed = [plate for plate in plates if set(instance.spools_for[plate]) <= set(spools)]
        alone = any(
            instance.kinds[kind].unattended for plate in fed for kind, _ in instance.options[plate]
        )
        room = room_of(starts, machines=len(spools), unattended=alone, begin=0)
        covers = room.covers(max(s for _, s in instance.options[plate]) for plate in fed)
        work_s = sum(_shortest(instance, plate) for plate in fed)
        best = max(best, first_second(partial(_has_room, room, covers, work_s), 0))
    return best


def _has_room(room: Room, covers: list[float], work_s: int, finish: int) -> bool:
    gaps = [float(gap) for gap in room.gaps_s(finish)]
    return room.gross_s(finish) - uncovered(gaps, covers) >= work_s
