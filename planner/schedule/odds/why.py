"""Why weekends were late: which plates' failures alone made them so."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from planner.schedule.odds.trial import Trial

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.schedule.instance import Instance
    from planner.schedule.odds.attempts import Drawn
    from planner.schedule.odds.trial import Intent, Outcome

LIVES_MORE = 3
"""Late weekends are lived anew in at most so many times as many lives as there were; our own."""


class Blame(NamedTuple):
    """Late weekends that would not have been, had this plate not failed, or had none."""

    by_plate: dict[int, float]
    all: int


def blame(
    instance: Instance,
    late: Sequence[Sequence[Drawn]],
    intent: Intent,
    due_s: float | None,
    *,
    trials: int,
) -> Blame:
    """Live the late ones anew without failures; those that are in time then, plate by plate.

    If that would be too many lives, the plates are looked at in the first of them only, and
    counted up.
    """
    saved = [drawn for drawn in late if _saved(instance, drawn, intent, _failed(drawn), due_s)]
    found = Counter[int]()
    budget, asked = LIVES_MORE * trials - len(late), 0
    for drawn in saved:
        failed = _failed(drawn)
        if budget < len(failed):
            break
        budget -= len(failed)
        asked += 1
        found.update(j for j in failed if _saved(instance, drawn, intent, [j], due_s))
    up = len(saved) / asked if asked else 0.0
    return Blame({plate: times * up for plate, times in found.items()}, len(saved))


def on_time(outcome: Outcome, intent: Intent, due_s: float | None) -> bool:
    """Tell whether every plate of the plan was good by the deadline (or at all)."""
    ends = (outcome.ends_s[plate] for plate in intent.order)
    return all(end is not None and (due_s is None or end <= due_s) for end in ends)


def _failed(drawn: Sequence[Drawn]) -> list[int]:
    return [plate for plate, own in enumerate(drawn) if own.fails_at]


def _saved(
    instance: Instance,
    drawn: Sequence[Drawn],
    intent: Intent,
    spared: Sequence[int],
    due_s: float | None,
) -> bool:
    """Tell whether the weekend is in time if these plates do not fail."""
    if not spared:
        return False
    other = [own._replace(fails_at=()) if j in spared else own for j, own in enumerate(drawn)]
    return on_time(Trial(instance, other, intent).run(), intent, due_s)
