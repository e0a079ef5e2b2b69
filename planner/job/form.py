"""The job file as people write it: keys, bounds and meanings, nothing else.

The descriptions here are the reference of the job file: `planner.job.schema` turns them
into the JSON Schema that editors complete from. Bounds refuse slips of the hand; they are
common practice, no source.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import (
    AfterValidator,
    Discriminator,
    Field,
    Tag,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from planner.document import Form, Name, Words, fault
from planner.job.blocked_form import (  # noqa: TC001  # pydantic needs them now
    DryingHours,
    Maintenance,
    Minutes,
    QuietHours,
    Value,
)
from planner.job.layout.form import WallsRef  # noqa: TC001  (pydantic reads it at run time)
from planner.job.load_form import Direction, LoadRef, shape_of
from planner.job.moment import check_moment
from planner.job.wall_form import FixingsForm, VisibleRef  # noqa: TC001  read at run time
from planner.settings.form import BedPoint, Gap, HeadForm, KeepOutForm, SettingsForm
from planner.settings.turns import Rotations  # noqa: TC001  (pydantic reads it at run time)

COPIES_MAX = 10_000
"""Copies to print in all: years for a small workshop. Beyond it, a slip of the hand."""
THINGS_MAX = 2000
"""Kinds of part, assemblies, spools, stretches of attendance: far beyond a person's file."""
MACHINES_MAX = 200
Count = Annotated[int, Field(ge=0, le=COPIES_MAX)]
Path = Annotated[str, Field(min_length=1, max_length=1000)]
Moment = Annotated[
    str,
    AfterValidator(check_moment),
    WithJsonSchema({"type": "string", "examples": ["2026-11-27T18:00"]}),
]
PartGroup = Annotated[
    tuple[Name, ...],
    Field(min_length=1, max_length=THINGS_MAX),
    Words(expected="a list of parts", remedy="write two names or more, as in [hook, key]"),
]
SettingsRef = Annotated[
    Annotated[Path, Tag("as a word")] | Annotated[SettingsForm, Tag("as a mapping")],
    Discriminator(lambda value: shape_of(value).replace("a list", "a word")),
    Words(
        expected="the name of a settings profile, or a mapping {base: name, key: value}",
        remedy="write a name such as everyday_020",
    ),
]


class PartForm(Form):
    """One kind of part."""

    mesh: Path = Field(description="Mesh file (STL, OBJ, 3MF, PLY, OFF), from the job's folder.")
    unit: Literal["mm", "cm", "m", "in", "inch", "micron", "foot"] | None = Field(
        None, description="Unit the mesh is drawn in; a 3MF says it itself; else mm is meant."
    )
    quantity: Count = Field(0, description="Copies wanted by themselves, besides assemblies.")
    stock: Count = Field(0, description="Good copies on hand.")
    up: Direction | None = Field(
        None, description="Axis of the part that points away from the plate; else as drawn."
    )
    load: LoadRef | None = Field(None, description="Load case, or a list of them.")
    visible: VisibleRef | None = Field(
        None,
        description="Faces in sight on the wall, where overhangs would show: all that faces an "
        "axis, a box or a plane, or a list of them; else all but what a load case holds.",
    )
    fixings: FixingsForm | None = Field(
        None, description="Screws that hold the part to the wall, for the load of each."
    )
    settings: SettingsRef | None = Field(
        None, description="Other settings: a name, or changes {base: name, key: value}."
    )
    rotations: Rotations | None = Field(
        None,
        description="Turns in which it may lie on the plate: free, {every_deg: 15}, or a list of "
        "degrees; else quarter turns.",
    )
    colour: Name | None = Field(None, description="Colour; any if left out.")
    exceptions: dict[Name, Annotated[str, Field(min_length=1, max_length=500)]] = Field(
        {},
        max_length=200,
        description="Rule of the guideline -> reason why this part may break it.",
    )
    tags: tuple[Name, ...] = Field((), max_length=50, description="Words for the guideline.")
    stage: int = Field(1, ge=1, le=1000, description="Stage of assembly; lower is printed first.")
    spares: int | None = Field(
        None,
        ge=0,
        le=COPIES_MAX,
        description="Spare copies; else as many as failure_rate and confidence ask.",
    )
    mating: bool = Field(
        default=False, description="Whether a first article is tried for fit before the batch."
    )
    value: Value | None = Field(
        None,
        description="What all the copies are worth once every plate with one of them is done "
        "in time, in units of your own; counts where not everything can be done.",
    )

    @model_validator(mode="after")
    def _fixings_bear_something(self) -> Self:
        if self.fixings is not None and self.load is None:
            raise fault(
                found="fixings, and no load",
                expected="the load that the fixings bear",
                remedy="add load: {force_n: [0, 0, -20], on: +z, held: -y}",
            )
        return self


