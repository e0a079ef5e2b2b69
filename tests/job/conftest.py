"""A small sound job to depart from, in a folder of its own."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest
from hypothesis import settings

from planner.job.load import load_job

# No time limit per example: the machine may be busy with something else.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

SOUND = {
    "schema": "platewright/job/1",
    "name": "One wall",
    "time_zone": "Europe/Lisbon",
    "start": "2026-11-27T18:00",
    "deadline": "2026-11-29T20:00",
    "parts": {
        "panel": {"mesh": "meshes/panel.stl", "unit": "mm", "stock": 2, "mating": True},
        "key": {"mesh": "meshes/key.stl", "quantity": 3, "colour": "Grey"},
    },
    "assemblies": {
        "bay": {"contains": {"panel": 6, "key": 7}},
        "wall": {"quantity": 1, "contains": {"bay": 4, "key": 2}},
    },
    "printers": [
        {"name": "bench", "profile": "open_frame_220"},
        {"name": "cupboard", "profile": "enclosed_300", "unattended": True, "count": 2},
    ],
    "spools": [
        {"name": "grey 1", "filament": "pla", "colour": "Grey", "left_g": 820},
        {
            "name": "black 1",
            "filament": "petg",
            "colour": "black",
            "gross_g": 900,
            "empty_g": 230,
            "price_per_kg": 31,
        },
    ],
    "attendance": [
        {"who": "crew", "from": "2026-11-28T09:00", "to": "2026-11-28T13:00"},
        {"who": "crew", "from": "2026-11-27T18:00", "to": "2026-11-27T22:30"},
    ],
}


@pytest.fixture
def sound():
    """Return the sound job as plain data, to be changed at will."""
    return copy.deepcopy(SOUND)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Stand in an empty folder with two mesh files; loading does not read them."""
    (tmp_path / "meshes").mkdir()
    for name in ("panel", "key"):
        (tmp_path / "meshes" / f"{name}.stl").write_bytes(b"x")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def load(folder):
    """Return a function that writes plain data as a job file (JSON is YAML) and loads it."""

    def _load(data):
        path = Path("job.yaml")
        text = data if isinstance(data, str) else json.dumps(data, indent=1, ensure_ascii=False)
        path.write_text(text, encoding="utf-8")
        return load_job(path)

    return _load
