"""The packing problem as a file has it: keys, bounds and meanings, nothing else.

Bounds of lengths only catch slips of typing (common practice, no source): beds to 5 m, parts to
10 m.  Those of numbers keep an answer within two minutes on a small computer (measured): 5000
shapes of at most 20,000 points each, 20,000 copies in all.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from planner.document import Form, Name, Words, fault
from planner.settings.form import BedOutline, BedPoint, Gap, HeadForm, check_one_place
from planner.settings.turns import Rotations  # noqa: TC001  (pydantic reads it at run time)

Millimetres = Annotated[float, Field(ge=-10_000, le=10_000)]
Point = Annotated[
    tuple[Millimetres, Millimetres],
    Words(expected="a point [x, y] in mm", remedy="write two numbers, as in [12.5, 40]"),
]
Ring = Annotated[
    tuple[Point, ...],
    Field(min_length=3, max_length=20_000),
    Words(
        expected="from 3 to 20000 points [x, y] in mm",
        remedy="list the corners in order; between points 0.1 mm apart, leave some out",
    ),
]
Span = Annotated[
    tuple[float, float],
    Words(expected="[from, to] in mm", remedy="write two numbers, as in [0, 20]"),
]
Group = Annotated[
    tuple[Name, ...],
    Field(min_length=1, max_length=5000),
    Words(expected="a list of item ids", remedy='write two ids or more, as in ["hook", "key"]'),
]


class ItemForm(Form):
    """A shape and how often it is wanted."""

    id: Name = Field(description="Its name.")
    outline: Ring = Field(description="Corners in order, either way round, in mm.")
    holes: tuple[Ring, ...] = Field((), max_length=2000, description="Openings inside it.")
    quantity: int = Field(1, ge=0, le=20_000, description="How many copies are wanted.")
    rotations_deg: (
        Annotated[
            tuple[Annotated[float, Field(ge=-360, le=360)], ...],
            Field(min_length=1, max_length=360),
            Words(expected="at least one angle from -360 to 360 °", remedy="write [0] for no turn"),
        ]
        | None
    ) = Field(None, description="Turns allowed, counter-clockwise; else quarter turns.")
    rotations: Rotations | None = Field(
        None, description="In place of rotations_deg: free, {every_deg: 15}, or a list."
    )
    seconds: float = Field(
        0.0, ge=0, le=1e8, description="Printing time of one copy, for the limits of plates."
    )
    grams: float = Field(0.0, ge=0, le=1e6, description="Filament in one copy.")
    height_mm: float = Field(0.0, ge=0, le=10_000, description="Height of one copy.")
    priority: int = Field(0, ge=-1000, le=1000, description="Lower goes on earlier plates.")

    @model_validator(mode="after")
    def _says_turns_once(self) -> Self:
        if self.rotations_deg is not None and self.rotations is not None:
            raise fault(
                found="both rotations_deg and rotations",
                expected="one of the two",
                remedy="leave one out",
            )
        return self


class NestKeepOutForm(Form):
    """A place on the bed where no part may lie: a rectangle, or any simple outline."""

    x_mm: Span | None = Field(None, description="From and to, from the left edge of the bed.")
    y_mm: Span | None = Field(None, description="From and to, from the front edge of the bed.")
    outline: BedOutline | None = Field(
        None, description="Corners [x, y] in order, in place of x_mm and y_mm."
    )

    @model_validator(mode="after")
    def _is_one_place(self) -> Self:
        check_one_place(self)
        return self


class BedForm(Form):
    """A kind of bed and how many there are."""

    id: Name = Field(description="Its name.")
    width_mm: float = Field(gt=0, le=5000, description="Left to right.")
    depth_mm: float = Field(gt=0, le=5000, description="Front to back.")
    keep_out: tuple[NestKeepOutForm, ...] = Field(
        (), max_length=200, description="Places where no part may lie."
    )
    count: int | None = Field(
        None, ge=0, le=100_000, description="Plates of this kind; left out: as many as needed."
    )
    height_mm: float | None = Field(None, gt=0, le=10_000, description="Room above the bed.")
    limit_s: float | None = Field(None, gt=0, le=1e8, description="Longest plate, in seconds.")
    limit_g: float | None = Field(None, gt=0, le=1e6, description="Heaviest plate, in grams.")
    limit_parts: int | None = Field(None, ge=1, le=20_000, description="Most parts on a plate.")
    preferred_mm: BedPoint | None = Field(
        None, description="Point that parts shall be near, for placing: centre; else the middle."
    )
    one_by_one: HeadForm | None = Field(
        None,
        description="The room of the head: parts are then printed one after the other, each to "
        "its full height, and the answer says in which order.",
    )


class PinForm(Form):
    """A copy that stays where a person laid it."""

    plate: int = Field(ge=1, le=20_000, description="Number of the plate, from 1.")
    bed: Name = Field(description="Bed that the plate is on.")
    id: Name = Field(description="Item.")
    x_mm: Millimetres = Field(description="Where the outline's own (0, 0) lies, from the left.")
    y_mm: Millimetres = Field(description="Where the outline's own (0, 0) lies, from the front.")
    rotation_deg: float = Field(
        0.0, ge=-360, le=360, description="Turn about (0, 0), counter-clockwise, before the move."
    )


class NestFile(Form):
    """Shapes, beds and the distances to keep."""

    form: Literal["platewright/nest/1"] | None = Field(
        None, alias="schema", description="Write platewright/nest/1, or leave it out."
    )
    items: tuple[ItemForm, ...] = Field(min_length=1, max_length=5000, description="The shapes.")
    beds: tuple[BedForm, ...] = Field(min_length=1, max_length=100, description="The beds.")
    clearance_mm: Gap = Field(ge=0, le=1000, description="Kept free between two parts.")
    edge_mm: Gap = Field(ge=0, le=1000, description="Kept free to the edge of the bed.")
    together: tuple[Group, ...] = Field(
        (), max_length=500, description="Groups of items, all copies of which share one plate."
    )
    apart: tuple[Group, ...] = Field(
        (), max_length=500, description="Groups of items, no two of which share a plate."
    )
    pins: tuple[PinForm, ...] = Field(
        (), max_length=500, description="Copies that stay where they are laid."
    )
    placing: Literal["compact", "centre", "spread"] = Field(
        "compact",
        description="Once the plates are settled: parts close together, near the preferred "
        "point, or far from each other.",
    )
    parts_per_plate: int | None = Field(
        None, ge=1, le=20_000, description="Most parts on any plate."
    )
    hours_per_plate: float | None = Field(
        None, gt=0, le=10_000, description="Longest plate, in hours: all that one failure costs."
    )
