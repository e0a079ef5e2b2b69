"""Parts that cannot be printed: the rest is planned, and nothing is called complete or sure."""

from __future__ import annotations

import json

import pytest
import trimesh

from planner.job.load import load_job
from planner.plan import make_plan
from planner.report.surely import promise_told, told

JOB = {
    "schema": "platewright/job/1",
    "name": "j",
    "time_zone": "UTC",
    "start": "2026-11-27T18:00",
    "deadline": "2026-11-28T20:00",
    "parts": {"block": {"mesh": "block.stl"}, "foil": {"mesh": "foil.stl"}},
    "assemblies": {"shelf": {"quantity": 1, "contains": {"block": 2, "foil": 1}, "value": 10}},
    "finish_confidence": 0.8,
    "printers": [{"name": "bench", "profile": "open_frame_220"}],
    "spools": [{"name": "grey", "filament": "pla", "colour": "grey", "left_g": 500}],
    "attendance": [{"who": "me", "from": "2026-11-27T18:00", "to": "2026-11-28T20:00"}],
}


@pytest.fixture(scope="module", params=[(20, 20, 0.05), (20, 300, 5)], ids=["no layer", "too long"])
def plan(request, tmp_path_factory):
    """Return the plan of a job in which one part is thinner than a layer, or longer than a bed."""
    folder = tmp_path_factory.mktemp("job")
    trimesh.creation.box((20, 20, 10)).export(folder / "block.stl")
    trimesh.creation.box(request.param).export(folder / "foil.stl")
    path = folder / "job.yaml"
    path.write_text(json.dumps(JOB), encoding="utf-8")
    return make_plan(load_job(path), seconds=0.1, orient="declared")


def test_what_contains_it_is_not_complete(plan):
    """Though all plates that there are end in time."""
    assert not plan.weekend.unscheduled
    assert plan.weekend.sets_done == ()
    assert plan.weekend.sets_missed == (("shelf", "1 of foil on no plate"),)


def test_all_is_never_there(plan):
    """Neither the odds of everything nor the promise leave it out of account."""
    assert plan.odds == 0
    assert plan.spares is None or plan.spares.odds == plan.spares.odds_if_worth == 0
    assert (plan.promise.odds, plan.promise.kept, plan.promise.at) == (0, False, None)
    assert told(plan)[0] == "0 % that all is there by the deadline, with 1 copy on no plate"
    assert promise_told(plan)[-1].startswith("first mend what keeps copies off the plates")