class AssemblyForm(Form):
    """A thing made of parts and of other assemblies."""

    quantity: Count = Field(0, description="How many are wanted by themselves.")
    stock: Count = Field(0, description="Assembled ones on hand.")
    contains: dict[Name, Annotated[int, Field(ge=1, le=COPIES_MAX)]] = Field(
        min_length=1,
        max_length=THINGS_MAX,
        description="Part or assembly -> how many of it are in one.",
    )
    value: Value | None = Field(
        None,
        description="What all the wanted ones are worth once every plate with a part of them is "
        "done in time, in units of your own; counts where not everything can be done.",
    )


class PrinterForm(Form):
    """A printer that stands in the workshop, or several alike."""

    name: Name = Field(description="What you call it.")
    profile: Path = Field(description="Printer profile: name, or path of a file.")
    count: int = Field(
        1, ge=1, le=MACHINES_MAX, description='How many alike: "name 1", "name 2", …'
    )
    unattended: bool = Field(default=False, description="Whether it may run with nobody there.")
    nozzle_mm: float | None = Field(None, ge=0.1, le=3, description="Nozzle fitted to it.")
    keep_out: tuple[KeepOutForm, ...] = Field(
        (), max_length=50, description="Places on the bed where nothing may lie."
    )
    one_by_one: bool = Field(
        default=False,
        description="Whether parts are printed one after the other, each to its full height.",
    )
    head: HeadForm | None = Field(
        None, description="Room that its head takes up; else the profile's."
    )
    preferred_mm: BedPoint | None = Field(
        None, description="Where parts should lie if there is a choice; else the bed's middle."
    )
    quiet_hours: QuietHours = Field(
        (), description="When it must not run, besides the workshop's quiet hours."
    )
    maintenance: Maintenance = Field((), description="When it is out of use, with dates.")
    cool_down_min: Minutes | None = Field(
        None, description="How long it cools before a plate may be taken off; else the job's."
    )
    changes_over: bool = Field(
        default=False,
        description="Whether it goes on by itself from a spool that ends to a second one.",
    )
    power_w: float | None = Field(
        None,
        ge=1,
        le=20_000,
        description="Mean power while printing, measured; else the profile's.",
    )
    wear_per_hour: float | None = Field(
        None, ge=0, le=1000, description="What an hour of printing wears off it, in the currency."
    )


class SpoolForm(Form):
    """A spool on the shelf; say what is left, or weigh it."""

    name: Name = Field(description="What is written on it.")
    filament: Path = Field(description="Filament profile: name, or path of a file.")
    colour: Name = Field(description="Colour.")
    left_g: float | None = Field(None, ge=0, le=50_000, description="Filament left.")
    gross_g: float | None = Field(None, ge=0, le=50_000, description="Weight with the spool.")
    empty_g: float | None = Field(None, ge=0, le=5_000, description="Weight of the bare spool.")
    price_per_kg: float | None = Field(
        None, ge=0, le=10_000, description="Price; else the filament profile's."
    )
    drying_h: DryingHours = Field(
        0, description="Hours it has to dry first, from when somebody is there to see to it."
    )

    @model_validator(mode="after")
    def _says_once_what_is_left(self) -> Self:
        keys = ("left_g", "gross_g", "empty_g")
        given = [key for key in keys if getattr(self, key) is not None]
        if given not in (["left_g"], ["gross_g", "empty_g"]):
            raise fault(
                found=" and ".join(given) or "no weight",
                expected="either left_g, or both gross_g and empty_g",
                remedy="write left_g: …, or gross_g: … with empty_g: …",
            )
        if self.gross_g is not None and self.empty_g is not None and self.gross_g < self.empty_g:
            raise fault(
                found=f"gross_g {self.gross_g:g} g under empty_g {self.empty_g:g} g",
                expected="gross_g not below empty_g",
                remedy="weigh the bare spool again, or swap the two",
            )
        return self


