"""The weekend on a coarse grid of time: for bounds outwards, for plans inwards.

Outwards every rounding is in favour of an earlier finish. A run that really starts at s and
takes p starts in cell floor(s / unit) and ends in cell floor((s + p) / unit), which is
floor(s / unit) + floor(p / unit) or later: so a schedule on the grid, with runs rounded down
and stretches outwards, ends no later than the real one. Inwards it is the other way round:
what is a schedule on the grid is one in truth.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.schedule.clock import NEVER, Stretch

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from planner.schedule.instance import Instance, Kind
    from planner.schedule.starts import Starts


Doors = tuple[Stretch, ...]
"""Closed stretches of cells in which a run may start."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """Printers of one kind: how many, and (class, cells, doors) of what they can print."""

    kind: int
    machines: int
    runs: tuple[tuple[int, int, Doors], ...]

    @property
    def shortest(self) -> int:
        """The cells of the shortest run."""
        return min(cells for _, cells, _ in self.runs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crowd:
    """At most `most` starts begin in the cells [first, last], for want of hands."""

    first: int
    last: int
    most: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Lanes, crowds, and the plates in classes of equals; times up to `cells` cells."""

    unit_s: int
    cells: int
    classes: tuple[tuple[int, ...], ...]
    lanes: tuple[Lane, ...]
    crowds: tuple[Crowd, ...]


def grid_of(
    instance: Instance,
    starts: Starts,
    heads: Mapping[int, int],
    *,
    unit_s: int,
    until_s: int,
    inwards: bool = False,
) -> Grid:
    """Return the plates in `heads`, each not to start before its head, on a grid of `unit_s`.

    Rounded outwards, `unit_s` is at most the shortest run, so that every run takes a cell.
    """
    cells = until_s // unit_s
    alike: dict[tuple[tuple[int, int, Doors], ...], list[int]] = {}
    for plate, head_s in heads.items():
        ways = []
        for kind, run_s in instance.options[plate]:
            stretches = starts_of_run(starts, instance.kinds[kind], run_s, head_s)
            length = -(-run_s // unit_s) if inwards else run_s // unit_s
            doors = _in_cells(stretches, unit_s, cells - length, inwards=inwards)
            if doors:
                ways.append((kind, length, doors))
        alike.setdefault(tuple(ways), []).append(plate)
    lanes: list[list[tuple[int, int, Doors]]] = [[] for _ in instance.kinds]
    for number, same in enumerate(alike):
        for kind, length, doors in same:
            lanes[kind].append((number, length, doors))
    return Grid(
        unit_s=unit_s,
        cells=cells,
        classes=tuple(tuple(members) for members in alike.values()),
        lanes=tuple(
            Lane(kind=number, machines=len(kind.machines), runs=tuple(runs))
            for number, (kind, runs) in enumerate(zip(instance.kinds, lanes, strict=True))
            if runs
        ),
        crowds=_crowds(starts, unit_s, cells),
    )


def _in_cells(stretches: Iterable[Stretch], unit_s: int, last: int, *, inwards: bool) -> Doors:
    """Return the stretches in cells, as far as they begin by the cell `last`."""
    cells = (
        (-(-a // unit_s) if inwards else a // unit_s, min(b // unit_s, last)) for a, b in stretches
    )
    return tuple((first, end) for first, end in cells if first <= end)


def starts_of_run(starts: Starts, kind: Kind, run_s: int, head_s: int) -> list[Stretch]:
    """Return the closed stretches in which a run on this kind of printer can start [s]."""
    allowed = [(max(first, head_s), last) for first, last in starts.moments]
    if not kind.unattended:
        within = [(a, b - run_s) for a, b in starts.presence]
        allowed = [
            (max(first, a), min(last, b)) for first, last in allowed for a, b in within if a <= b
        ]
    free_from = 0
    free = []
    for begin, end in kind.blocked:  # a run may end when a blocked stretch begins
        free.append((free_from, begin - run_s))
        free_from = end
    free.append((free_from, NEVER))
    both = [(max(a, c), min(b, d)) for a, b in allowed for c, d in free]
    return sorted((a, b) for a, b in both if a <= b)


def _crowds(starts: Starts, unit_s: int, cells: int) -> tuple[Crowd, ...]:
    """Return that each person begins one start per hands-on time, from either end of a stay.

    Two starts of one person lie floor(hands-on time / unit) cells or more apart.
    """
    span = starts.hands_on_s // unit_s
    if not span:
        return ()
    found: Counter[tuple[int, int]] = Counter()
    for own in starts.people:
        stays = [(a // unit_s, (b - starts.hands_on_s) // unit_s) for a, b in own]
        stays = [(a, min(b, cells)) for a, b in stays if a <= min(b, cells)]
        spans = {(first, first + span - 1) for a, b in stays for first in range(a, b + 1, span)}
        spans |= {(last - span + 1, last) for a, b in stays for last in range(b, a - 1, -span)}
        found.update(spans)
    return tuple(_crowd(starts, unit_s, first, last) for first, last in sorted(found))


def _crowd(starts: Starts, unit_s: int, first: int, last: int) -> Crowd:
    people = sum(_can_start(own, starts.hands_on_s, unit_s, first, last) for own in starts.people)
    return Crowd(first=first, last=last, most=people)


def _can_start(own: Sequence[Stretch], hands_on_s: int, unit_s: int, first: int, last: int) -> bool:
    """Return whether a person can begin a start in these cells."""
    return any(
        a // unit_s <= last and (b - hands_on_s) // unit_s >= first
        for a, b in own
        if b - a >= hands_on_s
    )
