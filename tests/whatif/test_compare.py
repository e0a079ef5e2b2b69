"""Jobs compared with changes of themselves, in Python and by the command."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from rich.console import Console

from planner.cli.main import run
from planner.handover.confidence import Promise
from planner.job.load import load_job
from planner.plan import make_plan
from planner.report.html import plan_html
from planner.report.surely import promise_told
from planner.report.whatif import print_what_if, what_if_document
from planner.shipped import workshop_dir
from planner.whatif.compare import what_if
from planner.whatif.usual import usual_changes

JOB = """\
schema: platewright/job/1
name: links
time_zone: Europe/Lisbon
start: 2026-11-27T18:00
deadline: 2026-11-28T20:00
settings: everyday_020
failure_rate: 0.05
parts:
  link: {{mesh: {meshes}/panel_half.stl, unit: mm, quantity: 10}}
printers: [{{name: bench, profile: open_frame_220}}]
spools:
  - {{name: grey 1, filament: pla, colour: grey, left_g: 900}}
  - {{name: grey 2, filament: pla, colour: grey, left_g: 900}}
attendance:
  - {{who: me, from: 2026-11-27T18:00, to: 2026-11-27T22:00}}
  - {{who: me, from: 2026-11-28T09:00, to: 2026-11-28T22:00}}
{more}
"""
CHANGES = """\
what_if:
  - {name: two, printers: [{name: second, profile: open_frame_220}]}
  - {name: the same, hands_on_min: 8}
  - {name: nothing wanted, without: [link]}
"""
FAST = ["--seconds", "0.3", "--orient", "declared"]


@pytest.fixture(scope="module", autouse=True)
def one_core():
    """To start other processes costs more than all that these jobs ask for."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("planner.cli.screen.cores", lambda: 1)
        yield


def write(folder, more=""):
    """Write the job: ten half panels."""
    path = folder / "job.yaml"
    path.write_text(JOB.format(meshes=workshop_dir() / "meshes", more=more))
    return path


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    job = load_job(write(tmp_path_factory.mktemp("plan")))
    return make_plan(job, seconds=0.1, orient="declared")


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """Return the comparison of the job with the changes that it names."""
    job = load_job(write(tmp_path_factory.mktemp("found"), CHANGES))
    return what_if(job, seconds=0.3, orient="declared")


def test_the_usual_changes_suit_the_job(plan):
    """A watched printer, mornings, evenings and spares are there; no spool is short."""
    names = [change.name for change in usual_changes(plan)]

    assert {
        "another bench",
        "layers of 0.28 mm",
        "mornings 2 h later",
        "evenings 2 h longer",
        "no spares",
        "all printers may run alone",
        "planned for 90 %",
    } <= set(names)
    assert not any("spool" in name for name in names)
    assert len(set(names)) == len(names)


def test_a_spool_that_runs_out_is_among_them(plan):
    left = replace(plan.weekend, spool_left_g=(("grey 1", 20.0), ("grey 2", 30.0)))
    names = [change.name for change in usual_changes(replace(plan, weekend=left))]

    assert "a new spool of grey pla" in names


def test_a_second_printer_wins_hours(found):
    own, two, *_ = found.rows

    assert own.won_s == 0.0
    assert two.won_s is not None
    assert two.won_s > 3600


def test_a_change_that_changes_nothing_is_planned_like_the_job(found):
    own, _, same, _ = found.rows

    assert (same.finish, same.odds, same.cost) == (own.finish, own.odds, own.cost)


def test_a_job_of_nothing_has_a_row_too(found):
    *_, empty = found.rows

    assert (empty.copies, empty.finish, empty.won_s) == (0, None, None)


def test_the_table_names_every_row_in_80_columns(found):
    console = Console(width=80, record=True)
    print_what_if(console, found)
    lines = console.export_text().splitlines()

    for row in found.rows:
        assert any(line.startswith(row.name) for line in lines)
    assert max(len(line) for line in lines) <= 80
    assert "Left out" not in console.export_text()


def test_the_document_has_plain_types(found):
    document = json.loads(json.dumps(what_if_document(found), allow_nan=False))

    assert document["schema"] == "platewright/what-if/1"
    assert [row["name"] for row in document["rows"]] == [row.name for row in found.rows]
    assert document["rows"][3]["finish"] is None
    assert document["seconds"] == pytest.approx(0.1)


def test_the_section_stands_in_the_page_only_with_a_comparison(plan, found):
    assert '<section id="what-if"' in plan_html(plan, found)
    assert 'id="what-if"' not in plan_html(plan)


def test_the_command_compares_and_writes(tmp_path, capsys):
    path = write(tmp_path, "what_if: [{name: none <b>spare, spares: 0}]")
    out = tmp_path / "plan"
    code = run(["plan", str(path), "--what-if", "--json", "--out", str(out), *FAST])
    document = json.loads(capsys.readouterr().out)

    assert code == 0
    assert document["rows"][1]["copies"] == 10 < document["rows"][0]["copies"]
    assert "none &lt;b&gt;spare" in (out / "plan.html").read_text()


def test_wanted_odds_are_promised_with_an_hour_and_a_price(tmp_path, capsys):
    path = write(tmp_path)
    code = run(["plan", str(path), "--confidence", "0.6", "--json", *FAST])
    promise = json.loads(capsys.readouterr().out)["promise"]

    assert code == 0
    assert promise["wanted"] == 0.6
    assert promise["kept"] == (promise["by_deadline"] >= 0.6)
    assert promise["by_deadline"] >= promise["plain_by_deadline"] - 0.05  # three sigmas
    assert isinstance(promise["more_plates"], int)


def test_odds_that_cannot_be_had_are_told_with_what_would_reach_them(plan):
    promise = Promise(
        wanted=0.95,
        odds=0.7,
        at=None,
        plain_odds=0.6,
        later_s=5400.0,
        more_plates=1,
        more_copies=-2,
        more_g=-20.0,
        at_with_days=datetime(2026, 11, 29, 11, 20, tzinfo=UTC),
        without=(plan.plates[0].id,),
    )
    first, price, days, fewer = promise_told(replace(plan, promise=promise))

    assert first == "95 % are not reached by the deadline; the surest plan has 70 %"
    assert "1 h 30 min later if all goes well, +1 plate, -2 copies, -20 g" in price
    assert days.startswith("95 % by Sun 29 Nov 11:20, if the hours of the last day")
    assert "link" in fewer


@pytest.mark.parametrize("odds", ["0", "1", "1.5", "nan", "much"])
def test_odds_out_of_range_are_refused(tmp_path, odds, capsys):
    assert run(["plan", str(write(tmp_path)), "--confidence", odds]) == 2
    assert "--confidence" in capsys.readouterr().err
