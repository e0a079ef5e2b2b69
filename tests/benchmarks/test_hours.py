"""Hours won by choosing plates and their hours together, against filling every plate first.

Hours of the weekend, not of the computer: run with `pytest -m benchmark -s` on this file.
"""

from __future__ import annotations

from statistics import median

import pytest

from planner.handover.hours.choose import RECIPES, badness, plates_for_the_hours
from tests.benchmarks.hours_weekends import MIXES, weekend_of_parts

HOUR_S = 3600.0
SECONDS = 3.0


@pytest.mark.benchmark
def test_hours_won_over_full_plates():
    """Prints the finish of full plates, of the best recipe and of the choice; none is later.

    "First recipe" is full plates as shared out for the earliest finish; "full" the better of
    the two ways of sharing them out, scheduled with as much work as the choice.
    """
    won, won_first = [], []
    for mix in MIXES:
        job, parts = weekend_of_parts(mix)

        chosen = plates_for_the_hours(job, parts, seconds=SECONDS, seed=0)

        hours = chosen.hours
        ends_h = [
            (weekend.finish - job.start).total_seconds() / 3600 for _, weekend in chosen.tried
        ]
        finish_h = (hours.finish - job.start).total_seconds() / 3600
        full_h = (hours.full_finish - job.start).total_seconds() / 3600
        recipe_h = min(ends_h[: len(RECIPES)])
        won.append(hours.won_s / HOUR_S)
        won_first.append(ends_h[0] - finish_h)
        print(
            f"{mix.name}: first recipe {ends_h[0]:.1f} h, full {full_h:.1f} h "
            f"({hours.full_plates} plates), best recipe {recipe_h:.1f} h, "
            f"chosen {finish_h:.1f} h ({hours.plates} plates): {won[-1]:.1f} h won"
        )
        assert hours.missing == hours.full_missing == 0
        assert finish_h <= full_h
        own = badness(job, chosen.plates, chosen.weekend)
        assert all(own <= badness(job, *each) for each in chosen.tried)
    print(f"hours won, median of {len(won)}: {median(won):.1f} over full plates, ", end="")
    print(f"{median(won_first):.1f} over the first recipe")
