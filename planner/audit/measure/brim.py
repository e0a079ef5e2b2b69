"""Brims: loops of the first layer beside what stands on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.audit.measure.model import Figure, unknown
from planner.audit.measure.raster import points_along
from planner.audit.measure.spacing import spacings
from planner.audit.measure.strokes import spread_points, strokes_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.audit.measure.harvest import Lines
    from planner.audit.measure.levels import Levels

    Floats = NDArray[np.float64]


def brim_figure(
    lines: Lines, levels: Levels, level: int, *, spacing_mm: float, raft: bool
) -> Figure:
    """Return the width of the brim in mm, 0 for none; `level` is the first of the run."""
    if raft:
        return Figure(value=0.0, evidence="a raft lies under the parts")
    if level + 1 >= len(levels):
        return unknown("there is only one layer")
    from scipy.spatial import cKDTree  # noqa: PLC0415 (slow to import, and often not needed)

    above = lines.some(levels.lines_of(level + 1))
    x, y, _, _ = points_along(above, 0.3 * spacing_mm)
    tree = cKDTree(np.column_stack([x, y]).astype(np.float64))
    spacing = _first_spacing(lines.some(levels.lines_of(level)), spacing_mm)
    near: list[tuple[float, float]] = []
    filled = 0.0
    for stroke in strokes_of(lines.some(levels.lines_of(level)), spacing):
        own = spread_points(stroke.points_mm, spacing)[0]
        away = tree.query(own)[0]
        apart = float(np.median(away))
        if apart > 0.6 * spacing:
            far = float(np.quantile(away, 0.5 if stroke.closed else 0.9))
            near.append((far, stroke.length_mm))
            filled += 0.0 if stroke.closed or len(stroke.points_mm) > 12 else stroke.length_mm
    width, loops = _chain(sorted(near), spacing)
    if not loops or filled > 0.5 * sum(length for _, length in near):
        return Figure(value=0.0, evidence="no loops beside the parts in the first layer")
    return Figure(
        value=width,
        evidence=f"{loops} loops in the first layer beside what stands on it",
    )


def _first_spacing(first: Lines, otherwise: float) -> float:
    found = [s for s in spacings(first) if s.spacing_mm > 0.6 * otherwise]
    return found[0].spacing_mm if found else otherwise


def _chain(near: list[tuple[float, float]], spacing: float) -> tuple[float, int]:
    """Follow loops outward while each is within 1.7 spacings of the last."""
    width = 0.0
    for far, _ in near:
        if far > width + 1.7 * spacing:
            break
        width = far
    return width, round(width / spacing)
