"""A strip packing as a file has it: a nest file with `strip` in place of `beds`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planner.document import Form
from planner.nest.form import ItemForm  # noqa: TC001  (pydantic reads the annotations)
from planner.settings.form import Gap  # noqa: TC001  (as above)


class StripForm(Form):
    """The strip, which is as long as need be."""

    depth_mm: float = Field(gt=0, le=20_000, description="Across the strip.")


class StripFile(Form):
    """Shapes, the strip and the distances to keep."""

    form: Literal["platewright/nest/1"] | None = Field(
        None, alias="schema", description="Write platewright/nest/1, or leave it out."
    )
    items: tuple[ItemForm, ...] = Field(min_length=1, max_length=500, description="The shapes.")
    strip: StripForm = Field(description="What to pack into, in place of beds.")
    clearance_mm: Gap = Field(ge=0, le=1000, description="Kept free between two parts.")
    edge_mm: Gap = Field(ge=0, le=1000, description="Kept free to the edge of the strip.")
