"""The file of plates made elsewhere: keys, bounds and meanings, nothing else.

Bounds refuse slips of the hand; they are our own choice, no source.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from planner.document import Form, Name, Words
from planner.job.form import Moment, WindowForm  # noqa: TC001  # pydantic needs them now

YEAR_S = 366 * 24 * 3600
Seconds = Annotated[float, Field(ge=1, le=YEAR_S)]


def _how_written(value: Any) -> str:
    return "by printer" if isinstance(value, dict) else "for all"


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


class PrinterForm(Form):
    """A printer, and whether it may run while nobody is there."""

    id: Name = Field(description="What the printer is called.")
    unattended: bool = Field(default=False, description="May it run while nobody is there?")


class SpoolForm(Form):
    """A spool on the shelf."""

    id: Name = Field(description="What is written on it.")
    material: Name = Field(description="Material.")
    colour: Name = Field(description="Colour.")
    grams: float = Field(ge=0, le=50_000, description="Filament left on it.")


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
    plates: tuple[PlateForm, ...] = Field(min_length=1, max_length=5000)
    printers: tuple[PrinterForm, ...] = Field(min_length=1, max_length=500)
    attendance: tuple[WindowForm, ...] = Field(
        min_length=1, max_length=2000, description="Who is there when."
    )
    spools: tuple[SpoolForm, ...] = Field(max_length=2000, description="The spools on the shelf.")
