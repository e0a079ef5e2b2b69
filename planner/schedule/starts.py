"""The moments at which somebody can begin to start a plate, for the bound."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.schedule.clock import NEVER, Stretch, joined

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.schedule.instance import Instance


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
