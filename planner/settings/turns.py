"""In which turns a part may lie on the plate, as people write it and as the program sees it."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from planner.document import Form, Words

QUARTERS = (0.0, 90.0, 180.0, 270.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turns:
    """Turns allowed about the upright axis, counter-clockwise; with `free` any turn is.

    Parts are never mirrored.
    """

    angles_deg: tuple[float, ...] = QUARTERS
    free: bool = False


QUARTER_TURNS = Turns()


class EveryForm(Form):
    """Turns at equal steps."""

    every_deg: float = Field(ge=1, le=360, description="Step from one turn to the next.")


def _shape(value: Any) -> str:
    if isinstance(value, dict | Form):
        return "as a mapping"
    return "as a list" if isinstance(value, tuple) else "as a word"


Rotations = Annotated[
    Annotated[Literal["free"], Tag("as a word")]
    | Annotated[EveryForm, Tag("as a mapping")]
    | Annotated[
        tuple[Annotated[float, Field(ge=-360, le=360)], ...],
        Field(min_length=1, max_length=360),
        Tag("as a list"),
    ],
    Discriminator(_shape),
    Words(
        expected="free, {every_deg: 15}, or a list of turns from -360 to 360 °",
        remedy="write [0] for no turn, [0, 90, 180, 270] for quarter turns, or free",
    ),
]


def turns_of(given: str | EveryForm | tuple[float, ...] | None) -> Turns:
    """Return the turns that were written; quarter turns if none were."""
    if given is None:
        return QUARTER_TURNS
    if isinstance(given, EveryForm):
        return Turns(angles_deg=every(given.every_deg))
    if isinstance(given, tuple):
        return Turns(angles_deg=tuple(dict.fromkeys(angle + 0.0 for angle in given)))
    return Turns(free=True)


def every(step_deg: float) -> tuple[float, ...]:
    """Return the turns that are multiples of a step, short of a full circle.

    >>> every(120)
    (0.0, 120.0, 240.0)
    """
    count = ceil(360 / step_deg - 1e-9)
    return tuple(round(number * step_deg, 9) + 0.0 for number in range(count))
