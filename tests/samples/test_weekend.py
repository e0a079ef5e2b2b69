"""The sample weekend of plates made elsewhere: planned by the command, every rule kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from planner.cli.main import run
from planner.schedule.check import check
from planner.schedule.load import load_weekend
from planner.schedule.solve import plan_weekend

FILE = Path(__file__).parents[2] / "samples" / "schedule" / "weekend.json"


@pytest.fixture(scope="module")
def weekend():
    return load_weekend(FILE)


def test_every_rule_bites_in_the_sample(weekend):
    """It is there to show them: rests, cooling, drying, two spools, gates, sets."""
    plan = plan_weekend(weekend, effort=2)

    assert check(weekend, plan) == ()
    assert {each.why for slot in weekend.machines for each in slot.blocked} == {
        "quiet hours",
        "maintenance",
    }
    assert plan.unscheduled == ()
    assert plan.sets_done == ("truing stand", "chain wall")
    assert [name for name, _ in plan.sets_missed] == ["spare hooks"]
    assert any(each.second_spool for each in plan.runs)
    assert any("black 2 to dry" in remark for remark in plan.remarks)


def test_the_command_tells_all_of_it(capsys):
    """Visits, sets, drying and the bound on the terminal."""
    code = run(["schedule", str(FILE), "--seconds", "0.2"])

    text = " ".join(capsys.readouterr().out.split())
    assert code == 0
    for words in (
        "Complete in time: truing stand, chain wall",
        "spare hooks is not complete in time: hooks",
        "put black 2 to dry at Fri 27 Nov 18:00",
        "no plan for these plates ends before",
    ):
        assert words in text


def test_the_command_tells_json(capsys):
    """One document, with the sets and the second spool."""
    run(["schedule", str(FILE), "--seconds", "0.2", "--json"])

    document = json.loads(capsys.readouterr().out)
    assert {each["set"]: each["complete"] for each in document["sets"]} == {
        "truing stand": True,
        "chain wall": True,
        "spare hooks": False,
    }
    assert any("second_spool" in each and each["change_at"] for each in document["runs"])
