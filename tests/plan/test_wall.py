"""A job that holds walls is planned like any other."""

from __future__ import annotations

import json

from planner.job.load import load_job
from planner.plan import make_plan
from planner.shipped import workshop_dir

KEY = str(workshop_dir() / "meshes" / "key.stl")
JOB = {
    "schema": "platewright/job/1",
    "name": "j",
    "time_zone": "UTC",
    "start": "2026-11-27T18:00",
    "failure_rate": 0,
    "parts": {"tile": {"mesh": KEY, "stock": 2}, "key": {"mesh": KEY, "quantity": 1}},
    "printers": [{"name": "bench", "profile": "open_frame_220"}],
    "spools": [{"name": "grey", "filament": "pla", "colour": "grey", "left_g": 500}],
    "attendance": [{"who": "me", "from": "2026-11-27T18:00", "to": "2026-11-28T20:00"}],
    "wall": {
        "name": "w",
        "system": {
            "name": "plain",
            "pitch_mm": 100,
            "thickness_mm": 5,
            "joint_play_mm": 0.3,
            "rules": [{"part": "tile", "at": "cell"}, {"part": "key", "at": "shared edge"}],
        },
        "walls": [{"name": "a", "columns": 3, "rows": 2}],
    },
}


def test_what_the_wall_needs_lies_on_the_plates(tmp_path):
    """Six tiles less two in stock, seven shared edges and one key besides, no spares."""
    path = tmp_path / "job.yaml"
    path.write_text(json.dumps(JOB), encoding="utf-8")
    plan = make_plan(load_job(path), seconds=0.1, orient="declared")
    on_plates = {
        name: sum(plate.counts.get(name, 0) for plate in plan.plates) for name in ("tile", "key")
    }

    assert on_plates == {"tile": 4, "key": 8}
    assert {ready.part.name: ready.need.because for ready in plan.parts} == {
        "tile": "wall: 6 cells; less 2 in stock",
        "key": "1 by itself + wall: 7 shared edges",
    }
    assert not [finding for finding in plan.findings if finding.rule == "wall"]
