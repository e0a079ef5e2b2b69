"""Walls as people write them: sizes, cut-outs, drawings in text, what hangs where, screws.

Places are in mm from the bottom left corner of a wall; columns and rows of cells count from 1,
from the left and from below. Bounds refuse slips of the hand; common practice, no source.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import (
    AfterValidator,
    Discriminator,
    Field,
    Tag,
    field_validator,
    model_validator,
)

from planner.document import Form, Name, Words, fault
from planner.job.layout.mask import MASK_MAX, check_mask
from planner.job.layout.system_form import SystemForm, each_side_once
from planner.job.load_form import shape_of
from planner.job.model import GRAVITY_N_KG

WALLS_MAX = 100
CUT_OUTS_MAX = 50
HUNG_MAX = 1000
ALONG_MAX = 2000
"""Most columns or rows of one wall."""

Place = Annotated[float, Field(ge=-1e6, le=1e6)]
Length = Annotated[float, Field(gt=0, le=1e6)]
Many = Annotated[int, Field(ge=1, le=10_000)]
Along = Annotated[int, Field(ge=1, le=ALONG_MAX)]
Sides = Annotated[
    tuple[Literal["left", "right", "top", "bottom"], ...],
    Field(max_length=4),
    AfterValidator(each_side_once),
    Words(expected="a list of left, right, top and bottom", remedy="write sides, as in [top]"),
]


class CutOutForm(Form):
    """A rectangle of the wall that stays free."""

    name: Name = Field(description="What is there.")
    kind: Literal["socket", "switch", "window", "pipe", "other"] = Field(
        "other",
        description="Above, below and beside sockets, switches and pipes no screws are set: cables "
        "or pipes may run there.",
    )
    x_mm: Place = Field(description="Its left edge, from the wall's.")
    y_mm: Place = Field(description="Its lower edge, from the wall's.")
    width_mm: Length = Field(description="Its width.")
    height_mm: Length = Field(description="Its height.")


class HungForm(Form):
    """An accessory in a place of its own."""

    thing: Name = Field(description="Part or assembly.")
    cell: Annotated[
        tuple[Along, Along],
        Words(expected="[column, row], from 1", remedy="write a cell, as in [3, 2]"),
    ] = Field(description="Cell that it hangs on: [column, row], from the left and from below.")
    count: Many = Field(1, description="How many hang there.")
    weight_kg: float | None = Field(None, gt=0, le=1000, description="Weight on each of them.")
    force_n: float | None = Field(None, gt=0, le=10_000, description="The same as a force.")
    out_mm: float | None = Field(
        None, ge=0, le=2000, description="How far in front of the wall the weight hangs."
    )

    @model_validator(mode="after")
    def _load_is_whole(self) -> Self:
        told = [key for key in ("weight_kg", "force_n") if getattr(self, key) is not None]
        if len(told) == 2:
            raise fault(
                found="both weight_kg and force_n",
                expected="one of the two",
                remedy="remove one (1 kg weighs 9.8 N)",
            )
        if bool(told) != (self.out_mm is not None):
            raise fault(
                found=f"{told[0]} without out_mm" if told else "out_mm without a weight",
                expected="a weight and how far in front of the wall it hangs",
                remedy="add out_mm: 60" if told else "add weight_kg: 2, or remove out_mm",
            )
        return self

    @property
    def newtons(self) -> float:
        """What hangs there, in N; 0 where nothing was said."""
        return self.force_n or (self.weight_kg or 0.0) * GRAVITY_N_KG


class WallForm(Form):
    """One wall: either its size, or its columns and rows, or a drawing in text."""

    name: Name = Field(description="What it is called.")
    width_mm: Length | None = Field(None, description="Its width.")
    height_mm: Length | None = Field(None, description="Its height.")
    columns: Along | None = Field(None, description="Columns of cells, in place of its width.")
    rows: Along | None = Field(None, description="Rows of cells, in place of its height.")
    cut_outs: tuple[CutOutForm, ...] = Field(
        (), max_length=CUT_OUTS_MAX, description="What stays free; a cell that it touches is none."
    )
    mask: str | None = Field(
        None,
        min_length=1,
        max_length=MASK_MAX,
        description="Drawing of the cells, the top row first: # is a cell, . is none.",
    )
    offset_mm: tuple[Place, Place] | None = Field(
        None,
        description="Bottom left corner [x, y] of the grid of cells; else where most cells fit "
        "and what is left over at the margins is even.",
    )
    hung: tuple[HungForm, ...] = Field(
        (), max_length=HUNG_MAX, description="Accessories and the cells that they hang on."
    )
    studs_mm: tuple[Place, ...] = Field(
        (), max_length=500, description="Studs behind the wall: x of their middles."
    )
    meets: Sides = Field(
        (), description="Sides at a ceiling or in a room's corner, where cables may run."
    )

    @field_validator("mask")
    @classmethod
    def _mask_is_a_drawing(cls, text: str | None) -> str | None:
        if text is not None:
            check_mask(text)
        return text

    @model_validator(mode="after")
    def _size_is_said_once(self) -> Self:
        for size, cells in (("width_mm", "columns"), ("height_mm", "rows")):
            told = [key for key in (size, cells) if getattr(self, key) is not None]
            if len(told) == 2 or not (told or self.mask):
                raise fault(
                    found=" and ".join(told) or f"neither {size} nor {cells}",
                    expected=f"one of {size} and {cells}",
                    remedy=f"write {size}: in millimetres, or {cells}: and a number of cells",
                )
        return self


class AnchorForm(Form):
    """What holds a screw in the wall."""

    name: Name = Field(description="What it is.")
    rated_n: float | None = Field(
        None, ge=1, le=1e6, description="Load of one in this wall, from its maker, in newtons."
    )
    factor: float = Field(
        4.0,
        ge=1,
        le=100,
        description="Rated load per load let on an anchor: 4 for a load at which it breaks; 1 "
        "where the maker has taken a factor off already.",
    )
    edge_mm: float = Field(
        ge=0, le=1000, description="Least distance from the wall's edge and from cut-outs."
    )


class MountingForm(Form):
    """How the board is screwed to the wall."""

    pattern: Literal["every junction", "every other", "edges"] = Field(
        "every junction", description="Which junctions get a screw."
    )
    anchor: AnchorForm | None = Field(None, description="What holds the screws.")
    # Half of 150 mm, the width of the strip along ceilings and corners in which BS 7671,
    # regulation 522.6.202, allows hidden cables; for accessories it says their own width.
    band_mm: float = Field(
        75.0,
        ge=0,
        le=1000,
        description="Half the width of the strips kept free above, below and beside the middle "
        "of sockets, switches and pipes.",
    )
    panel_weight_g: float = Field(
        0.0, ge=0, le=100_000, description="Weight of a cell of the board with its share of joints."
    )


class LevellingForm(Form):
    """How far out of level one gets while mounting."""

    # 0.5 mm/m is what makers of common spirit levels state. The first panel's is a guess of
    # ours: 0.1 mm over 100 mm.
    level_mm_m: float = Field(
        0.5, ge=0, le=100, description="Error of the spirit level, in mm per metre."
    )
    first_panel_mm_m: float = Field(
        1.0, ge=0, le=100, description="Error with which the first panel is set, in mm per metre."
    )


SystemRef = Annotated[
    Annotated[str, Field(min_length=1, max_length=1000), Tag("as a word")]
    | Annotated[SystemForm, Tag("as a mapping")],
    Discriminator(lambda value: shape_of(value).replace("a list", "a word")),
    Words(
        expected="the path of a panel system's file, or the system written out",
        remedy="write system: system.yaml",
    ),
]


class WallsForm(Form):
    """Walls that are filled with panels of one system."""

    name: Name = Field(description="What the walls are called together.")
    system: SystemRef = Field(description="Panel system: a file, or written out.")
    walls: Annotated[
        tuple[WallForm, ...], Words(example="[{name: bench, columns: 6, rows: 3}]")
    ] = Field(min_length=1, max_length=WALLS_MAX, description="The walls.")
    extra: dict[Name, Many] = Field(
        {}, max_length=1000, description="Part or assembly -> copies wanted besides, anywhere."
    )
    mounting: MountingForm = Field(MountingForm(), description="How it is screwed to the wall.")
    levelling: LevellingForm = Field(LevellingForm(), description="Errors while mounting.")


class WallsFile(WallsForm):
    """Walls in a file of their own."""

    form: Literal["platewright/wall/1"] = Field(
        alias="schema", description="Write platewright/wall/1."
    )


WallsRef = Annotated[
    Annotated[str, Field(min_length=1, max_length=1000), Tag("as a word")]
    | Annotated[WallsForm, Tag("as a mapping")],
    Discriminator(lambda value: shape_of(value).replace("a list", "a word")),
    Words(
        expected="the path of a wall file, or the walls written out",
        remedy="write wall: wall.yaml",
    ),
]
