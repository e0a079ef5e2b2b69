"""The strips of a wall where cables and pipes may run, as rectangles to draw.

The rules, and their source, are those of `planner.wall.mounting.keepaway`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.wall.mounting.keepaway import LONG, ROOM_EDGE_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.job.layout.model import CutOut, WallShape


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A strip to keep free, within the wall."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


def bands_of(wall: WallShape, band_mm: float) -> tuple[Band, ...]:
    """Return the strips of a wall; those of neighbouring cut-outs may overlap."""
    strips = [strip for cut in wall.cut_outs for strip in _of_cut_out(wall, cut, band_mm)]
    edges = [_along(wall, side) for side in wall.meets if side != "bottom"]
    return tuple(Band(x_mm=x, y_mm=y, width_mm=w, height_mm=h) for x, y, w, h in strips + edges)


def _of_cut_out(
    wall: WallShape, cut: CutOut, band_mm: float
) -> Iterator[tuple[float, float, float, float]]:
    if cut.kind not in {"socket", "switch", "pipe"}:
        return
    pipe = cut.kind == "pipe"
    if not (pipe and cut.width_mm >= LONG * cut.height_mm):
        low, high = _span(cut.x_mm, cut.width_mm, band_mm, wall.width_mm)
        yield low, 0.0, high - low, wall.height_mm
    if not (pipe and cut.height_mm >= LONG * cut.width_mm):
        low, high = _span(cut.y_mm, cut.height_mm, band_mm, wall.height_mm)
        yield 0.0, low, wall.width_mm, high - low


def _span(start_mm: float, size_mm: float, half_mm: float, end_mm: float) -> tuple[float, float]:
    middle, half = start_mm + size_mm / 2, max(half_mm, size_mm / 2)
    return max(0.0, middle - half), min(end_mm, middle + half)


def _along(wall: WallShape, side: str) -> tuple[float, float, float, float]:
    wide, high = min(ROOM_EDGE_MM, wall.width_mm), min(ROOM_EDGE_MM, wall.height_mm)
    return {
        "left": (0.0, 0.0, wide, wall.height_mm),
        "right": (wall.width_mm - wide, 0.0, wide, wall.height_mm),
        "top": (0.0, wall.height_mm - high, wall.width_mm, high),
    }[side]
