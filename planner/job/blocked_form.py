"""When printers must not run, as people write it: quiet hours and maintenance."""

from __future__ import annotations

import re
from typing import Annotated, Self

from pydantic import AfterValidator, Field, WithJsonSchema, model_validator

from planner.document import Form, Words, fault
from planner.job.moment import check_moment

_CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d", re.ASCII)
BLOCKED_MAX = 200
"""Stretches of one list: far beyond a person's file."""


def is_daily(text: str) -> bool:
    """Tell whether a time says no date, so that it comes every day."""
    return _CLOCK.fullmatch(text) is not None


def _check_quiet(text: str) -> str:
    if is_daily(text):
        return text
    if "-" not in text:
        raise fault(
            expected="a time of day from 00:00 to 23:59, or a date and time",
            remedy="write two digits, a colon and two digits, as in 07:00",
        )
    return check_moment(text)


QuietMoment = Annotated[
    str,
    AfterValidator(_check_quiet),
    WithJsonSchema({"type": "string", "examples": ["22:00", "2026-11-28T13:00"]}),
]
DatedMoment = Annotated[
    str,
    AfterValidator(check_moment),
    WithJsonSchema({"type": "string", "examples": ["2026-11-27T18:00"]}),
]


class QuietForm(Form):
    """Hours in which no printer may run: of every day, or of one."""

    begin: QuietMoment = Field(
        alias="from", description="From: 22:00 for every day, or a date and time."
    )
    end: QuietMoment = Field(
        alias="to", description="Until, likewise; an earlier time of day is the next morning's."
    )

    @model_validator(mode="after")
    def _alike(self) -> Self:
        found = f"from {self.begin} to {self.end}"
        if is_daily(self.begin) != is_daily(self.end):
            raise fault(
                found=found,
                expected="two times of day, or two dates and times",
                remedy="write {from: 22:00, to: 07:00}, or the date of both",
            )
        if is_daily(self.begin) and self.begin == self.end:
            raise fault(
                found=found,
                expected="quiet hours that end",
                remedy="write another time for one of the two",
            )
        return self


class StretchForm(Form):
    """A stretch of time on one date, or from one to another."""

    begin: DatedMoment = Field(alias="from", description="From: local time, or with an offset.")
    end: DatedMoment = Field(alias="to", description="Until: local time, or with an offset.")


QuietHours = Annotated[
    tuple[QuietForm, ...],
    Field(max_length=BLOCKED_MAX),
    Words(
        expected="a list of hours, each with from and to",
        remedy='write [{"from": "22:00", "to": "07:00"}]',
    ),
]
Maintenance = Annotated[
    tuple[StretchForm, ...],
    Field(max_length=BLOCKED_MAX),
    Words(
        expected="a list of stretches, each with from and to",
        remedy='write [{"from": "2026-11-28T09:00", "to": "2026-11-28T12:00"}]',
    ),
]
Minutes = Annotated[float, Field(ge=0, le=1440)]
DryingHours = Annotated[float, Field(ge=0, le=240)]
Value = Annotated[float, Field(ge=0, le=1e9)]
