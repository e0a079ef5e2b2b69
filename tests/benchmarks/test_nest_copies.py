"""What a plan of very many copies costs: 250 to 2,000 copies of 60 shapes.

CPU seconds of the first plan are printed with the power of the count they grow with; the
largest plan must come within a minute and 1.5 GB, in a process of its own.
"""

from __future__ import annotations

import json
import math
import resource
import subprocess
import sys
import time

import pytest

from planner.nest.model import Item
from planner.nest.pack import effort_for, pack
from tests.benchmarks.nest_mixes import BINS, BRACKETS, LARGE, PEBBLES, WALL, bed, footprint

COUNTS = (250, 500, 1000, 2000)
SHAPES = 60


def shapes():
    """Return 60 different shapes of the mixes."""
    rows = [shape for mix in (WALL, BRACKETS, BINS, LARGE, PEBBLES) for shape, _ in mix]
    return rows[:SHAPES]


def measured(copies, seconds):
    """Pack so many copies of 60 shapes; print what that took."""
    items = [
        Item(
            id=f"part {number}",
            footprint=footprint(shape),
            quantity=copies // SHAPES + (number < copies % SHAPES),
        )
        for number, shape in enumerate(shapes())
    ]
    begin = time.process_time()
    packing = pack(
        items, [bed("b", 250, 250)], clearance_mm=4, edge_mm=3, effort=effort_for(seconds)
    )
    told = {
        "plates": len(packing.plates),
        "bound": packing.lower_bound,
        "unplaced": len(packing.unplaced),
        "cpu_s": round(time.process_time() - begin, 2),
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1000,
    }
    print(json.dumps(told))


def run(copies, seconds):
    code = f"from tests.benchmarks.test_nest_copies import measured; measured({copies}, {seconds})"
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return json.loads(done.stdout)


@pytest.mark.benchmark
def test_the_cost_of_a_first_plan_grows_less_than_quadratically(capsys):
    """The slope between the ends of the curve, on double logarithmic paper."""
    cost = {copies: run(copies, 0.0) for copies in COUNTS}
    power = math.log(cost[COUNTS[-1]]["cpu_s"] / cost[COUNTS[0]]["cpu_s"]) / math.log(
        COUNTS[-1] / COUNTS[0]
    )
    with capsys.disabled():
        for copies, told in cost.items():
            print(f"{copies} copies: {told}")
        print(f"grows with the power {power:.2f} of the count")

    assert power < 2


@pytest.mark.benchmark
def test_two_thousand_copies_within_a_minute_and_one_and_a_half_gigabytes(capsys):
    """At what stands for thirty seconds of search."""
    told = run(2000, 30.0)
    with capsys.disabled():
        print(f"2000 copies: {told}")

    assert told["unplaced"] == 0
    assert told["cpu_s"] < 60
    assert told["peak_mb"] < 1500
