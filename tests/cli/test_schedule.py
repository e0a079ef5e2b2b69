"""`platewright schedule`: what it writes for plates made elsewhere, and where it never does."""

from __future__ import annotations

import csv
import json
from xml.etree import ElementTree as ET

import icalendar
import pytest

from planner.cli.main import run

FILES = {
    *("schedule.html", "visits.html", "sheets.html"),
    *("schedule.json", "timeline.svg", "visits.ics", "runs.csv"),
}
BOLD = "=1+1 <script>alert(1)<script>"


def problem(**changes):
    """Return a weekend of three plates on two printers, one of which may run alone."""
    plates = [
        {"id": "test", "seconds": 3600, "material": "pla", "grams": 20},
        {"id": "hooks", "seconds": 7200, "material": "pla", "grams": 90, "gate": ["test"]},
        {"id": "panels", "seconds": 50000, "material": "pla", "grams": 400, "gate": ["test"]},
    ]
    return {
        "time_zone": "Europe/Lisbon",
        "start": "2026-11-27T18:00",
        "deadline": "2026-11-29T20:00",
        "hands_on_min": 8,
        "plates": plates,
        "printers": [{"id": "bench"}, {"id": "cupboard", "unattended": True}],
        "spools": [{"id": "grey", "material": "pla", "colour": "grey", "grams": 800}],
        "attendance": [
            {"who": "crew", "from": "2026-11-27T18:00", "to": "2026-11-27T22:30"},
            {"who": "crew", "from": "2026-11-28T09:00", "to": "2026-11-28T20:00"},
        ],
        **changes,
    }


@pytest.fixture
def written(tmp_path):
    """Return a function that schedules a problem into a folder and returns both."""

    def write(*options, **changes):
        file, out = tmp_path / "weekend.json", tmp_path / "out"
        file.write_text(json.dumps(problem(**changes)), encoding="utf-8")
        code = run(["schedule", str(file), "--out", str(out), "--seconds", "0.1", *options])
        return code, out

    return write


def test_the_folder_holds_every_promised_file(written, capsys):
    """Page, picture, lists, calendar, table and document tell the same runs."""
    code, out = written()

    assert code == 0
    assert {p.name for p in out.iterdir()} == FILES | {".platewright.json"}
    runs = json.loads((out / "schedule.json").read_text())["runs"]
    with (out / "runs.csv").open(newline="") as rows:
        assert [row["plate"] for row in csv.DictReader(rows)] == [r["plate"] for r in runs]
    events = icalendar.Calendar.from_ical((out / "visits.ics").read_bytes()).walk("VEVENT")
    assert len(events) == len(json.loads((out / "schedule.json").read_text())["visits"])
    ET.fromstring((out / "timeline.svg").read_text())
    assert "Timeline (times in Europe/Lisbon)" in capsys.readouterr().out


def test_time_alone_brings_its_caution(written):
    """The night on the cupboard is told beside what fire services say."""
    _, out = written()

    page = (out / "schedule.html").read_text()
    assert "Fire: do not leave printers on when not home or asleep" in page
    assert "panels runs" in page


def test_what_nobody_can_start_is_told_on_the_page_too(written):
    """Exit 1, and the reason on the page and on the phone."""
    code, out = written(spools=[{"id": "grey", "material": "pla", "colour": "grey", "grams": 200}])

    assert code == 1
    for name in ("schedule.html", "visits.html"):
        assert "panels" in (out / name).read_text()
        assert "are missing" in (out / name).read_text()


def test_the_document_on_stdout_is_the_one_in_the_folder(written, capsys):
    """`--json` prints one document and nothing else there; the folder is said on stderr."""
    _, out = written("--json")

    said = capsys.readouterr()
    assert said.out.encode() == (out / "schedule.json").read_bytes()
    assert "Wrote 7 files" in said.err


def test_two_runs_give_the_same_bytes(written):
    """A second run replaces its own files, and none of them differs."""
    _, out = written()
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    written()

    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_a_file_of_the_users_is_not_replaced(written, capsys):
    """Notes in runs.csv stop it before the search; --force goes on."""
    _, out = written()
    (out / "runs.csv").write_text("mine")

    assert written()[0] == 2
    assert "runs.csv" in capsys.readouterr().err
    assert (out / "runs.csv").read_text() == "mine"
    assert written("--force")[0] == 0


def test_force_without_a_folder_is_refused(tmp_path, capsys):
    """Whoever forces something means files, and none would be written."""
    file = tmp_path / "weekend.json"
    file.write_text(json.dumps(problem()), encoding="utf-8")

    assert run(["schedule", str(file), "--force"]) == 2
    heard = capsys.readouterr()
    assert heard.out == ""
    assert "--force without --out" in heard.err
    assert heard.err.count("\n") == 1


def test_an_end_after_the_deadline_is_told(written, capsys):
    """Five hours in all; the deadline is an hour after the start."""
    written(deadline="2026-11-27T19:00")
    assert "It ends after the deadline, Fri 27 Nov 19:00." in capsys.readouterr().out

    written("--force", deadline="2026-11-29T20:00")
    assert "after the deadline" not in capsys.readouterr().out


def test_hostile_names_stay_names(written):
    """No formula for a sheet, no element on a page, nothing that steers a terminal."""
    plates = [{"id": BOLD, "seconds": 60, "material": "pla", "grams": 1}]
    crew = [{"who": BOLD, "from": "2026-11-27T18:00", "to": "2026-11-27T22:30"}]
    code, out = written(plates=plates, attendance=crew)

    assert code == 0
    with (out / "runs.csv").open(newline="") as rows:
        assert next(csv.DictReader(rows))["plate"].startswith("'=1+1")
    for name in ("schedule.html", "visits.html", "sheets.html", "timeline.svg"):
        assert "<script" not in (out / name).read_text(), name
