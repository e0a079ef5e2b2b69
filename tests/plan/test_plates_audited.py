"""In a plan every plate is audited with the settings that its parts get."""

from pathlib import Path

from planner.job.load import load_job
from planner.plan import make_plan

MESHES = Path(__file__).parents[2] / "samples" / "workshop" / "meshes"
JOB = """\
schema: platewright/job/1
name: two fans
time_zone: Europe/Lisbon
start: 2026-11-27T18:00
settings: everyday_020
parts:
  airy: {{mesh: {mesh}, unit: mm, quantity: 1}}
  still: {{mesh: {mesh}, unit: mm, quantity: 1, settings: {{fan: 0.4}}}}
printers:
  - {{name: bench, profile: open_frame_220, unattended: false}}
spools:
  - {{name: grey, filament: pla, colour: grey, left_g: 800, price_per_kg: 22}}
attendance:
  - {{who: crew, from: 2026-11-27T18:00, to: 2026-11-27T22:00}}
"""


def test_parts_of_one_plate_that_want_different_air_are_told(tmp_path):
    """One plate holds both, and the note names it."""
    path = tmp_path / "job.yaml"
    path.write_text(JOB.format(mesh=MESHES / "key.stl"))
    plan = make_plan(load_job(path), seconds=0.1, orient="declared")
    told = [finding for finding in plan.findings if finding.rule == "plate settings"]

    assert len(plan.plates) == 1
    assert [(f.found, f.where) for f in told] == [
        ("fan: 100 % for airy; 40 % for still", f"plate {plan.plates[0].id}")
    ]
    assert not plan.must_stop
