"""How far plans end above the bound, and how far above longest-first list scheduling they do not.

Ratios, not seconds: run with `pytest -m benchmark -s`. Ten weekends of each size; the work given
to each stands for ten seconds on a small computer.
"""

from __future__ import annotations

import random
from statistics import median

import pytest

from planner.schedule.instance import instance_of
from planner.schedule.search import best_board
from planner.schedule.solve import effort_for, plan_weekend
from tests.schedule.weekends import plate, spool, weekend, window

H = 3600.0
HOURS = [(0, 5), (14, 18), (20, 29), (39, 50), (62, 76), (86, 100)]  # from Friday, 18:00
SIZES = [(40, 3, 0), (40, 3, 480), (40, 8, 0), (40, 8, 480), (400, 40, 60)]
"""Plates, printers, hands-on time [s]."""
MEDIAN_AIM, WORST_AIM = 1.0, 3.0
"""Per cent, for forty plates on printers that are alike; the others are for reading."""


def problem(plates: int, printers: int, *, alike: bool, seed: int, hands_on_s: float, fill=0.55):
    """Return a weekend whose work fills `fill` of two days; sizes are invented."""
    rng = random.Random(seed)
    speed = {f"m{i}": 1.0 if alike else 0.8 + 0.05 * i for i in range(printers)}
    mean_s = 48 * H * printers / plates * fill
    tasks = []
    for j in range(plates):
        run_s = mean_s * rng.uniform(0.2, 1.8)
        tasks.append(plate(f"p{j}", {m: run_s * s for m, s in speed.items()}, grams=50))
    return weekend(
        tasks,
        machines=dict.fromkeys(speed, True),
        spools=[spool(f"s{i}", 50 * plates / printers + 150) for i in range(printers)],
        attendance=[window(a * H, b * H) for a, b in HOURS],
        hands_on_s=hands_on_s,
    )


def gaps(case) -> tuple[float, float]:
    """Return the gap of the plan and of the classical orders alone [%]."""
    work = effort_for(10)
    plan = plan_weekend(case, effort=work, proof=work)
    finish_s = (plan.finish - case.start).total_seconds()
    bound_s = (plan.lower_bound - case.start).total_seconds()
    list_s = best_board(instance_of(case), placements=0, seed=0, bound_s=0).finish_s
    assert bound_s <= finish_s <= list_s
    return 100 * (finish_s / bound_s - 1), 100 * (list_s / bound_s - 1)


@pytest.mark.benchmark
@pytest.mark.parametrize("alike", [True, False])
@pytest.mark.parametrize(("plates", "printers", "hands_on_s"), SIZES)
def test_gap_to_the_bound(plates, printers, hands_on_s, alike):
    """Prints median and worst of ten; never worse than the classical orders alone."""
    found = []
    for seed in range(10 if plates < 100 else 3):
        fill = 0.45 + 0.03 * seed
        found.append(
            gaps(
                problem(plates, printers, alike=alike, seed=seed, hands_on_s=hands_on_s, fill=fill)
            )
        )
    ours, lists = zip(*found, strict=True)

    print(
        f"\n{plates} x {printers} {'alike' if alike else 'differing'}, {hands_on_s} s hands-on: "
        f"median {median(ours):.2f} %, worst {max(ours):.2f} % over the bound; "
        f"list scheduling {median(lists):.1f} %, {max(lists):.1f} %"
    )
    if alike and plates == 40:
        assert median(ours) <= MEDIAN_AIM
        assert max(ours) <= WORST_AIM
