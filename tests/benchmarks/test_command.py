"""How long the command takes as a whole process; run with `pytest -m benchmark -s`.

Seconds depend on the machine, so each figure is a ratio to something plain in the same run.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import time

import pytest

from planner.shipped import workshop_dir

COMMAND = "from planner.cli import main; main()"


def seconds(*arguments: str, runs: int) -> float:
    """Return the median wall time of a fresh interpreter."""
    spent = []
    for _ in range(runs):
        begin = time.perf_counter()
        subprocess.run([sys.executable, *arguments], check=False, capture_output=True)
        spent.append(time.perf_counter() - begin)
    return statistics.median(spent)


@pytest.mark.benchmark
def test_help_answers_at_once():
    """`--help` against an interpreter that imports click alone; the aim is 0.3 s."""
    base_s = seconds("-c", "import click", runs=7)
    help_s = seconds("-c", COMMAND, "--help", runs=7)

    print(f"--help {help_s:.3f} s, {help_s / base_s:.2f} x import click")
    assert help_s < 5 * base_s


@pytest.mark.benchmark
def test_the_sample_plan_is_quick_and_small():
    """`plan` on the sample against loading its meshes with trimesh; aims: 20 s and 1 GB."""
    meshes = workshop_dir() / "meshes"
    files = [str(path) for path in sorted(meshes.iterdir())]
    load = f"import trimesh; [trimesh.load(path) for path in {files!r}]"
    base_s = seconds("-c", load, runs=3)
    plan_s = seconds("-c", COMMAND, "plan", str(workshop_dir() / "job.yaml"), runs=3)
    peak_gb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1e6

    print(f"plan {plan_s:.1f} s, {plan_s / base_s:.1f} x loading the meshes; peak {peak_gb:.2f} GB")
    assert peak_gb < 1.0
