"""Marks of a wall cut off at the rim of a tile."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.report.wall.sheet.marks import Box

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.report.wall.sheet.marks import Point, Segment


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """The rectangle of the wall that a tile shows, and where its corner lies on the sheet."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    sheet_x: float
    sheet_y: float

    def at(self, x_mm: float, y_mm: float) -> Point:
        """Return a place of the wall on the sheet, at its true size."""
        return self.sheet_x + x_mm - self.x_mm, self.sheet_y + y_mm - self.y_mm

    def shows(self, x_mm: float, y_mm: float) -> bool:
        """Tell whether a place lies in the view."""
        across = self.x_mm <= x_mm <= self.x_mm + self.width_mm
        return across and self.y_mm <= y_mm <= self.y_mm + self.height_mm

    def lines(self, segments: Iterable[Segment]) -> list[Segment]:
        """Return what is seen of level and upright lines, on the sheet."""
        found = []
        for (x0, y0), (x1, y1) in segments:
            left, right = max(min(x0, x1), self.x_mm), min(max(x0, x1), self.x_mm + self.width_mm)
            low, high = max(min(y0, y1), self.y_mm), min(max(y0, y1), self.y_mm + self.height_mm)
            if left <= right and low <= high and (left < right or low < high):
                found.append((self.at(left, low), self.at(right, high)))
        return found

    def box(
        self, x_mm: float, y_mm: float, width_mm: float, height_mm: float, style: str
    ) -> Box | None:
        """Return what is seen of a rectangle, on the sheet; None if nothing is."""
        left, low = max(x_mm, self.x_mm), max(y_mm, self.y_mm)
        right = min(x_mm + width_mm, self.x_mm + self.width_mm)
        high = min(y_mm + height_mm, self.y_mm + self.height_mm)
        if left >= right or low >= high:
            return None
        x, y = self.at(left, low)
        return Box(x, y, right - left, high - low, style)


def outline(x_mm: float, y_mm: float, width_mm: float, height_mm: float) -> list[Segment]:
    """Return the four sides of a rectangle."""
    left, low, right, high = x_mm, y_mm, x_mm + width_mm, y_mm + height_mm
    return [
        ((left, low), (right, low)),
        ((left, high), (right, high)),
        ((left, low), (left, high)),
        ((right, low), (right, high)),
    ]
