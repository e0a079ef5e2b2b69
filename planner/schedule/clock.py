"""Whole seconds from the start of the weekend, and stretches of them.

Arithmetic on two times of the same zone is wall-clock arithmetic in Python and an hour
wrong in the nights when the clocks change. So every time becomes UTC first, then whole
seconds from the start; only the answer is turned back into local time.
"""

from __future__ import annotations

from bisect import bisect_right
from datetime import UTC, datetime, timedelta, timezone
from math import ceil, floor
from operator import itemgetter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

NEVER = 1 << 60
"""Later than anything, in seconds."""

Stretch = tuple[int, int]
"""[from, to) in seconds after the start of the weekend."""


def seconds_after(start: datetime, moment: datetime) -> float:
    """Return the seconds that really pass between two aware times, whatever their zones."""
    return (moment.astimezone(UTC) - start.astimezone(UTC)).total_seconds()


def local_time(start: datetime, seconds: float) -> datetime:
    """Return the time `seconds` after `start`, on the clocks of the zone of `start`.

    The result carries its offset and not the zone, so that it can be subtracted safely.

    >>> from zoneinfo import ZoneInfo
    >>> evening = datetime(2026, 10, 24, 22, tzinfo=ZoneInfo("Europe/Lisbon"))
    >>> local_time(evening, 4 * 3600).isoformat()  # the clocks go back in between
    '2026-10-25T01:00:00+00:00'
    """
    shown = (start.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(start.tzinfo)
    return shown.replace(tzinfo=timezone(shown.utcoffset() or timedelta()), fold=0)


def inner_stretch(start: datetime, begin: datetime, end: datetime) -> Stretch:
    """Return the whole seconds inside a window, cut off at the start of the weekend.

    A window that is already over gives a stretch that is empty or runs backwards.
    """
    return max(0, ceil(seconds_after(start, begin))), floor(seconds_after(start, end))


def outer_stretch(start: datetime, begin: datetime, end: datetime) -> Stretch:
    """Return the whole seconds that a window touches, cut off at the start of the weekend."""
    return max(0, floor(seconds_after(start, begin))), ceil(seconds_after(start, end))


def joined(stretches: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """Return sorted stretches without overlap; those that touch become one, empty ones go.

    >>> joined([(5, 9), (0, 5), (20, 30), (12, 12)])
    ((0, 9), (20, 30))
    """
    out: list[Stretch] = []
    for begin, end in sorted(stretches):
        if end <= begin:
            continue
        if out and begin <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((begin, end))
    return tuple(out)


def overlap_s(stretches: tuple[Stretch, ...], begin: int, end: int) -> int:
    """Return how much of [begin, end) lies inside the stretches.

    >>> overlap_s(((0, 10), (20, 30)), 5, 25)
    10
    """
    return sum(max(0, min(end, b) - max(begin, a)) for a, b in stretches)


def clear_from(stretches: tuple[Stretch, ...], begin: int, wanted_s: int) -> int:
    """Return the first moment from `begin` on after which `wanted_s` pass outside the stretches.

    The stretches are sorted and do not overlap.

    >>> clear_from(((10, 20), (25, 30)), 5, 5), clear_from(((10, 20), (25, 30)), 5, 6)
    (5, 30)
    """
    for i in range(bisect_right(stretches, begin, key=itemgetter(1)), len(stretches)):
        if stretches[i][0] >= begin + wanted_s:
            break
        begin = stretches[i][1]
    return begin


def after_presence(stretches: tuple[Stretch, ...], begin: int, wanted_s: int) -> int | None:
    """Return when `wanted_s` seconds of presence have passed since `begin`; None if never.

    >>> after_presence(((0, 10), (20, 30)), 5, 8)
    23
    """
    if wanted_s <= 0:
        return begin
    for a, b in stretches:
        usable_s = b - max(a, begin)
        if usable_s >= wanted_s:
            return max(a, begin) + wanted_s
        wanted_s -= max(0, usable_s)
    return None


def first_second(enough: Callable[[int], bool], begin: int) -> int:
    """Return the first second after `begin` at which `enough`, which stays true, is true.

    Returns `NEVER` if it never is.

    >>> first_second(lambda second: second >= 4000, 0)
    4000
    """
    low, high = begin, begin + 3600
    while not enough(high):
        low, high = high, begin + 2 * (high - begin)
        if high > NEVER:
            return NEVER
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high
