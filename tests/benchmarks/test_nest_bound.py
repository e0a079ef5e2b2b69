"""How much nearer to the plates found the bound comes than the area of the parts alone.

The area bound is the sum of the parts' areas, each with half the clearance around it, over the
room of the beds.  Both are held against the same plates; CPU time is printed, not judged.
"""

from __future__ import annotations

from time import process_time

import pytest
import shapely

from planner.nest.bound import lower_bound
from planner.nest.bound.count import by_counts
from planner.nest.bound.problem import problem_of
from planner.nest.model import NO_WISHES
from planner.nest.pack import pack
from tests.benchmarks.nest_mixes import BINS, BRACKETS, LARGE, MIXES, WALL, bed, items

MORE_PLATES = 4
"""What the bound gains over the area bound on the eight mixes: our own measurement, to be kept."""


@pytest.mark.benchmark
def test_gap_on_eight_mixes_against_the_area_bound(capsys):
    """Every bound is at least the area bound and at most the plates found."""
    total = [0, 0, 0]
    for name, (parts, beds, clearance_mm, edge_mm) in MIXES.items():
        case = problem_of(parts, beds, clearance_mm, edge_mm, NO_WISHES)
        area = by_counts(
            sum(part.quantity * own for part, own in zip(parts, case.area_mm2, strict=True)),
            case.room_mm2,
            [kind.count for kind in beds],
        )
        start = process_time()
        found = lower_bound(parts, beds, clearance_mm=clearance_mm, edge_mm=edge_mm)
        spent = process_time() - start
        plates = len(pack(parts, beds, clearance_mm=clearance_mm, edge_mm=edge_mm).plates)
        with capsys.disabled():
            print(
                f"{name}: {plates} plates, by area {area}, bound {found.plates} "
                f"({found.by}), {spent:.2f} s"
            )
        assert area <= found.plates <= plates
        total = [
            one + other for one, other in zip(total, (plates, area, found.plates), strict=True)
        ]
    plates, area, bound = total
    with capsys.disabled():
        print(
            f"in all {plates} plates, by area {area}, bound {bound}: "
            f"the gap shrinks from {plates - area} to {plates - bound}"
        )

    assert bound >= area + MORE_PLATES


@pytest.mark.benchmark
def test_cpu_of_the_bound_for_two_thousand_copies(capsys):
    """1,980 copies of 60 shapes: stretched ones of the mixes."""
    rows = [
        (shapely.affinity.scale(shape, 0.9 + 0.003 * number, 0.8 + 0.004 * number), 33)
        for number in range(60)
        for shape, _ in ((WALL + BRACKETS + BINS + LARGE)[number % 58],)
    ]
    parts = items(rows)
    start = process_time()
    found = lower_bound(parts, [bed("b", 300, 300)], clearance_mm=4.0, edge_mm=3.0)

    with capsys.disabled():
        print(f"{sum(p.quantity for p in parts)} copies: {found}, {process_time() - start:.2f} s")
    assert found.plates > 60
