"""What an answer costs: kinds, copies, points and turns by the thousand.

CPU seconds are printed, and asserted with room for a machine half as fast as the one they were
measured on; peak memory is that of a process of its own.
"""

from __future__ import annotations

import json
import math
import resource
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from planner.nest.load import load_nest
from planner.nest.pack import pack
from tests.benchmarks.nest_mixes import MIXES

BED = {"id": "b", "width_mm": 220, "depth_mm": 220}


def quadrilaterals(count):
    """Return different four-cornered shapes of 10 to 45 mm radius."""
    random = np.random.default_rng(1)
    items = []
    for number in range(count):
        angles = np.radians(np.arange(4) * 90 + random.uniform(10, 80, 4))
        radii = random.uniform(10, 45) * random.uniform(0.6, 1.0, 4)
        corners = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
        items.append({"id": f"p{number}", "outline": corners.round(3).tolist()})
    return items


def wheel(points, **more):
    """Return a toothed wheel: so many corners, on two radii in turn."""
    turns = [2 * math.pi * number / points for number in range(points)]
    reach = [40.0 if number % 2 else 20.0 for number in range(points)]
    corners = [
        [round(r * math.cos(t), 4), round(r * math.sin(t), 4)]
        for r, t in zip(reach, turns, strict=True)
    ]
    return {"id": "wheel", "outline": corners, "quantity": 20} | more


CASES = {
    "500 kinds": (quadrilaterals(500), 20.0, 500),
    "5000 kinds": (quadrilaterals(5000), 60.0, 1000),
    "5000 points": ([wheel(5000)], 20.0, 500),
    "20,000 points, 360 turns": (
        [wheel(20_000, rotations_deg=[float(turn) for turn in range(360)])],
        60.0,
        1500,
    ),
}


@pytest.mark.benchmark
@pytest.mark.parametrize("name", CASES)
def test_cpu_seconds_and_megabytes_of_large_problems(name, tmp_path, capsys):
    """Everything is laid, checked by the packer, within the seconds and megabytes set."""
    items, most_s, most_mb = CASES[name]
    file = tmp_path / "nest.json"
    file.write_text(json.dumps({"items": items, "beds": [BED], "clearance_mm": 4, "edge_mm": 3}))
    run = subprocess.run(
        [sys.executable, "-c", MEASURE, str(file)], check=True, capture_output=True, text=True
    )
    told = json.loads(run.stdout)
    with capsys.disabled():
        print(f"{name}: {told}")

    assert told["unplaced"] == 0
    assert told["cpu_s"] < most_s
    assert told["peak_mb"] < most_mb


MEASURE = """
import sys
from tests.benchmarks.test_nest_scale import measured
measured(sys.argv[1])
"""


def measured(file):
    """Pack a file at the default effort and print what that took."""
    problem = load_nest(Path(file))
    packing = pack(
        problem.items,
        problem.beds,
        clearance_mm=problem.clearance_mm,
        edge_mm=problem.edge_mm,
        effort=150,
    )
    told = {
        "plates": len(packing.plates),
        "bound": packing.lower_bound,
        "unplaced": len(packing.unplaced),
        "cpu_s": round(time.process_time(), 1),
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1000,
    }
    print(json.dumps(told))


@pytest.mark.benchmark
def test_shapes_and_pairs_of_one_call_serve_the_next(capsys):
    """Subsets of one mix, as when a plan tries several ways to share parts out, packed twice."""
    items, beds, clearance_mm, edge_mm = MIXES["brackets on 250"]
    spent = []
    for _ in range(2):
        begin = time.process_time()
        for first in range(len(items) - 3):
            few = items[first : first + 4]
            pack(few, beds, clearance_mm=clearance_mm, edge_mm=edge_mm, effort=1)
        spent.append(time.process_time() - begin)
    with capsys.disabled():
        print(f"subsets: {spent[0]:.2f} s, once more {spent[1]:.2f} s")

    assert spent[1] < spent[0]