class WindowForm(Form):
    """A stretch of time during which somebody is there to change plates."""

    who: Name = Field(description="Who.")
    begin: Moment = Field(alias="from", description="From: local time, or with an offset.")
    end: Moment = Field(alias="to", description="Until: local time, or with an offset.")


class PlateFailuresForm(Form):
    """How often a whole plate fails."""

    # Common practice, no source; what was published is in planner/schedule/odds/model.py.
    first_layer: float = Field(0.02, ge=0, le=0.9, description="Chance in the first layer.")
    per_hour: float = Field(0.002, ge=0, le=10, description="Rate per hour after that.")


class JobPinForm(Form):
    """A copy of the batch that stays where a person laid it."""

    plate: int = Field(
        ge=1, le=1000, description="Any number: pins of the same number share a plate."
    )
    printer: Name = Field(description="Printer whose kind of bed the plate is for.")
    part: Name = Field(description="Part.")
    x_mm: float = Field(ge=-5000, le=5000, description="As in plan.json, from the left edge.")
    y_mm: float = Field(ge=-5000, le=5000, description="As in plan.json, from the front edge.")
    rotation_deg: float = Field(0.0, ge=-360, le=360, description="Turn, counter-clockwise.")


class WhatIfForm(Form):
    """A change to the job, to be compared with it; what is not named stays as it is."""

    name: Name = Field(description="What the change is called.")
    printers: tuple[PrinterForm, ...] = Field(
        (), max_length=MACHINES_MAX, description="Printers on top of those there are."
    )
    spools: tuple[SpoolForm, ...] = Field(
        (), max_length=THINGS_MAX, description="Spools on top of those there are."
    )
    attendance: tuple[WindowForm, ...] = Field(
        (), max_length=THINGS_MAX, description="Attendance on top of what there is."
    )
    without: tuple[Name, ...] = Field(
        (), max_length=THINGS_MAX, description="Parts and assemblies that are not printed."
    )
    layer_mm: float | None = Field(
        None, gt=0, le=2, description="Layer height where layers are finer and nozzles allow it."
    )
    mornings_later_h: float | None = Field(
        None, ge=-12, le=12, description="How much later attendance begins in the morning."
    )
    evenings_longer_h: float | None = Field(
        None, ge=-12, le=12, description="How much longer the last ones of an evening stay."
    )
    deadline: Moment | None = Field(None, description="Another deadline.")
    hands_on_min: float | None = Field(None, ge=0, le=240, description="Other hands-on time.")
    confidence: float | None = Field(
        None, ge=0.5, le=0.9999, description="Other confidence per kind of part."
    )
    finish_confidence: float | None = Field(
        None, ge=0.05, le=0.999, description="Other wanted odds that all is there in time."
    )
    spares: int | None = Field(
        None, ge=0, le=COPIES_MAX, description="Spare copies of every kind of part."
    )
    unattended: bool | None = Field(
        None, description="Whether all printers may run with nobody there."
    )

    @model_validator(mode="after")
    def _changes_something(self) -> Self:
        said = (getattr(self, key) for key in self.model_fields_set - {"name"})
        if all(value in (None, ()) for value in said):
            raise fault(
                found="a name, and nothing that changes",
                expected="at least one thing that is other than in the job",
                remedy="add spares: 0, or another key",
            )
        return self


