"""Measuring toolpaths: a large file, its seconds and memory; forty plates with known truth."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.audit.measure.catalogue import DESIGNED, numbered
from tests.audit.measure.large import write_large
from tests.audit.measure.scoring import Tally, score

pytestmark = pytest.mark.benchmark

RANDOM = range(500, 514)
"""Plates of chance, drawn after the code was written."""
LEAST = {
    "layer_mm": 1.0,
    "first_layer_mm": 1.0,
    "line_width_mm": 1.0,
    "filament_mm3": 1.0,
    "parts": 1.0,
    "spiral": 1.0,
    "sequence": 1.0,
    "time": 1.0,
    "no false fault": 1.0,
    "walls exact or bounded": 0.97,
    "walls, firm answers": 0.98,
    "skins": 0.98,
    "support": 0.97,
    "brim_mm": 0.97,
    "infill": 0.97,
}

MEASURE = """
import resource
import sys
import time

from pathlib import Path
from planner.audit.measure import measure_toolpath
from planner.settings.load import load_printer
start = time.process_time()
measure_toolpath(Path(sys.argv[1]), printer=load_printer("open_frame_220"))
print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def test_a_file_of_50_mb(tmp_path):
    """Under 10 s of one core and 800 MB, in a process of its own."""
    path = tmp_path / "large.gcode"
    write_large(path, 50)
    run = subprocess.run(
        [sys.executable, "-c", MEASURE, str(path)], capture_output=True, text=True, check=True
    )
    seconds, megabytes = map(float, run.stdout.split())
    print(f"{path.stat().st_size / 1e6:.1f} MB: {seconds:.1f} s of CPU, {megabytes:.0f} MB")

    assert path.stat().st_size > 45e6
    assert seconds < 10
    assert megabytes < 800


def test_forty_plates(tmp_path):
    """Shares of right answers, designed plates and random ones; what is wrong is printed."""
    tally = Tally()
    for recipe in (*DESIGNED, *numbered(RANDOM))[:41]:
        score(recipe, tmp_path, tally)
    print(tally.table())
    for quantity, info in tally.wrong:
        print(quantity, info)

    assert {k: tally.share(k) for k in LEAST if tally.share(k) < LEAST[k]} == {}
