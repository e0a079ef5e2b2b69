"""A copy that is on no plate says why, and one that could be printed is on a plate."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.errors import InputError
from planner.handover.parts import prepare_parts
from planner.handover.plates import Recipe, make_plates
from planner.job.demand import needs
from planner.job.load import load_job
from planner.plan import make_plan
from planner.shipped import workshop_dir

MESHES = workshop_dir() / "meshes"
JOB = f"""\
schema: platewright/job/1
name: a few
time_zone: Europe/Lisbon
start: 2026-11-27T18:00
deadline: 2026-11-29T20:00
failure_rate: 0
parts:
  cap: {{{{mesh: {MESHES / "cap.stl"}, unit: {{unit}}, quantity: 2}}}}
  key: {{{{mesh: {MESHES / "key.stl"}, unit: mm, quantity: 1}}}}
printers:
  - {{{{name: bench, profile: open_frame_220, unattended: {{alone}}}}}}
spools:
  - {{{{name: grey, filament: pla, colour: grey, left_g: 800}}}}
attendance:
  - {{{{who: crew, from: 2026-11-27T18:00, to: 2026-11-27T{{until}}}}}}
{{more}}
"""


def job_of(tmp_path, *, unit="mm", alone="false", until="22:00", more=""):
    path = tmp_path / "job.yaml"
    text = JOB.format(unit=unit, alone=alone, until=until, more=more)
    path.write_text(text, encoding="utf-8")
    return load_job(path)


def plates_of(job, recipe=None):
    ready = prepare_parts(job, needs(job)).ready
    return make_plates(job, ready, recipe=recipe or Recipe(), seconds=0.1)


def why(plates):
    return {part: reason for part, _, reason in plates.left_out}


def test_a_short_visit_is_enough_where_the_printer_goes_on_alone(tmp_path):
    """Someone is there for 16 minutes, the print takes more: it is started, and is done alone."""
    alone = make_plan(job_of(tmp_path, alone="true", until="18:16"), seconds=0.1, orient="declared")
    watched = plates_of(job_of(tmp_path, until="18:16"))

    assert not alone.left_out
    assert sum(sum(plate.counts.values()) for plate in alone.plates) == 3
    assert alone.weekend.finish > alone.job.attendance[0].end
    assert "hours in which somebody is there" in why(watched)["cap"]


def test_alone_a_printer_runs_until_the_deadline_and_not_beyond(tmp_path):
    """With the deadline when the crew leaves, what does not fit the visit is left out."""
    job = job_of(tmp_path, alone="true", until="18:16")
    hurried = replace(job, deadline=job.start + timedelta(minutes=16))

    assert not plates_of(job).left_out
    assert not plates_of(replace(job, deadline=None)).left_out
    assert "hours in which somebody is there" in why(plates_of(hurried))["cap"]


def test_every_reason_is_the_one_that_holds(tmp_path):
    """Too large, longer than the job allows, longer than the recipe wants, too much for one."""
    large = plates_of(job_of(tmp_path, unit="cm", alone="true"))
    short = plates_of(job_of(tmp_path, more="hours_per_plate: 0.06"))
    capped = plates_of(job_of(tmp_path), Recipe(cap_s=60.0))
    both = job_of(tmp_path, more="together: [[cap, key]]\nparts_per_plate: 2")

    assert "too large for every printer" in why(large)["cap"]
    assert "longer print than hours_per_plate allows" in why(short)["cap"]
    assert "longer than 0.0166667 h" in why(capped)["cap"]
    assert "all that must share it" in why(plates_of(both))["key"]


def test_a_mesh_in_metres_is_not_laid_in_layers(tmp_path):
    """A cap of 24 m would take minutes to lay; it is told, and the others are planned."""
    plan = make_plan(job_of(tmp_path, unit="m"), seconds=0.1, orient="declared")
    told = [finding for finding in plan.findings if finding.rule == "layers"]

    assert [(f.part, f.found) for f in told] == [("cap", "24000 x 24000 x 3400 mm as posed")]
    assert [(part, count) for part, count, _ in plan.left_out] == [("cap", 2)]
    assert plan.hours.missing == plan.hours.full_missing == 2
    assert [plate.counts for plate in plan.plates] == [{"key": 1}]


TWO_PINS = """\
pins:
  - {plate: 1, printer: bench, part: key, x_mm: 50, y_mm: 50}
  - {plate: 1, printer: bench, part: key, x_mm: 90, y_mm: 50}"""
LONG_PIN = """\
pins: [{plate: 1, printer: bench, part: cap, x_mm: 50, y_mm: 50}]
hours_per_plate: 0.06"""


@pytest.mark.parametrize(
    ("more", "line", "found"),
    [(TWO_PINS, 18, "copy 2 of key"), (LONG_PIN, 16, "min of printing pinned on one plate")],
)
def test_a_pin_that_cannot_stay_is_told_with_its_line(tmp_path, more, line, found):
    """What shows only when copies are laid names the line of the pin as well."""
    job = job_of(tmp_path, more=more)
    with pytest.raises(InputError, match=found) as refused:
        plates_of(job)

    assert [p.file for p in refused.value.problems] == [f"{job.path}:{line}"]


def test_parts_that_cannot_share_a_plate_are_told_with_the_line_of_their_group(tmp_path):
    """One has other layers: the group stands in line 16."""
    job = job_of(tmp_path, more="together: [[cap, key]]")
    key = job.parts["key"]
    other = replace(key, settings=replace(key.settings, layer_mm=0.1))
    job = replace(job, parts={**job.parts, "key": other})
    with pytest.raises(InputError, match="one plate") as refused:
        plates_of(job)

    assert [p.file for p in refused.value.problems] == [f"{job.path}:16"]