class JobForm(Form):
    """What is to be printed, on what, from what, and who is there when."""

    form: Literal["platewright/job/1"] = Field(
        alias="schema", description="Write platewright/job/1."
    )
    name: Name = Field(description="What the job is called.")
    time_zone: str = Field(
        min_length=1, description="Time zone of the workshop, such as Europe/Lisbon."
    )
    start: Moment = Field(description="Earliest start: local time, or with an offset.")
    deadline: Moment | None = Field(None, description="When everything shall be finished.")
    guideline: Path = Field("everyday", description="Guideline: name, or path of a file.")
    settings: SettingsRef = Field(
        "everyday_020",
        description="Settings of every part that names no others: a name, a path, or changes "
        "{base: name, key: value}.",
    )
    currency: Name = Field("EUR", description="Currency of every price.")
    # The defaults below are common practice or guesses of ours, no source: say your own.
    electricity_per_kwh: float = Field(0.25, ge=0, le=1000, description="Price of electricity.")
    new_spool_g: float = Field(
        1000, ge=50, le=50_000, description="Filament on a spool to buy, for the shopping list."
    )
    confidence: float = Field(
        0.9, ge=0.5, le=0.9999, description="Wanted odds, per kind of part, of enough good copies."
    )
    failure_rate: float = Field(
        0.05, ge=0, le=0.9, description="Chance that a copy is bad, 0 to 0.9."
    )
    finish_confidence: float | None = Field(
        None,
        ge=0.05,
        le=0.999,
        description="Wanted odds that all is there by the deadline: spares and plan are chosen "
        "for them.",
    )
    what_if: tuple[WhatIfForm, ...] = Field(
        (),
        max_length=50,
        description="Changes that `plan --what-if` compares; else some that suit the job.",
    )
    plate_failures: PlateFailuresForm = Field(
        PlateFailuresForm(), description="Chance that a whole plate fails; for the odds."
    )
    hands_on_min: float = Field(
        8, ge=0, le=240, description="A person's time to take off a plate and start the next."
    )
    cool_down_min: Minutes = Field(
        0, description="How long a printer cools before its plate may be taken off."
    )
    quiet_hours: QuietHours = Field(
        (),
        description="When no printer may run, not even to cool: {from: 22:00, to: 07:00} for "
        "every day, or with dates. Plates may be taken off.",
    )
    safety_factor: float = Field(
        2,
        ge=1,
        le=50,
        description="Wanted predicted strength of a part per load that it carries.",
    )
    fit_check_min: float = Field(
        20, ge=0, le=10_000, description="Time to try the first articles for fit."
    )
    clearance_mm: Gap = Field(4, ge=0, le=100, description="Between parts on a plate.")
    edge_mm: Gap = Field(3, ge=0, le=100, description="From parts to the edge of the bed.")
    together: tuple[PartGroup, ...] = Field(
        (), max_length=200, description="Groups of parts whose batch shares one plate."
    )
    apart: tuple[PartGroup, ...] = Field(
        (), max_length=200, description="Groups of parts, no two of which share a plate."
    )
    pins: tuple[JobPinForm, ...] = Field(
        (), max_length=200, description="Copies of the batch that stay where they are laid."
    )
    placing: Literal["compact", "centre", "spread"] = Field(
        "compact",
        description="Once the plates are settled: parts close together, near the preferred "
        "point of the bed, or far from each other.",
    )
    parts_per_plate: int | None = Field(
        None, ge=1, le=COPIES_MAX, description="Most parts on any plate."
    )
    hours_per_plate: float | None = Field(
        None, gt=0, le=1000, description="Longest plate, in hours: all that one failure costs."
    )
    parts: Annotated[
        dict[Name, PartForm], Words(example="{hook: {mesh: hook.stl, quantity: 1}}")
    ] = Field(min_length=1, max_length=THINGS_MAX, description="Name -> part.")
    assemblies: dict[Name, AssemblyForm] = Field(
        {}, max_length=THINGS_MAX, description="Name -> assembly."
    )
    wall: WallsRef | None = Field(
        None,
        description="Walls to fill, whose parts are counted: a wall file, or walls written out.",
    )
    printers: Annotated[
        tuple[PrinterForm, ...], Words(example="[{name: bench, profile: open_frame_220}]")
    ] = Field(min_length=1, max_length=MACHINES_MAX, description="The printers.")
    spools: tuple[SpoolForm, ...] = Field(
        (), max_length=THINGS_MAX, description="The spools on the shelf."
    )
    attendance: Annotated[
        tuple[WindowForm, ...],
        Words(example="[{who: crew, from: 2026-11-27T18:00, to: 2026-11-27T22:30}]"),
    ] = Field(min_length=1, max_length=THINGS_MAX, description="Who is there when.")

    @field_validator("settings")
    @classmethod
    def _default_is_whole(cls, given: str | SettingsForm) -> str | SettingsForm:
        if isinstance(given, SettingsForm) and given.base is None:
            raise fault(
                found="changes without a base",
                expected="the name of a settings profile, or a mapping {base: name, key: value}",
                remedy="add base: everyday_020",
            )
        return given


class PartialJobForm(JobForm):
    """What is left of a job without its faulty keys, so that the rest can be checked too.

    "" stands for a time zone and a start that are not known.
    """

    form: Literal["platewright/job/1"] = Field("platewright/job/1", alias="schema")
    name: Name = "a job"
    time_zone: str = ""
    start: Moment = ""
    parts: dict[Name, PartForm] = Field({})
    printers: tuple[PrinterForm, ...] = ()
    attendance: tuple[WindowForm, ...] = ()
