"""The sample job: large enough, whole, and with two faults that the audit shall find."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from planner.job.demand import needs
from planner.job.load import load_job

WORKSHOP = Path(__file__).parents[2] / "samples" / "workshop"


@pytest.fixture(scope="module")
def job():
    return load_job(WORKSHOP / "job.yaml")


def test_first_line_lets_an_editor_complete_the_keys():
    """The schema is copied next to the job by the start command."""
    first = (WORKSHOP / "job.yaml").read_text("utf-8").splitlines()[0]

    assert first == "# yaml-language-server: $schema=job.schema.json"


def test_job_is_as_large_as_promised(job):
    """At least 16 parts and 250 copies, 3 kinds of printer, 5 spools of 2 materials."""
    demand = needs(job)

    assert len(job.parts) >= 16
    assert sum(need.needed for need in demand) >= 250
    assert all(need.needed > 0 for need in demand)
    assert len({machine.printer.name for machine in job.machines}) == 3
    assert sorted(machine.unattended for machine in job.machines) == [False, True, True]
    assert len(job.spools) == 5
    assert {spool.filament.material for spool in job.spools} == {"pla", "petg"}


def test_job_runs_from_friday_evening_to_sunday_evening(job):
    """First and last window and the deadline, in local time."""
    first = min(window.start for window in job.attendance)
    last = max(window.end for window in job.attendance)

    assert f"{first:%A %H:%M}" == "Friday 18:00"
    assert f"{last:%A %H:%M}" == f"{job.deadline:%A %H:%M}" == "Sunday 20:00"


def test_every_mesh_of_the_folder_is_used(job):
    """And no other: a newcomer who looks for a part finds it."""
    assert {part.mesh.name for part in job.parts.values()} == {
        path.name for path in (WORKSHOP / "meshes").iterdir()
    }


def test_wall_is_counted_right(job):
    """Three bays of two by three panels in a row make a board of six by three.

    Inner seams: 5 x 3 + 6 x 2 = 27 keys; corners: 7 x 4 = 28 standoffs; rim: 2 (6 + 3) = 18
    trims. The column of two half panels adds a key and 2 x 3 standoffs.
    """
    counts = {need.part: need.needed + need.from_stock for need in needs(job)}

    assert counts["panel"] == 6 * 3
    assert counts["panel_half"] == 2
    assert counts["key"] == 5 * 3 + 6 * 2 + 1
    assert counts["standoff"] == counts["cap"] == 7 * 4 + 2 * 3
    assert counts["trim_edge"] == 2 * (6 + 3)
    assert counts["trim_corner"] == 4


def test_two_hangers_for_everything_that_hangs(job):
    """And one wedge per tongue of whatever hangs in a slot."""
    counts = {need.part: need.needed + need.from_stock for need in needs(job)}
    hung = ("rail", "bin_small", "bin_large", "screwdriver_rack", "spoke_holder")
    tongues = {"hook_single": 1, "hook_double": 1, "hook_long": 1, "wrench_cradle": 1}
    tongues |= {"hose_cradle": 1, "shelf_bracket": 2, "hanger": 1}

    assert counts["hanger"] == 2 * sum(counts[name] for name in hung)
    assert counts["wedge"] == sum(counts[name] * each for name, each in tongues.items())


def test_one_part_breaks_the_guideline_on_purpose(job):
    """Two walls on a hook that carries, where every other part has three or more."""
    thin = {name for name, part in job.parts.items() if part.settings.walls < 3}

    assert thin == {"hook_double"}
    assert job.parts["hook_double"].loads
    assert "walls" not in job.parts["hook_double"].exceptions


def test_one_part_is_built_across_its_load(job):
    """The long hook's arm runs along its build direction: bending pulls the layers apart."""
    up = np.array(job.parts["hook_long"].up)

    assert up == pytest.approx((0, -1, 0))
    for name in ("hook_single", "wrench_cradle", "shelf_bracket", "hose_cradle"):
        part = job.parts[name]
        for load in part.loads:
            assert np.dot(part.up, load.force_n) == pytest.approx(0), name


def test_loads_touch_the_part(job):
    """Each box named in a load case holds some of the part's surface (100 000 points)."""
    for part in job.parts.values():
        if not part.loads:
            continue
        mesh = trimesh.load(part.mesh)
        points, _ = trimesh.sample.sample_surface(mesh, 100_000, seed=1)
        for load in part.loads:
            for face in (load.on, load.held):
                assert _surface_on(points, face) >= 20, f"{load.where}: {face}"


def _surface_on(points: np.ndarray, face) -> int:
    if face.box_mm is not None:
        low, high = np.array(face.box_mm)
        return int(((points >= low) & (points <= high)).all(axis=1).sum())
    sign, axis = (1 if face.axis[0] == "+" else -1), "xyz".index(face.axis[1])
    along = sign * points[:, axis]
    return int((along >= along.max() - face.tolerance_mm).sum())


def test_mating_parts_and_the_coupon_come_first(job):
    """What has to fit is tried before the batch is printed."""
    first = {name for name, part in job.parts.items() if part.mating}

    assert first >= {"panel", "key", "standoff", "hook_single", "hanger", "fit_coupon"}
