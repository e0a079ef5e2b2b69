"""How many boxes lie in rows on a bed: few enough to be sure of, many enough to reckon with."""

from __future__ import annotations

from functools import lru_cache
from math import floor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.settings.model import Printer, Rectangle

    Size = tuple[float, float, float]

SLACK_MM = 1e-6
"""Room for rounding: two boxes of exactly half the bed fit."""


@lru_cache(maxsize=4096)
def in_rows(
    printer: Printer, sizes_mm: tuple[Size, ...], *, clearance_mm: float, edge_mm: float
) -> int:
    """Return how many boxes lie on the bed in rows and columns, in the best of their turns.

    `sizes_mm` are (x, y, z) of the box, one per turn. Rows begin at one of the four corners
    of the bed; boxes that meet a keep-out are left out. Any packing may hold more.
    """
    return max((_count(printer, size, clearance_mm, edge_mm) for size in sizes_mm), default=0)


def _count(printer: Printer, size: Size, clearance_mm: float, edge_mm: float) -> int:
    if size[2] > printer.height_mm + SLACK_MM:
        return 0
    wide = (printer.bed_width_mm, size[0])
    deep = (printer.bed_depth_mm, size[1])
    return max(
        sum(
            not any(_meet(spot, x, y, size) for spot in _spots(printer))
            for x in _places(*wide, clearance_mm, edge_mm, from_end=right)
            for y in _places(*deep, clearance_mm, edge_mm, from_end=back)
        )
        for right in (False, True)
        for back in (False, True)
    )


def _places(
    room_mm: float, own_mm: float, clearance_mm: float, edge_mm: float, *, from_end: bool
) -> Iterator[float]:
    """Give the low side of each box in a row that begins at one end of the room."""
    step_mm = own_mm + clearance_mm
    count = floor((room_mm - 2 * edge_mm + clearance_mm + SLACK_MM) / step_mm)
    for number in range(max(0, count)):
        near_mm = edge_mm + number * step_mm
        yield room_mm - near_mm - own_mm if from_end else near_mm


def _spots(printer: Printer) -> Iterator[tuple[float, float, float, float]]:
    """Give the boxes (left, front, right, back) of all keep-outs."""
    for rectangle in printer.keep_out:
        yield _box(rectangle)
    for patch in printer.keep_out_patches:
        xs, ys = zip(*patch.points_mm, strict=True)
        yield min(xs), min(ys), max(xs), max(ys)


def _box(rectangle: Rectangle) -> tuple[float, float, float, float]:
    return (rectangle.x_min_mm, rectangle.y_min_mm, rectangle.x_max_mm, rectangle.y_max_mm)


def _meet(spot: tuple[float, float, float, float], x: float, y: float, size: Size) -> bool:
    left, front, right, back = spot
    return (
        x < right - SLACK_MM
        and x + size[0] > left + SLACK_MM
        and y < back - SLACK_MM
        and y + size[1] > front + SLACK_MM
    )
