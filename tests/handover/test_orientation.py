"""Directions of a job's parts, and what is found wrong with the declared ones."""

from __future__ import annotations

import pytest

from planner.handover.orientation import orient_part, strength_findings


@pytest.fixture(scope="module")
def hook_long(job):
    part = job.parts["hook_long"]
    return part, orient_part(job, part)


def test_a_hook_stood_on_its_tip_is_told_of(hook_long):
    """Declared -y, for room on the plate: lying on its side it bears about twice as much."""
    part, found = hook_long

    findings = {each.rule: each for each in strength_findings(part, found)}

    lost = findings["build direction and strength"]
    assert found.orientation.as_given.name == "-y"
    assert found.orientation.directions[0].name in ("+x", "-x")
    assert found.orientation.lost > 1.5
    assert f"{found.orientation.lost:.1f} times as much" in lost.expected
    assert "write up: +x" in lost.remedy
    assert "test one to failure" in findings["strength under load"].why


def test_the_jobs_settings_are_what_is_judged(hook_long):
    """Walls, filling and material are those that the job gives the part."""
    part, found = hook_long

    assert found.material.material == part.settings.material
    assert found.walls == part.settings.walls
    assert found.material.infill == part.settings.infill


def test_a_part_declared_well_is_left_in_peace(job):
    """The small link lies flat and bears many times its load."""
    part = job.parts["hanger"]

    assert strength_findings(part, orient_part(job, part)) == ()
