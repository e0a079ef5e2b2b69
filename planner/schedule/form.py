"""The file of plates made elsewhere: keys, bounds and meanings, nothing else.

Bounds refuse slips of the hand; they are our own choice, no source.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag

from planner.document import Form, Name, Words
from planner.job.blocked_form import (  # noqa: TC001  # pydantic needs them now
    DryingHours,
    Maintenance,
    Minutes,
    QuietHours,
    Value,
)
from planner.job.form import Moment, WindowForm  # noqa: TC001  # pydantic needs them now

YEAR_S = 366 * 24 * 3600
Seconds = Annotated[float, Field(ge=1, le=YEAR_S)]


def _how_written(value: Any) -> str:
    return "by printer" if isinstance(value, dict) else "for all"


def _as_list(value: Any) -> Any:
    return value if isinstance(value, tuple) else (value,)


SetNames = Annotated[
    Annotated[tuple[Name, ...], Field(max_length=50)],
    BeforeValidator(_as_list),
    Words(expected="the name of a set, or a list of names", remedy='write "set": "bay 1"'),
]


class PlateForm(Form):
    """A plate to be printed once."""

    id: Name = Field(description="What the plate is called.")
    seconds: Annotated[
        Annotated[Seconds, Tag("for all")] | Annotated[dict[Name, Seconds], Tag("by printer")],
        Discriminator(_how_written),
        Words(
            expected=f"seconds from 1 to {YEAR_S}, or a mapping {{printer: seconds}}",
            remedy="write the time from the start until the plate can be taken off",
        ),
    ] = Field(description="One number for every printer, or a mapping printer -> number.")
    material: Name = Field(description="What it is printed from, as on the spools.")
    colour: Name | None = Field(None, description="Colour; any if left out.")
    grams: float = Field(ge=0, le=50_000, description="What it takes off one spool.")
    gate: tuple[Name, ...] = Field((), description="Plates to be taken off and checked before.")
    check_min: float = Field(0, ge=0, le=10_000, description="How long that check takes.")
    priority: int = Field(0, ge=-1000, le=1000, description="Lower is wanted earlier.")
    sets: SetNames = Field(
        (), alias="set", description="Set that is complete only with this plate, or a list."
    )


class PrinterForm(Form):
    """A printer, whether it may run while nobody is there, and when it must not run at all."""

    id: Name = Field(description="What the printer is called.")
    unattended: bool = Field(default=False, description="May it run while nobody is there?")
    quiet_hours: QuietHours = Field(
        (), description="When it must not run, besides the workshop's quiet hours."
    )
    maintenance: Maintenance = Field((), description="When it is out of use, with dates.")
    cool_down_min: Minutes | None = Field(
        None, description="How long it cools before a plate may be taken off; else as for all."
    )
    changes_over: bool = Field(
        default=False,
        description="Does it go on by itself from a spool that ends to a second one?",
    )


class SpoolForm(Form):
    """A spool on the shelf."""

    id: Name = Field(description="What is written on it.")
    material: Name = Field(description="Material.")
    colour: Name = Field(description="Colour.")
    grams: float = Field(ge=0, le=50_000, description="Filament left on it.")
    drying_h: DryingHours = Field(
        0, description="Hours it has to dry first, from when somebody is there to see to it."
    )


class WeekendForm(Form):
    """Plates, printers, spools, and who is there when."""

    form: Literal["platewright/schedule-input/1"] | None = Field(
        None, alias="schema", description="If given: platewright/schedule-input/1."
    )
    time_zone: str | None = Field(
        None, description="Time zone, such as Europe/Lisbon; without it every time has an offset."
    )
    start: Moment = Field(description="Earliest start: local time, or with an offset.")
    deadline: Moment | None = Field(None, description="When everything shall be finished.")
    hands_on_min: float = Field(
        ge=0, le=240, description="A person's time to take off a plate and start the next."
    )
    cool_down_min: Minutes = Field(
        0, description="How long a printer cools after a print, besides its seconds."
    )
    quiet_hours: QuietHours = Field(
        (), description="When no printer may run: of every day, or with dates."
    )
    sets: dict[Name, Value] = Field(
        {},
        max_length=1000,
        description="Name -> what it is worth once all its plates are done, in your own units.",
    )
    plates: tuple[PlateForm, ...] = Field(min_length=1, max_length=5000)
    printers: tuple[PrinterForm, ...] = Field(min_length=1, max_length=500)
    attendance: Annotated[
        tuple[WindowForm, ...],
        Words(
            expected="somebody who is there to start a plate",
            remedy='write [{"who": "crew", "from": "2026-11-27T18:00", "to": "2026-11-27T22:30"}]',
        ),
    ] = Field(min_length=1, max_length=2000, description="Who is there when.")
    spools: tuple[SpoolForm, ...] = Field(max_length=2000, description="The spools on the shelf.")
