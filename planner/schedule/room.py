"""How much printing a group of printers (or spools) can do by a given time, at the most."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.schedule.clock import NEVER, overlap_s

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.schedule.starts import Starts


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A time without starts, after the moment `last`.

    `following` is the last moment before the next gap, `slots` the earliest times at which
    the machines that run can be started again, in order.
    """

    last: int
    following: int
    slots: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Some machines alike, from some time on.

    The i-th of them starts no sooner than `first[i]`, the i-th start there can be. Between
    two moments of starting, B and then A, a machine runs on only for as long as what it was
    started with by B: it stands still for at least (its first start after A) - B - run.
    Machines that must not run alone have the hours of presence and no gaps.
    """

    starts: Starts
    unattended: bool
    first: tuple[int, ...]
    gaps: tuple[Gap, ...]

    def gross_s(self, finish: int) -> int:
        """Return the machine seconds by `finish`, as if every gap could be run through."""
        if not self.unattended:
            presence = self.starts.presence
            return sum(overlap_s(presence, slot, finish) for slot in self.first)
        return sum(max(0, finish - slot) for slot in self.first)

    def gaps_s(self, finish: int) -> list[int]:
        """Return the lengths of the gaps by `finish`, one for each machine and gap."""
        return [
            min(slot, gap.following, finish) - gap.last
            for gap in self.gaps
            if gap.last < finish
            for slot in gap.slots
        ]

    def gaps_reached(self, run_s: int) -> int:
        """Return into how many gaps one run of this length can reach."""
        lasts = [gap.last for gap in self.gaps]
        return max(
            (bisect_left(lasts, last + run_s) - i for i, last in enumerate(lasts)), default=0
        )

    def covers(self, runs_s: Iterable[int]) -> list[float]:
        """Return the runs, longest first, each as often as it can reach into a gap."""
        return sorted((float(r) for r in runs_s for _ in range(self.gaps_reached(r))), reverse=True)


def room_of(starts: Starts, *, machines: int, unattended: bool, begin: int) -> Room:
    """Return the room of so many machines alike from `begin` on."""
    first = tuple(starts.ranked(begin, machines))
    gaps = _gaps(starts, first) if unattended else ()
    return Room(starts=starts, unattended=unattended, first=first, gaps=gaps)


def _gaps(starts: Starts, first: tuple[int, ...]) -> tuple[Gap, ...]:
    lasts = [last for _, last in starts.moments]
    gaps = []
    for last, following in zip(lasts, [*lasts, NEVER][1:], strict=True):
        running = sum(slot <= last for slot in first)
        if running:
            slots = tuple(starts.ranked(last + 1, running))
            gaps.append(Gap(last=last, following=following, slots=slots))
    return tuple(gaps)


def uncovered(gaps: list[float], covers: list[float]) -> float:
    """Return what is left of the gaps when each is covered by a run of its own.

    `covers` is sorted, longest first. Matching both in order of length leaves the least, since
    max(0, x - y) is convex in x - y.

    >>> uncovered([5.0, 9.0], [8.0, 7.0])
    1.0
    """
    longest = sorted(gaps, reverse=True)
    padded = covers[: len(longest)] + [0.0] * (len(longest) - len(covers))
    return sum(max(0.0, gap - run) for gap, run in zip(longest, padded, strict=True))
