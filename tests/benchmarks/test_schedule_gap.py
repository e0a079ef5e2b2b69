"""How far plans end above the bound, and how far above longest-first list scheduling they do not.

Ratios, not seconds: run with `pytest -m benchmark -s`.
"""

from __future__ import annotations

import random

import pytest

from planner.schedule.instance import instance_of
from planner.schedule.search import best_board
from planner.schedule.solve import EFFORT, plan_weekend
from tests.schedule.weekends import plate, spool, weekend, window

H = 3600.0
HOURS = [(0, 5), (14, 18), (20, 29), (39, 50), (62, 76), (86, 100)]  # from Friday, 18:00


def problem(plates: int, printers: int, *, alike: bool, seed: int):
    """Return a weekend whose work fills about two days; sizes are invented."""
    rng = random.Random(seed)
    speed = {f"m{i}": 1.0 if alike else 0.8 + 0.05 * i for i in range(printers)}
    mean_s = 48 * H * printers / plates * 0.55
    tasks = []
    for j in range(plates):
        run_s = mean_s * rng.uniform(0.2, 1.8)
        tasks.append(plate(f"p{j}", {m: run_s * s for m, s in speed.items()}, grams=50))
    return weekend(
        tasks,
        machines=dict.fromkeys(speed, True),
        spools=[spool(f"s{i}", 50 * plates / printers + 150) for i in range(printers)],
        attendance=[window(a * H, b * H) for a, b in HOURS],
        hands_on_s=480 if printers < 20 else 60,
    )


@pytest.mark.benchmark
@pytest.mark.parametrize("alike", [True, False])
@pytest.mark.parametrize(("plates", "printers"), [(60, 3), (40, 8), (400, 40)])
def test_gap_to_the_bound(plates, printers, alike):
    """Prints finish over bound; never worse than the classical orders alone."""
    for seed in (1, 2, 3):
        case = problem(plates, printers, alike=alike, seed=seed)
        plan = plan_weekend(case, effort=EFFORT)
        finish_s = (plan.finish - case.start).total_seconds()
        bound_s = (plan.lower_bound - case.start).total_seconds()
        list_s = best_board(instance_of(case), placements=0, seed=0, bound_s=0).finish_s

        print(
            f"{plates} x {printers} {'alike' if alike else 'differing'}: "
            f"{100 * (finish_s / bound_s - 1):.1f} % over the bound, "
            f"list scheduling {100 * (list_s / bound_s - 1):.1f} %"
        )
        assert bound_s <= finish_s <= list_s
