"""Times are local to the workshop; the hours that clocks skip or repeat are asked about."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError
from pydantic_core import PydanticCustomError

from planner.job.blocked_form import QuietForm
from planner.job.moment import NoSuchTimeError, check_moment, moment

LISBON = ZoneInfo("Europe/Lisbon")


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("2026-11-27T18:00", "2026-11-27T18:00:00+00:00"),
        ("2026-07-01T18:00", "2026-07-01T18:00:00+01:00"),
        ("2026-07-01 18:00:30", "2026-07-01T18:00:30+01:00"),
        ("2026-07-01T18:00Z", "2026-07-01T19:00:00+01:00"),
        ("2026-07-01T18:00-03:00", "2026-07-01T22:00:00+01:00"),
    ],
)
def test_local_times_get_the_offset_of_their_day(text, iso):
    """Lisbon is at UTC in winter and an hour ahead in summer (tz database)."""
    assert moment(check_moment(text), LISBON).isoformat() == iso


def test_differences_across_a_change_of_clocks_are_true_hours():
    """The night of 25 October 2026 has an hour more: 18:00 to 18:00 are 25 hours."""
    span = moment("2026-10-25T18:00", LISBON) - moment("2026-10-24T18:00", LISBON)

    assert span == timedelta(hours=25)


def test_a_skipped_hour_is_refused_with_the_next_time_that_exists():
    with pytest.raises(NoSuchTimeError) as caught:
        moment("2027-03-28T01:30", LISBON)

    assert "clocks skip in Europe/Lisbon" in caught.value.found
    assert "2027-03-28T02:30" in caught.value.remedy


def test_a_repeated_hour_is_refused_with_both_offsets():
    with pytest.raises(NoSuchTimeError) as caught:
        moment("2026-10-25T01:30", LISBON)

    assert "comes twice" in caught.value.found
    assert caught.value.remedy == (
        "say which: 2026-10-25T01:30:00+01:00 or 2026-10-25T01:30:00+00:00"
    )
    for offset in ("+01:00", "+00:00"):
        assert moment(f"2026-10-25T01:30{offset}", LISBON).utcoffset() is not None


@given(
    time=st.datetimes(datetime(2000, 1, 1), datetime(2199, 12, 31)),  # noqa: DTZ001 (local)
    zone=st.sampled_from(["Europe/Lisbon", "America/New_York", "Australia/Lord_Howe", "UTC"]),
)
def test_every_local_time_exists_once_or_is_refused(time, zone):
    """Validation: the standard library's way to UTC and back."""
    local = ZoneInfo(zone)
    text = time.replace(microsecond=0, second=0).isoformat(timespec="minutes")
    wall = datetime.fromisoformat(text)
    utc_of_both = {
        candidate.astimezone(UTC)
        for fold in (0, 1)
        if (candidate := wall.replace(tzinfo=local, fold=fold))
        .astimezone(UTC)
        .astimezone(local)
        .replace(tzinfo=None)
        == wall
    }
    if len(utc_of_both) == 1:
        assert moment(text, local) in utc_of_both
    else:
        with pytest.raises(NoSuchTimeError):
            moment(text, local)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "18:00",
        "2026-11-27",
        "2026-11-31T10:00",
        "2026-11-27T24:30",
        "2026-1-7T8:00",
        "27.11.2026 18:00",
        "2026-W48-5T18:00",
        "1999-12-31T23:59",
        "2200-01-01T00:00",
        "0001-01-01T00:00+14:00",
        "2026-11-27T18:00+99:00",
        "２０２６-11-27T18:00",
        "tomorrow",
    ],
)
def test_what_is_no_time_is_refused(text):
    with pytest.raises(PydanticCustomError):
        check_moment(text)


@pytest.mark.parametrize("text", ["7", "7:00", "24:00", "late"])
def test_a_quiet_hour_without_a_date_is_asked_for_as_a_time_of_day(text):
    """Not for a date: whoever writes "7" means every morning."""
    form = TypeAdapter(QuietForm)

    with pytest.raises(ValidationError, match="a time of day from 00:00 to 23:59"):
        form.validate_python({"from": "22:00", "to": text})
