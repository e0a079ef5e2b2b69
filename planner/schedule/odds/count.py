"""From what became of the trials to odds: shares, hours and risks."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from planner.schedule.clock import local_time
from planner.schedule.odds.model import Odds, PlateRisk

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from planner.schedule.odds.model import Lived

SURE = (0.5, 0.8, 0.95)
"""The shares whose hours are always told."""


def odds_of(lived: Lived) -> Odds:
    """Count the trials."""
    count = lived.trials
    on_time = share_on_time(lived)
    risks = [
        PlateRisk(
            plate=plate,
            fails=sum(plate in failed for failed in lived.failures) / count,
            late_by_it=lived.saved[plate] / count,
        )
        for plate in lived.plates
    ]
    return Odds(
        trials=count,
        by_deadline=on_time,
        if_none_failed=on_time + lived.saved_all / count,
        done_by=tuple((share, done_by(lived, share)) for share in SURE),
        short_of_filament=lived.no_filament / count,
        reprints=sum(len(failed) for failed in lived.failures) / count,
        risks=tuple(sorted(risks, key=lambda risk: (-risk.late_by_it, risk.plate))),
    )


def finishes_s(lived: Lived) -> list[int]:
    """Return when all was good, sorted, of the trials in which all ever was."""
    whole = (ends for ends in lived.ends_s if None not in ends)
    return sorted(max(end for end in ends if end is not None) for ends in whole)


def share_on_time(lived: Lived, without: Collection[str] = ()) -> float:
    """Return the share of trials in which all plates, but those `without`, made the deadline."""
    due_s = lived.due_s
    asked = [place for place, plate in enumerate(lived.plates) if plate not in without]
    good = sum(
        all((end := ends[j]) is not None and (due_s is None or end <= due_s) for j in asked)
        for ends in lived.ends_s
    )
    return good / lived.trials


def done_by_s(lived: Lived, share: float) -> int | None:
    """Return the second by which that share of all trials was done; None if fewer ever were."""
    ends = finishes_s(lived)
    rank = ceil(share * lived.trials - 1e-9) - 1
    return ends[rank] if rank < len(ends) else None


def done_by(lived: Lived, share: float) -> datetime | None:
    """Return the time by which that share of all trials was done; None if fewer ever were."""
    second = done_by_s(lived, share)
    return None if second is None else local_time(lived.start, second)
