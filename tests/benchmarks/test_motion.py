"""Speed of the look-ahead and of reading toolpaths, against plain Python loops in the same run."""

from __future__ import annotations

import resource
import time

import numpy as np
import pytest

from planner.motion.corner import JunctionDeviation
from planner.motion.limits import Limits
from planner.motion.lookahead import move_seconds
from planner.motion.toolpath.read import read_toolpath
from planner.motion.toolpath.stream import stream
from planner.settings.load import load_printer
from tests.motion import sequential
from tests.motion.toolpath.plain import Interpreter

pytestmark = pytest.mark.benchmark
FREE = (1e6, 1e6, 1e6)


def best_of(times, function):
    """Shortest of some runs, in s of this process alone."""
    spans = []
    for _ in range(times):
        start = time.process_time()
        function()
        spans.append(time.process_time() - start)
    return min(spans)


def wander(count):
    """Return a path of short moves that turns gently: ramps of many moves."""
    random = np.random.default_rng(1)
    heading = np.cumsum(random.normal(0, 0.3, count))
    length = random.exponential(1.0, count)
    return np.column_stack([length * np.cos(heading), length * np.sin(heading)])


def write_wall(path, layers, sides=2000):
    """Write a round wall: G1 X Y E lines as they stand in most files, retractions, travel."""
    angle = np.linspace(0, 2 * np.pi, sides)
    x, y = 110 + 60 * np.cos(angle), 110 + 60 * np.sin(angle)
    ring = "".join(f"G1 X{a:.3f} Y{b:.3f} E0.00627\n" for a, b in zip(x, y, strict=True))
    with path.open("w") as file:
        file.write("G21\nG90\nM83\nM104 S205\nG28\nM109 S205\n")
        for layer in range(layers):
            file.write(f"; layer {layer}\nG0 X170 Y110 Z{0.2 * (layer + 1):.2f} F9000\n")
            file.write(f"G1 E0.8 F2100\nG1 F1800\n{ring}G1 E-0.8 F2100\n")
        file.write("M104 S0\n")


def test_look_ahead_against_a_plain_loop():
    """At least 2 million moves/s; at least 20 times as many as one after the other."""
    count, few = 1_000_000, 20_000
    vectors = wander(count)
    limits = Limits(
        speed_mm_s=FREE, acceleration_mm_s2=FREE, corner=JunctionDeviation(deviation_mm=0.02)
    )
    fast = count / best_of(
        3, lambda: move_seconds(vectors, speed_mm_s=80, acceleration_mm_s2=1500, limits=limits)
    )
    moves = [(vector, 80.0, 1500.0, 0) for vector in vectors[:few].tolist()]
    free = {"speed": FREE, "acceleration": FREE}
    corner = sequential.deviation_corner(0.02)
    plain = few / best_of(3, lambda: sequential.times(moves, free, corner=corner))
    print(f"look-ahead {fast / 1e6:.1f} million moves/s, {fast / plain:.0f} x a plain loop")

    assert fast > 2e6
    assert fast > 20 * plain


def test_reading_against_a_plain_loop(tmp_path):
    """Words and moves at 15 MB/s or more; at least 5 times a plain interpreter."""
    path, small = tmp_path / "wall.gcode", tmp_path / "small.gcode"
    write_wall(path, layers=200)
    write_wall(small, layers=8)

    def read():
        for _ in stream(path):
            pass

    fast = path.stat().st_size / best_of(3, read)
    plain = small.stat().st_size / best_of(2, lambda: Interpreter().run(small.read_text()))
    print(f"reading {fast / 1e6:.1f} MB/s, {fast / plain:.0f} x a plain loop")

    assert fast > 15e6
    assert fast > 5 * plain


def test_an_estimate_of_a_large_file(tmp_path):
    """Three look-aheads included, over 8 MB/s; under 1 GB in all for a file of 200 MB."""
    path = tmp_path / "wall.gcode"
    write_wall(path, layers=3500)
    printer = load_printer("open_frame_220")
    fast = path.stat().st_size / best_of(1, lambda: read_toolpath(path, printer))
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{path.stat().st_size / 1e6:.0f} MB at {fast / 1e6:.1f} MB/s, {peak_mb:.0f} MB of memory"
    )

    assert path.stat().st_size > 200e6
    assert fast > 8e6
    assert peak_mb < 1000
