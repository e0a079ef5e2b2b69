"""Time and memory of ranking build directions, for each load-bearing part of the workshop."""

from __future__ import annotations

import resource
import time

import pytest

from planner.job.load import load_job
from planner.shipped import workshop_dir
from planner.solid.read import read_solid
from planner.strength.material import printed
from planner.strength.orient import orient

pytestmark = pytest.mark.benchmark


def test_each_loaded_part_of_the_workshop():
    """Print seconds (wall and processor), bricks, steps, and what is recommended."""
    job = load_job(workshop_dir() / "job.yaml")
    for name, part in job.parts.items():
        if not part.loads:
            continue
        settings = part.settings
        material = printed(
            job.filaments[settings.material],
            walls=settings.walls,
            infill=settings.infill,
            line_width_mm=settings.line_width_mm,
        )
        solid = read_solid(part.mesh, unit=part.unit, name=name)
        wall, busy = time.perf_counter(), time.process_time()
        found = orient(solid, part.loads, material, up=part.up)
        wall, busy = time.perf_counter() - wall, time.process_time() - busy
        field = found.fields[0]
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"{name:18} {wall:5.1f} s, {busy:5.1f} s busy, {len(found.fields)} cases, "
            f"{field.bricks} bricks, {field.steps} steps, {peak_mb:.0f} MB so far: {found.reason}"
        )
        assert all(each.steps > 0 for each in found.fields)
