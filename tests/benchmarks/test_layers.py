"""Layering against a plain cutter, on engineering meshes; run with `pytest -m benchmark -s`.

All figures are ratios of processor time in the same run.
"""

from __future__ import annotations

import statistics
import time
from dataclasses import replace

import numpy as np
import pytest

from planner.layers.lay import lay
from planner.layers.stack import stack
from planner.layers.timing import time_on
from planner.settings.load import load_printer, load_settings
from planner.shipped import workshop_dir
from planner.solid.pose import pose
from planner.solid.read import read_solid

MESHES = sorted((workshop_dir() / "meshes").glob("*.stl"))


def processor_s(work, runs=3):
    """Return the least processor time of some runs."""
    spent = []
    for _ in range(runs):
        begin = time.process_time()
        work()
        spent.append(time.process_time() - begin)
    return min(spent)


@pytest.fixture(name="wanted", scope="module")
def wanted_():
    return load_settings("everyday_020"), load_printer("open_frame_220")


@pytest.mark.benchmark
def test_weld_to_time_costs_a_third_of_plain_cuts(wanted):
    """Cuts, walls, skins, fill, order, look-ahead and range against cutting alone.

    At most 0.35 of trimesh's `section_multiplane` at the same heights in the median, and
    nowhere more than 0.8.
    """
    import trimesh

    settings, printer = wanted
    ratios = {}
    for mesh in MESHES:
        solid = read_solid(mesh)
        posed = pose(solid, (0.0, 0.0, 1.0))
        heights = stack(posed, settings).cut_mm

        def ours(solid=solid):
            time_on(lay(pose(solid, (0.0, 0.0, 1.0)), settings), settings, printer)

        def plain(posed=posed, heights=heights):
            body = trimesh.Trimesh(posed.vertices_mm, posed.solid.triangles, process=False)
            body.section_multiplane([0, 0, 0], [0, 0, 1], heights)

        ratios[mesh.stem] = processor_s(ours) / processor_s(plain)

    for name, ratio in sorted(ratios.items(), key=lambda row: row[1]):
        print(f"{name:18s} {ratio:.2f}")
    median = statistics.median(ratios.values())
    print(f"median {median:.2f}, highest {max(ratios.values()):.2f}")
    assert median <= 0.35
    assert max(ratios.values()) <= 0.8


def turned(posed):
    """Turn a posed part by 90 degrees about the vertical."""
    x, y, z = posed.vertices_mm.T
    vertices = np.stack([-y, x, z], axis=1)
    vertices -= vertices.min(axis=0)
    return replace(posed, vertices_mm=vertices, size_mm=tuple(vertices.max(axis=0).tolist()))


@pytest.mark.benchmark
@pytest.mark.parametrize("pattern", ["grid", "triangles", "gyroid", "lines"])
def test_turning_a_part_changes_little(wanted, pattern):
    """By 90 degrees about the vertical: filament under 0.05 %, time under 1 %, on every mesh."""
    settings, printer = replace(wanted[0], infill_pattern=pattern), wanted[1]
    worst = 0.0
    for mesh in MESHES:
        posed = pose(read_solid(mesh), (0.0, 0.0, 1.0))
        one, other = (lay(stand, settings) for stand in (posed, turned(posed)))
        before_s, after_s = (time_on(own, settings, printer).middle_s for own in (one, other))
        worst = max(worst, abs(after_s / before_s - 1.0))
        assert other.filament_mm3 == pytest.approx(one.filament_mm3, rel=5e-4), mesh.stem
        assert after_s == pytest.approx(before_s, rel=0.01), mesh.stem
    print(f"{pattern}: time changes by at most {worst:.2%}")
