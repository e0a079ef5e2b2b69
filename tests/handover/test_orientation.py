"""Directions of a job's parts, what is found wrong with them, and parts that are turned."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.handover.orientation import (
    Unsolved,
    orient_part,
    orient_parts,
    oriented_job,
    turned,
)
from planner.handover.strength_findings import strength_findings
from planner.job.model import Face, Need, Screwed


@pytest.fixture(scope="module")
def hook_long(job):
    part = job.parts["hook_long"]
    return part, orient_part(job, part)


@pytest.fixture(scope="module")
def hanger(job):
    part = job.parts["hanger"]
    return part, orient_part(job, part)


def by_rule(part, found, wanted=2.0):
    return {each.rule: each for each in strength_findings(part, found, wanted)}


def of_factor(found, factor, low, high):
    """Return the same with another predicted factor as given."""
    own = replace(found.orientation.as_given, safety_factor=factor, safety_range=(low, high))
    return replace(found, orientation=replace(found.orientation, as_given=own))


def test_a_hook_stood_on_its_tip_is_told_what_that_costs(hook_long):
    """Declared -y, for room on the plate: lying on its side it bears about twice as much."""
    part, found = hook_long

    lost = by_rule(part, found)["build direction"]

    assert found.orientation.as_given.name == "-y"
    assert found.orientation.practical.name in ("+x", "-x")
    cost = f"{found.orientation.cost:.1f} x"
    assert found.orientation.cost > 1.5
    assert lost.level == "warn"
    assert lost.found.startswith(f"declared -y costs {cost} of the strength of ")
    assert f"write up: {found.orientation.practical.name}" in lost.remedy


def test_the_jobs_settings_are_what_is_judged(hook_long):
    """Walls, filling and material are those that the job gives the part; hours are said."""
    part, found = hook_long

    assert found.material.material == part.settings.material
    assert found.walls == part.settings.walls
    assert found.material.infill == part.settings.infill
    assert found.orientation.as_given.time_s > 600


def test_a_part_declared_well_is_left_in_peace(hanger):
    """The small link lies flat and bears many times its load."""
    assert strength_findings(*hanger) == ()


def test_a_direction_that_nobody_declared_is_noted(hanger):
    """It is right as drawn, but somebody may turn the part."""
    part, found = hanger

    (note,) = strength_findings(replace(part, up_declared=False), found)

    assert (note.rule, note.level) == ("build direction", "note")
    assert "write up: +z" in note.remedy


def test_a_loss_is_only_noted_where_enough_is_left(hook_long):
    """Twice as strong lying, but strong enough even by the low end of the range."""
    part, found = hook_long

    kinds = by_rule(part, of_factor(found, 9.0, 4.0, 12.0))

    assert kinds["build direction"].level == "note"
    assert "strength under load" not in kinds


@pytest.mark.parametrize(
    ("factor", "high", "tags", "level"),
    [
        (2.01, 3.0, (), None),
        (1.99, 3.0, (), "warn"),
        (1.99, 3.0, ("overhead",), "stop"),
        (0.7, 1.01, (), "warn"),
        (0.7, 0.99, (), "stop"),
    ],
)
def test_a_low_factor_is_told_as_gravely_as_it_is(hanger, factor, high, tags, level):
    """Under the wanted one: warn; over people, or where not even the best would hold: stop."""
    part, found = hanger

    told = by_rule(replace(part, tags=tags), of_factor(found, factor, 0.5, high))

    assert (told["strength under load"].level if told else None) == level
    if level:
        assert "test one to failure before you trust it overhead" in told["strength under load"].why


def test_the_wanted_factor_is_the_jobs(hanger):
    """What is enough for one job is not for another."""
    part, found = hanger
    factor = found.orientation.as_given.safety_factor

    assert not by_rule(part, found, factor - 0.1)
    assert by_rule(part, found, factor + 0.1)["strength under load"].level == "warn"


def test_what_cannot_be_worked_out_is_said(job, hanger):
    """In words of the fault, and as a note: the plan goes on, and angles are compared."""
    part, _ = hanger
    nowhere = Face(box_mm=((900.0, 0.0, 0.0), (901.0, 1.0, 1.0)))
    missed = replace(part, loads=(replace(part.loads[0], held=nowhere),))
    small = replace(job, parts={part.name: missed})

    _, found = oriented_job(small, [need(part.name)], "audit")
    (note,) = strength_findings(missed, found[part.name])

    assert isinstance(found[part.name], Unsolved)
    assert note.level == "note"
    assert note.found.startswith("not worked out: no triangle of hanger")


def test_only_parts_that_carry_and_are_printed_are_worked_out(job, monkeypatch):
    """No load, or none to print: no work."""
    asked = []
    monkeypatch.setattr(
        "planner.handover.orientation.orient_part", lambda _, part: asked.append(part.name)
    )

    orient_parts(job, [need("panel", 3), need("hanger", 0), need("rail", 1)])

    assert asked == ["rail"]


def test_directions_taken_as_written_cost_nothing(job, monkeypatch):
    """`declared` solves nothing; a word that is no mode is refused."""
    monkeypatch.setattr("planner.handover.orientation.orient_part", None)

    same, found = oriented_job(job, [need("hanger")], "declared")

    assert same is job
    assert not found
    with pytest.raises(ValueError, match="audit, declared, auto"):
        oriented_job(job, [], "sideways")


def test_a_part_is_turned_to_bear_most_and_that_is_noted(job, hook_long, hanger):
    """The hook is laid on its side; the link, right as it is, stays; the job given is unchanged."""
    part, found = hook_long

    laid, told = turned(job, {"hook_long": found, "hanger": hanger[1]})
    (note,) = [f for f in strength_findings(part, told["hook_long"]) if f.level == "note"]

    assert laid.parts["hook_long"].up == found.orientation.practical.up
    assert laid.parts["hanger"] is job.parts["hanger"]
    assert job.parts["hook_long"].up == (0.0, -1.0, 0.0)
    assert told["hook_long"].turned
    assert not told["hanger"].turned
    assert note.found == f"turned from declared -y to {found.orientation.practical.name}"


def test_a_part_that_gives_a_reason_stays_as_declared(job, hook_long):
    """An exception to the rule is an answer: it is not turned against it."""
    part, found = hook_long
    kept = replace(part, exceptions={"build direction": "more of them fit on a plate"})

    laid, told = turned(replace(job, parts={"hook_long": kept}), {"hook_long": found})

    assert laid.parts["hook_long"].up == part.up
    assert not told["hook_long"].turned


def test_screws_that_bear_too_much_are_told_of(job, hanger):
    """One weak screw near the lower edge: the finding says how many are needed instead."""
    part, found = hanger
    screws = Screwed(
        at_mm=((0.0, 10.0, 2.0),), wall=(-1.0, 0.0, 0.0), rated_n=20.0, factor=4.0, where="job:9"
    )
    hung = orient_part(job, replace(part, fixings=screws)).hanging

    told = by_rule(part, replace(found, hanging=hung))["fixings"]

    assert hung.used > 1
    assert told.level == "warn"
    assert told.expected == f"{hung.needed} such screws, spread alike, each for 20 N / 4"
    assert "local codes" in told.why


def need(name, count=1):
    return Need(
        part=name,
        needed=count,
        from_stock=0,
        spares=0,
        to_print=count,
        odds=1.0,
        because="wanted",
    )
