"""The file of plates made elsewhere: read, refused, planned and told."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from planner.errors import InputError
from planner.schedule.load import load_weekend, schedule_document
from planner.schedule.solve import plan_weekend

if TYPE_CHECKING:
    from pathlib import Path

GOOD = {
    "time_zone": "Europe/Lisbon",
    "start": "2026-11-27T18:00",
    "deadline": "2026-11-29T20:00",
    "hands_on_min": 8,
    "plates": [
        {"id": "first", "seconds": 3600, "material": "pla", "colour": "grey", "grams": 40},
        {
            "id": "batch",
            "seconds": {"left": 20000, "right": 15000.5},
            "material": "pla",
            "grams": 300,
            "gate": ["first"],
            "check_min": 20,
            "priority": 1,
        },
    ],
    "printers": [{"id": "left"}, {"id": "right", "unattended": True}],
    "attendance": [
        {"who": "crew", "from": "2026-11-27T18:00", "to": "2026-11-27T22:30"},
        {"who": "crew", "from": "2026-11-28T09:00+00:00", "to": "2026-11-28T20:00"},
    ],
    "spools": [{"id": "grey 1", "material": "pla", "colour": "grey", "grams": 820}],
}


def written(tmp_path: Path, changes: dict) -> Path:
    """Write the good file with changes; a path of keys leads to each, None takes it away."""
    data = json.loads(json.dumps(GOOD))
    for where, value in changes.items():
        *way, last = where.split(".")
        inner = data
        for key in way:
            inner = inner[int(key) if key.isdigit() else key]
        if value is None:
            del inner[last]
        else:
            inner[last] = value
    path = tmp_path / "weekend.json"
    path.write_text(json.dumps(data, indent=1))
    return path


def test_reads_a_file_and_tells_the_plan(tmp_path):
    """Times come back as ISO 8601 with the offset of the zone; numbers are those of the file."""
    weekend = load_weekend(written(tmp_path, {}))

    document = schedule_document(weekend, plan_weekend(weekend, effort=1))

    assert json.loads(json.dumps(document)) == document
    assert document["schema"] == "platewright/schedule/1"
    assert document["unscheduled"] == []
    first, batch = document["runs"]
    assert first == {
        "plate": "first",
        "printer": "right",  # where the next plate will want the only spool
        "start": "2026-11-27T18:00:00+00:00",
        "end": "2026-11-27T19:08:00+00:00",
        "spool": "grey 1",
        "hands_on_s": 480.0,
        "alone_s": 0.0,
    }
    assert (batch["printer"], batch["start"]) == ("right", "2026-11-27T19:36:00+00:00")
    assert document["remarks"] == []
    assert document["finish"] == document["lower_bound"] == batch["end"]
    assert document["spools"] == [{"id": "grey 1", "left_g": 480.0}]


def test_a_number_of_seconds_holds_for_every_printer(tmp_path):
    """A mapping holds for the printers it names."""
    first, batch = load_weekend(written(tmp_path, {})).tasks

    assert first.seconds == (("left", 3600.0), ("right", 3600.0))
    assert batch.seconds == (("left", 20000.0), ("right", 15000.5))


def test_without_a_time_zone_the_offset_of_the_start_is_kept(tmp_path):
    """All times must then say theirs."""
    times = {
        "start": "2026-11-27T18:00+02:00",
        "deadline": "2026-11-29T20:00+02:00",
        "attendance": [
            {"who": "a", "from": "2026-11-27T17:00+01:00", "to": "2026-11-28T22:00+02:00"}
        ],
    }
    weekend = load_weekend(written(tmp_path, {"time_zone": None, **times}))

    run = schedule_document(weekend, plan_weekend(weekend, effort=1))["runs"][0]

    assert run["start"] == "2026-11-27T18:00:00+02:00"


def test_the_night_of_the_clock_change_is_told_with_both_offsets(tmp_path):
    """Lisbon goes from +01:00 to +00:00 on 25 October 2026 at 2:00; 8 h are 8 h."""
    changes = {
        "start": "2026-10-24T22:00",
        "deadline": None,
        "plates": [{"id": "p", "seconds": 8 * 3600, "material": "pla", "grams": 1}],
        "attendance": [{"who": "a", "from": "2026-10-24T22:00", "to": "2026-10-24T23:00"}],
    }
    weekend = load_weekend(written(tmp_path, changes))

    run = schedule_document(weekend, plan_weekend(weekend, effort=1))["runs"][0]

    assert (run["start"], run["end"]) == ("2026-10-24T22:00:00+01:00", "2026-10-25T05:08:00+00:00")
    lasts = datetime.fromisoformat(run["end"]) - datetime.fromisoformat(run["start"])
    assert lasts == timedelta(hours=8, minutes=8)


def test_reads_rests_cooling_drying_and_sets(tmp_path):
    """Cooling comes on top of the seconds of a plate; a set may be one name or a list."""
    changes = {
        "cool_down_min": 10,
        "quiet_hours": [{"from": "22:00", "to": "07:00"}],
        "printers.0.cool_down_min": 0,
        "printers.1.changes_over": True,
        "printers.1.maintenance": [{"from": "2026-11-28T09:00", "to": "2026-11-28T10:00"}],
        "spools.0.drying_h": 2,
        "sets": {"bay": 3, "rest": 0.5},
        "plates.0.set": "bay",
        "plates.1.set": ["bay", "rest"],
    }
    weekend = load_weekend(written(tmp_path, changes))
    left, right = weekend.machines

    assert (left.cool_down_s, right.cool_down_s) == (0, 600)
    assert weekend.tasks[0].seconds == (("left", 3600.0), ("right", 4200.0))
    assert [each.why for each in right.blocked] == [*["quiet hours"] * 3, "maintenance"]
    assert (left.changes_over, right.changes_over) == (False, True)
    assert weekend.spools[0].drying_s == 7200
    assert weekend.sets == (("bay", 3.0), ("rest", 0.5))
    assert [task.sets for task in weekend.tasks] == [("bay",), ("bay", "rest")]


def test_tells_sets_and_second_spools(tmp_path):
    """The batch of 300 g from spools of 200 and 150 g; the change is a visit of its own."""
    changes = {
        "plates.0.grams": 0,
        "spools": [
            {"id": "one", "material": "pla", "colour": "grey", "grams": 200},
            {"id": "two", "material": "pla", "colour": "grey", "grams": 150},
        ],
        "sets": {"bay": 3},
        "plates.1.set": "bay",
    }
    weekend = load_weekend(written(tmp_path, changes))

    document = schedule_document(weekend, plan_weekend(weekend, effort=1))

    batch = document["runs"][1]
    assert (batch["spool"], batch["second_spool"], batch["second_g"]) == ("two", "one", 150.0)
    change = next(visit for visit in document["visits"] if visit["feeds"] == "batch")
    assert (change["at"], change["spool"]) == (batch["change_at"], "one")
    assert document["sets"] == [{"set": "bay", "complete": True}]


FAULTY = {
    "a set that is none": ({"plates.0.set": "bay"}, "set 'bay'"),
    "a set without plates": ({"sets": {"bay": 1}}, "no plate of this set"),
    "a value below nothing": ({"sets": {"bay": -1}}, "sets.bay"),
    "daily hours that are none": ({"quiet_hours": [{"from": "24:00", "to": "07:00"}]}, "'24:00'"),
    "maintenance backwards": (
        {"printers.0.maintenance": [{"from": "2026-11-28T09:00", "to": "2026-11-28T08:00"}]},
        "printers[0].maintenance[0].to",
    ),
    "drying for a year": ({"spools.0.drying_h": 9000}, "spools[0].drying_h"),
    "no attendance": ({"attendance": []}, "attendance"),
    "deadline before start": ({"deadline": "2026-11-27T17:00"}, "a time after the start"),
    "printer not in the list": ({"plates.0.seconds": {"middle": 60}}, "printer 'middle'"),
    "gate not in the list": ({"plates.1.gate": ["frist"]}, "plate 'frist'"),
    "ring of gates": ({"plates.0.gate": ["batch"]}, "first waits for batch waits for first"),
    "gate on itself": ({"plates.0.gate": ["first"]}, "first waits for first"),
    "the same person twice": (
        {"attendance.1.from": "2026-11-27T20:00"},
        "each person in one place at a time",
    ),
    "a window that runs backwards": ({"attendance.0.to": "2026-11-27T17:00"}, "attendance[0]"),
    "not a number": ({"plates.0.seconds": float("nan")}, "NaN"),
    "infinite": ({"plates.0.grams": float("inf")}, "Infinity"),
    "negative seconds": ({"plates.0.seconds": -5}, "plates[0].seconds"),
    "negative grams": ({"spools.0.grams": -1}, "spools[0].grams"),
    "huge": ({"plates.0.grams": 1e12}, "plates[0].grams"),
    "text for a number": ({"plates.0.grams": "40"}, "plates[0].grams"),
    "no plates": ({"plates": []}, "plates"),
    "no printers": ({"printers": []}, "printers"),
    "two plates of one name": (
        {"plates.1.id": "first", "plates.1.gate": []},
        "plates[1].id: found 'first' 2 times",
    ),
    "two printers of one name": (
        {"printers.1.id": "left", "plates.1.seconds": 60},
        "printers[1].id: found 'left' 2 times",
    ),
    "unknown key": ({"printers.0.unatended": True}, "unattended"),
    "unknown zone": ({"time_zone": "Europe/Lisbonne"}, "Europe/Lisbonne"),
    "hour the clocks skip": ({"deadline": "2027-03-28T01:30"}, "which the clocks skip"),
    "hour that comes twice": ({"start": "2026-10-25T01:30"}, "which comes twice"),
    "no zone and no offset": (
        {"time_zone": None, "deadline": None, "attendance.0.from": "2026-11-27T18:00+00:00",
         "attendance.0.to": "2026-11-27T22:30Z", "attendance.1.to": "2026-11-28T20:00Z"},
        "a time with an offset",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", FAULTY)
def test_a_faulty_file_is_refused_in_one_clear_sentence(tmp_path, case):
    """The sentence names the file and the place, and nothing else is complained about."""
    changes, words = FAULTY[case]
    path = written(tmp_path, changes)

    with pytest.raises(InputError) as caught:
        load_weekend(path)

    (problem,) = caught.value.problems
    assert words in str(problem), problem
    assert str(path) in str(problem)
    assert "\n" not in str(problem)


def test_quiet_hours_that_fill_the_memory_are_refused(tmp_path):
    """Three windows of every day on 500 printers for over half a year; one printer is planned."""
    hours = [{"from": f"{h:02d}:00", "to": f"{h:02d}:30"} for h in (1, 2, 3)]
    changes = {
        "deadline": None,
        "attendance.1.to": "2027-06-28T20:00",
        "plates.1.seconds": 60,
        "quiet_hours": hours,
    }
    assert load_weekend(written(tmp_path, changes)).machines[0].blocked

    changes["printers"] = [{"id": f"p{n}"} for n in range(500)]
    with pytest.raises(InputError) as caught:
        load_weekend(written(tmp_path, changes))

    (problem,) = caught.value.problems
    assert "hours of every day that come 325 500 times, on all printers and 217 days" in str(
        problem
    )


def test_daily_hours_need_a_time_zone(tmp_path):
    """An offset does not say when it is night after the clocks have changed."""
    changes = {
        "time_zone": None,
        "start": "2026-11-27T18:00Z",
        "deadline": None,
        "attendance": [{"who": "a", "from": "2026-11-27T18:00Z", "to": "2026-11-28T22:00Z"}],
        "quiet_hours": [{"from": "22:00", "to": "07:00"}],
    }
    with pytest.raises(InputError) as caught:
        load_weekend(written(tmp_path, changes))

    places = [problem.place for problem in caught.value.problems]
    assert places == ["quiet_hours[0].from", "quiet_hours[0].to"]


def test_faults_are_all_told_at_once_with_their_lines(tmp_path):
    """In the order of the file."""
    path = written(tmp_path, {"plates.1.gate": ["x"], "deadline": "2026-11-27T17:00"})

    with pytest.raises(InputError) as caught:
        load_weekend(path)

    places = [problem.place for problem in caught.value.problems]
    assert places == ["deadline", "plates[1].gate"]
    lines = path.read_text().splitlines()
    assert '"deadline"' in lines[caught.value.problems[0].line - 1]
    assert '"gate"' in lines[caught.value.problems[1].line - 1]


def test_a_plate_that_no_printer_can_take_is_left_out_with_a_reason(tmp_path):
    """The rest is planned."""
    weekend = load_weekend(written(tmp_path, {"plates.1.seconds": {}}))

    plan = plan_weekend(weekend, effort=1)

    assert [run.plate for run in plan.runs] == ["first"]
    assert plan.unscheduled == (("batch", "no printer can take it"),)
