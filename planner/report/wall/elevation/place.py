"""Where a wall lies on a sheet, and how large."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.report.wall.sheet.marks import Box

if TYPE_CHECKING:
    from planner.report.wall.sheet.marks import Point, Segment


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """`x, y` is the wall's bottom left corner on the sheet, `scale` the sheet's units per mm."""

    x: float
    y: float
    scale: float
    letter: float

    def at(self, x_mm: float, y_mm: float) -> Point:
        """Return a place of the wall on the sheet."""
        return self.x + self.scale * x_mm, self.y + self.scale * y_mm

    def line(self, segment: Segment) -> Segment:
        """Return a line of the wall on the sheet."""
        (x0, y0), (x1, y1) = segment
        return self.at(x0, y0), self.at(x1, y1)

    def box(self, x_mm: float, y_mm: float, width_mm: float, height_mm: float, style: str) -> Box:
        """Return a rectangle of the wall on the sheet."""
        x, y = self.at(x_mm, y_mm)
        return Box(x, y, self.scale * width_mm, self.scale * height_mm, style)
