"""`platewright plan --orient`: told, turned, or taken as written, on one small part."""

from __future__ import annotations

import json

import pytest

from planner.cli.main import run
from planner.shipped import workshop_dir

JOB = """\
schema: platewright/job/1
name: links
time_zone: Europe/Lisbon
start: 2026-11-27T18:00
settings: sturdy_petg_020
parts:
  link:
    mesh: {meshes}/hanger.stl
    unit: mm
    quantity: 1
    {up}
    load:
      - {{force_n: [0, -20, 0], on: {{box: [[6, 11, 0], [9.6, 13, 4]]}}, held: -x, sustained: true}}
    fixings: {{at: [[-8, 12, 2], [-8, -8, 2]], wall: -x, rated_n: 300}}
printers: [{{name: bench, profile: open_frame_220}}]
spools: [{{name: black, filament: petg, colour: black, left_g: 500}}]
attendance: [{{who: me, from: 2026-11-27T18:00, to: 2026-11-27T22:00}}]
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """Return a folder with a cache of its own: the part is worked out once for all tests."""
    return tmp_path_factory.mktemp("orient")


@pytest.fixture
def plan(place, monkeypatch, capsys):
    """Return a function that plans the job and returns exit code, document and page."""
    monkeypatch.setenv("PLATEWRIGHT_CACHE", str(place / "kept"))

    def planned(*options, up="up: +x"):
        job = place / "job.yaml"
        job.write_text(JOB.format(meshes=workshop_dir() / "meshes", up=up))
        out = place / "plan"
        code = run(
            ["plan", str(job), "--seconds", "0.1", "--out", str(out), "--force", "--json", *options]
        )
        document = json.loads(capsys.readouterr().out)
        return code, document, (out / "plan.html").read_text()

    return planned


def test_by_default_the_loss_is_told_and_nothing_is_turned(plan):
    """Stood on its end the link is told what that costs; its angles are not told as well."""
    code, document, page = plan()
    (part,) = document["parts"]
    (direction,) = [f for f in document["findings"] if f["rule"] == "build direction"]

    assert code == 0
    assert part["up"] == "+x"
    assert part["strength"]["as_given"]["up"] == "+x"
    assert part["strength"]["practical"]["up"] in ("+z", "-z")
    assert f"costs {part['strength']['cost']:.1f} x" in direction["found"]
    assert "crosses the layers" not in json.dumps(document["findings"])
    assert 'id="strength"' in page
    assert page.count("the weakest layer</title>") == 4  # two sides, as given and better
    assert "test one to failure before you trust it overhead" in page


def test_what_each_screw_bears_is_told(plan):
    """20 N on two screws, with the anchor's rated load, the factor and who comes first."""
    _, document, page = plan()
    fixings = document["parts"][0]["strength"]["fixings"]

    assert [load["shear_n"] for load in fixings["loads"]] == [10, 10]
    assert (fixings["rated_n"], fixings["factor"]) == (300, 4)
    assert fixings["needed"] == 2
    assert "300 N / 4" in page
    assert "local codes and licensed practice" in page


def test_auto_turns_the_part(plan):
    """It is laid flat, plates and all, and a note says so."""
    code, document, _ = plan("--orient", "auto")
    (part,) = document["parts"]
    (note,) = [f for f in document["findings"] if f["rule"] == "build direction"]

    assert code == 0
    assert part["up"] == part["strength"]["practical"]["up"]
    assert part["strength"]["turned"] is True
    assert part["size_mm"][2] == pytest.approx(4.0)
    assert note["level"] == "note"
    assert note["found"].startswith("turned from declared +x to ")


def test_declared_compares_angles_only(plan):
    """No stresses, no section on the page; the angle rule speaks in their place."""
    _, document, page = plan("--orient", "declared")
    (direction,) = [f for f in document["findings"] if f["rule"] == "build direction"]

    assert document["parts"][0]["strength"] is None
    assert "crosses the layers" in direction["found"]
    assert 'id="strength"' not in page


def test_the_second_plan_finds_what_the_first_worked_out(plan, monkeypatch):
    """Once kept, nothing is solved; the plan is the same to the last byte."""
    _, first, page = plan()
    monkeypatch.setattr("planner.strength.orient.orient", None)

    assert plan()[1:] == (first, page)


def test_a_mode_that_is_none_is_refused(capsys):
    """One line, exit code 2."""
    assert run(["plan", "job.yaml", "--orient", "sideways"]) == 2
    assert "sideways" in capsys.readouterr().err
