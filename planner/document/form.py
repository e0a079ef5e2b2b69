"""What forms are made of: the base class, and faults told in our own words.

A form is a frozen pydantic model that knows its keys and nothing else. It is strict: a
number is never taken from text, true is not a number, 3.0 is not a count. Lists arrive as
tuples, so a list of numbers is `tuple[float, ...]`. Units are in the names of the keys;
bounds are written as `Field(ge=..., le=...)`, and the messages read them from there.
"""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import BaseModel, ConfigDict
from pydantic_core import PydanticCustomError

FAULT = "platewright"
"""Type of the errors that carry their own words."""


class Form(BaseModel):
    """Base of every form: unknown keys are errors, values are exact, nothing changes later."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """What to say when a value is not what its type asks; put it into `Annotated[...]`.

    Either may be empty: then the message is made from the bounds and the key's unit.
    `example` is a value of a list or mapping, as it is written after the key; it is shown
    where nothing stands.
    """

    expected: str = ""
    remedy: str = ""
    example: str = ""


def fault(*, expected: str, remedy: str, found: str = "") -> PydanticCustomError:
    """Return the error for a validator to raise; `found` replaces the value's own display."""
    words = {"expected": expected, "remedy": remedy, "found": found}
    return PydanticCustomError(FAULT, "expected {expected}", words)
