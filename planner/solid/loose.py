"""Triangles as a file holds them, before anything is judged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices, Repair


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loose:
    """Vertices (v, 3) in the file's unit and triangles (t, 3), rows into them.

    `unit` is a name of `units.MM_PER_UNIT`, None where the format states none.
    """

    vertices: Floats
    triangles: Indices
    unit: str | None = None
    remarks: tuple[Repair, ...] = ()
