"""Quiet hours, maintenance, cooling, drying and values in a job file."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from planner.errors import InputError

NIGHT = {"from": "22:00", "to": "07:00"}


def spans(machine, why: str) -> list[str]:
    """Return the stretches of one kind, in UTC, to the minute."""
    return [
        f"{each.start.astimezone(UTC):%d %H:%M} - {each.end.astimezone(UTC):%d %H:%M}"
        for each in machine.blocked
        if each.why == why
    ]


def test_nothing_said_means_nothing_blocked(load, sound):
    """No quiet hours, no cooling, no drying, no value."""
    job = load(sound)

    assert all(machine.blocked == () for machine in job.machines)
    assert all(machine.cool_down_s == 0 for machine in job.machines)
    assert not any(machine.changes_over for machine in job.machines)
    assert all(spool.drying_s == 0 for spool in job.spools)
    assert job.parts["panel"].value is None


def test_quiet_hours_of_every_day_go_on_for_two_days_after_the_last_one_leaves(load, sound):
    """From the evening before the start (27 November) to the morning of the 30th and on."""
    job = load(sound | {"quiet_hours": [NIGHT]})

    for machine in job.machines:
        assert spans(machine, "quiet hours") == [
            "27 22:00 - 28 07:00",
            "28 22:00 - 29 07:00",
            "29 22:00 - 30 07:00",
        ]


def test_quiet_hours_go_on_for_the_hours_of_a_change(load, sound):
    """A change with attendance until the 5th of December has quiet nights until the 7th."""
    crew = {"who": "crew", "from": "2026-12-05T10:00", "to": "2026-12-05T18:00"}
    more = {"name": "a week more", "attendance": [crew]}
    job = load(sound | {"quiet_hours": [NIGHT], "what_if": [more]})

    assert spans(job.machines[0], "quiet hours")[-1] == "06 22:00 - 07 07:00"


def test_slips_in_the_hours_of_a_change_are_told_once(load, sound):
    """They are read twice, for the quiet hours too."""
    crew = {"who": "crew", "from": "2026-12-05T18:00", "to": "2026-12-05T10:00"}
    with pytest.raises(InputError) as caught:
        load(sound | {"what_if": [{"name": "a week more", "attendance": [crew]}]})

    assert [each.place for each in caught.value.problems] == ["what_if[0].attendance[0].to"]


def test_hours_of_the_day_need_not_pass_midnight(load, sound):
    """A midday rest is on the same day."""
    job = load(sound | {"quiet_hours": [{"from": "13:00", "to": "15:00"}]})

    assert spans(job.machines[0], "quiet hours")[0] == "28 13:00 - 28 15:00"


@pytest.mark.parametrize(
    ("day", "hours", "lasts_h"),
    [
        ("2026-10-24", NIGHT, 10),  # the clocks go back in the night: one hour more
        ("2026-03-28", NIGHT, 8),  # and forward: one less
        ("2026-10-24", {"from": "22:00", "to": "01:30"}, 4.5),  # comes twice: the later one
        ("2026-10-25", {"from": "01:30", "to": "07:00"}, 6.5),  # comes twice: the earlier one
        ("2026-03-28", {"from": "22:00", "to": "01:30"}, 3.5),  # is skipped: 02:30 instead
        ("2026-03-29", {"from": "01:30", "to": "07:00"}, 5.5),  # is skipped: 00:30 instead
    ],
)
def test_in_the_nights_of_the_clock_change_quiet_hours_have_their_true_length(
    load, sound, day, hours, lasts_h
):
    """Lisbon changes at 1:00 UTC; a time that is not clear makes the quiet hours longer."""
    job = load(
        sound
        | {
            "start": f"{day}T00:00",
            "deadline": None,
            "attendance": [{"who": "crew", "from": f"{day}T18:00", "to": f"{day}T22:30"}],
            "quiet_hours": [hours],
        }
    )
    blocked = [each for each in job.machines[0].blocked if f"{each.start:%Y-%m-%d}" >= day]
    lengths = {f"{each.start:%Y-%m-%d}": each.end - each.start for each in blocked}

    assert lengths[day] == timedelta(hours=lasts_h)


def test_a_printer_adds_its_own_quiet_hours_and_maintenance(load, sound):
    """Dates and times in the zone of the job, or with an offset."""
    sound["quiet_hours"] = [{"from": "2026-11-28T13:00", "to": "2026-11-28T14:00"}]
    sound["printers"][1] |= {
        "quiet_hours": [{"from": "2026-11-28T20:00", "to": "2026-11-29T08:00"}],
        "maintenance": [{"from": "2026-11-27T18:00+01:00", "to": "2026-11-28T10:00"}],
    }
    bench, *cupboards = load(sound).machines

    assert spans(bench, "quiet hours") == ["28 13:00 - 28 14:00"]
    for cupboard in cupboards:
        assert spans(cupboard, "quiet hours") == ["28 13:00 - 28 14:00", "28 20:00 - 29 08:00"]
        assert spans(cupboard, "maintenance") == ["27 17:00 - 28 10:00"]


def test_cooling_is_the_jobs_or_the_printers_own(load, sound):
    """Nought of its own counts too."""
    sound["cool_down_min"] = 10
    sound["printers"][0]["cool_down_min"] = 0
    job = load(sound)

    assert [machine.cool_down_s for machine in job.machines] == [0, 600, 600]


def test_drying_changing_over_and_values_are_read(load, sound):
    """Of a spool, a printer, a part and an assembly."""
    sound["spools"][1]["drying_h"] = 6
    sound["printers"][1]["changes_over"] = True
    sound["parts"]["key"]["value"] = 2
    sound["assemblies"]["wall"]["value"] = 12.5
    job = load(sound)

    assert [spool.drying_s for spool in job.spools] == [0, 6 * 3600]
    assert [machine.changes_over for machine in job.machines] == [False, True, True]
    assert (job.parts["key"].value, job.assemblies["wall"].value) == (2, 12.5)


FAULTY = {
    "a time that is none": ({"quiet_hours": [{"from": "25:00", "to": "07:00"}]}, "'25:00'"),
    "one digit": ({"quiet_hours": [{"from": "22:00", "to": "7:00"}]}, "as in 07:00"),
    "half a date": (
        {"quiet_hours": [{"from": "22:00", "to": "2026-11-28T07:00"}]},
        "two times of day, or two dates and times",
    ),
    "no length": ({"quiet_hours": [{"from": "22:00", "to": "22:00"}]}, "quiet hours that end"),
    "no list": ({"quiet_hours": "22:00 to 07:00"}, "a list of hours, each with from and to"),
    "backwards": (
        {"quiet_hours": [{"from": "2026-11-28T07:00", "to": "2026-11-27T22:00"}]},
        "a time after from, 2026-11-28T07:00",
    ),
    "an hour that comes twice": (
        {"quiet_hours": [{"from": "2026-10-25T01:30", "to": "2026-10-25T09:00"}]},
        "which comes twice",
    ),
    "cooling for ever": ({"cool_down_min": float("inf")}, "cool_down_min"),
    "negative cooling": ({"cool_down_min": -1}, "cool_down_min"),
    "attendance in another century": (
        {
            "quiet_hours": [NIGHT],
            "attendance": [{"who": "a", "from": "2026-11-27T18:00", "to": "2126-11-27T22:30"}],
        },
        "attendance that ends within 400 days",
    ),
}


@pytest.mark.parametrize("case", FAULTY)
def test_slips_are_told_in_one_line(load, sound, case):
    """With the place in the file."""
    changes, words = FAULTY[case]
    with pytest.raises(InputError) as caught:
        load(sound | changes)

    (problem,) = caught.value.problems
    assert words in str(problem), problem
    assert "\n" not in str(problem)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("maintenance", [NIGHT]),
        ("maintenance", [{"from": "2026-11-28T09:00", "to": "2026-11-28T08:00"}]),
        ("changes_over", "yes"),
        ("cool_down_min", 1e6),
        ("cooldown_min", 5),
    ],
)
def test_slips_of_a_printer_are_told_with_its_place(load, sound, key, value):
    """Maintenance of every day is not a thing; give its dates."""
    sound["printers"][1][key] = value
    with pytest.raises(InputError) as caught:
        load(sound)

    assert all(problem.place.startswith("printers[1]") for problem in caught.value.problems)


def test_blocked_stretches_carry_fixed_offsets_or_utc(load, sound):
    """Times of one ZoneInfo would be subtracted by the clock on the wall."""
    job = load(
        sound | {"quiet_hours": [NIGHT, {"from": "2026-11-28T13:00", "to": "2026-11-28T14:00"}]}
    )

    for each in job.machines[0].blocked:
        assert isinstance(each.start, datetime)
        assert getattr(each.start.tzinfo, "key", None) is None
