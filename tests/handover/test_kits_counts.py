"""Kits hold exactly what is counted, bought or printed, wherever it goes on however many walls."""

from __future__ import annotations

import json
from collections import Counter

import pytest

from planner.handover.kits import kits_of, wanted_by
from planner.handover.walls import built, with_walls
from planner.job.demand import needs
from planner.job.load import load_job
from planner.shipped import workshop_dir

RULES = [
    {"part": "tile", "at": "cell"},
    {"part": "key", "at": "shared edge", "count": 2},
    {"part": "rim", "at": "free edge"},
    {"part": "stud", "at": "junction"},
    {"part": "stud", "at": "fixing"},
    {"part": "clip", "at": "cells", "every": 5, "count": 2},
    {"part": "washer", "at": "fixing", "count": 2, "bought": True},
]
STAGES = {"tile": 1, "key": 1, "rim": 2, "stud": 1, "clip": 1, "hook": 3, "bar": 1}
HUNG = [
    {"thing": "hook", "cell": [1, 1], "count": 2},
    {"thing": "set", "cell": [2, 1]},
    {"thing": "tile", "cell": [1, 2]},
]


def job_of(folder, many):
    """Read a job of so many walls, 1 x 2 to 29 x 3 cells."""
    key = str(workshop_dir() / "meshes" / "key.stl")
    walls = [
        {"name": f"w{n}", "columns": 1 + n * 28 // many, "rows": 2 + n % 2, "hung": HUNG}
        for n in range(1, many + 1)
    ]
    path = folder / "job.yaml"
    path.write_text(
        json.dumps(
            {
                "schema": "platewright/job/1",
                "name": "walls",
                "time_zone": "UTC",
                "start": "2026-11-27T18:00",
                "failure_rate": 0,
                "parts": {n: {"mesh": key, "stage": stage} for n, stage in STAGES.items()},
                "assemblies": {"set": {"contains": {"bar": 2, "hook": 1}}},
                "printers": [{"name": "bench", "profile": "open_frame_220"}],
                "spools": [{"name": "grey", "filament": "pla", "colour": "grey", "left_g": 500}],
                "attendance": [{"who": "me", "from": "2026-11-27T18:00", "to": "2026-11-28T20:00"}],
                "wall": {
                    "name": "all",
                    "extra": {"tile": 2, "set": 1},
                    "system": {
                        "name": "plain",
                        "pitch_mm": 100,
                        "thickness_mm": 5,
                        "joint_play_mm": 0.3,
                        "rules": RULES,
                    },
                    "walls": walls,
                },
            }
        ),
        encoding="utf-8",
    )
    return load_job(path)


@pytest.mark.parametrize("many", [1, 2, 10])
def test_kits_hold_what_is_counted_and_want_what_is_printed(tmp_path, many):
    """Every copy in one bag, every screw with one, assemblies taken apart, numbers in order."""
    job = job_of(tmp_path, many)
    walls = built(job)
    kits = kits_of(job, walls)
    held = sum((Counter(dict(kit.parts)) for kit in kits), Counter())

    assert held == Counter(dict(walls.counted.quantities))
    assert held["washer"] == 2 * len(walls.mounting.fixings)
    assert sum(kit.screws for kit in kits) == len(walls.mounting.fixings)
    assert [kit.number for kit in kits] == list(range(1, len(kits) + 1))
    assert {kit.wall for kit in kits} == {wall.name for wall in job.walls.walls} | {""}
    printed = {need.part: need.to_print for need in needs(with_walls(job, walls.counted))}
    assert dict(+wanted_by(job, kits)[-1]) == {part: n for part, n in printed.items() if n}
