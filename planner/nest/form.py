"""The packing problem as a file has it: keys, bounds and meanings, nothing else.

Bounds of lengths only catch slips of typing (common practice, no source): beds to 5 m, parts to
10 m.  Those of numbers keep an answer within two minutes on a small computer (measured): 5000
shapes of at most 20,000 points each, 20,000 copies in all.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from planner.document import Form, Name, Words

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


class ItemForm(Form):
    """A shape and how often it is wanted."""

    id: Name = Field(description="Its name.")
    outline: Ring = Field(description="Corners in order, either way round, in mm.")
    holes: tuple[Ring, ...] = Field((), max_length=2000, description="Openings inside it.")
    quantity: int = Field(1, ge=0, le=20_000, description="How many copies are wanted.")
    rotations_deg: Annotated[
        tuple[Annotated[float, Field(ge=-360, le=360)], ...],
        Field(min_length=1, max_length=360),
        Words(expected="at least one angle from -360 to 360 °", remedy="write [0] for no turn"),
    ] = Field((0.0, 90.0, 180.0, 270.0), description="Turns allowed, counter-clockwise.")
    seconds: float = Field(0.0, ge=0, le=1e8, description="Printing time of one copy.")
    grams: float = Field(0.0, ge=0, le=1e6, description="Filament in one copy.")
    height_mm: float = Field(0.0, ge=0, le=10_000, description="Height of one copy.")
    priority: int = Field(0, ge=-1000, le=1000, description="Lower goes on earlier plates.")


class NestKeepOutForm(Form):
    """A rectangle on the bed where no part may lie."""

    x_mm: Span = Field(description="From and to, from the left edge of the bed.")
    y_mm: Span = Field(description="From and to, from the front edge of the bed.")


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


class NestFile(Form):
    """Shapes, beds and the distances to keep."""

    form: Literal["platewright/nest/1"] | None = Field(
        None, alias="schema", description="Write platewright/nest/1, or leave it out."
    )
    items: tuple[ItemForm, ...] = Field(min_length=1, max_length=5000, description="The shapes.")
    beds: tuple[BedForm, ...] = Field(min_length=1, max_length=100, description="The beds.")
    clearance_mm: float = Field(ge=0, le=1000, description="Kept free between two parts.")
    edge_mm: float = Field(ge=0, le=1000, description="Kept free to the edge of the bed.")
