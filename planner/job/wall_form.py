"""How a part meets the wall and the eye, as people write it: fixings, and faces in sight."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from planner.document import Form, Words
from planner.job.load_form import Direction, FaceRef, Triple

FIXINGS_MAX = 200


class FixingsForm(Form):
    """Screws that hold the part to the wall, alike, in the part's own frame."""

    at: tuple[Triple, ...] = Field(
        min_length=1, max_length=FIXINGS_MAX, description="Places [x, y, z] of the screws, in mm."
    )
    wall: Direction = Field(
        description="Direction that points to the wall: an axis such as -y, or [x, y, z]."
    )
    rated_n: float = Field(
        gt=0, le=1e6, description="Load of one anchor in this wall, from its maker, in newtons."
    )
    factor: float = Field(
        4.0,
        ge=1,
        le=100,
        description="Rated load per load let on an anchor: 4 for a load at which it breaks; 1 "
        "where the maker has taken a factor off already.",
    )


def _as_list(value: Any) -> Any:
    return value if isinstance(value, tuple) else (value,)


VisibleRef = Annotated[
    Annotated[tuple[FaceRef, ...], Field(min_length=1, max_length=50)],
    BeforeValidator(_as_list),
    Words(
        expected="a face in sight, or a list of such: +z, or {box: [[x, y, z], [x, y, z]]}",
        remedy="write visible: +z, or visible: [+z, -y]",
    ),
]
"""An axis means all that faces that way, within 45 degrees; else as for loads."""
