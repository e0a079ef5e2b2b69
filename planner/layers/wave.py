"""Straight lines of fill bent to waves."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.rings import ranges

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.layers.strokes import Strokes

    Floats = NDArray[np.float64]

_SPACINGS = 4.0
"""Wave length in spacings of the lines: our own, near that of a gyroid of equal density."""


def waved(
    strokes: Strokes, angle_rad: Floats, spacing_mm: Floats, wave: float, chords: int
) -> Strokes:
    """Bend every laid move to a wave about its line; ends stay where they are.

    Lines shorter than a wave get so much lower ones, or they would leave narrow places.
    Angle and spacing are those of each owner. Corners of a wave lie at whole multiples of its
    length over `chords`, measured along the line from the origin.
    """
    if wave == 0.0 or not len(strokes):
        return strokes
    owner = np.repeat(strokes.owner, strokes.size)
    along = np.stack([np.cos(angle_rad), np.sin(angle_rad)], axis=1)[owner]
    step = (_SPACINGS * spacing_mm / chords)[owner]
    place = (strokes.points_mm * along).sum(axis=1) / step
    goes_to = np.where(strokes.lays, np.roll(place, -1), place)
    first = np.floor(np.minimum(place, goes_to) + 1e-9).astype(np.int64) + 1
    count = np.maximum(np.ceil(np.maximum(place, goes_to) - 1e-9).astype(np.int64) - first, 0)
    point = np.repeat(np.arange(len(place)), count)
    corner = ranges(first, count)
    back = (goes_to < place)[point]
    corner = np.where(back, (2 * first + count - 1)[point] - corner, corner)
    short = np.minimum(1.0, np.abs(goes_to - place)[point] / chords)
    rise = short * wave * chords * step[point] / (2.0 * pi) * np.sin(2.0 * pi * corner / chords)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)[point]
    added = strokes.points_mm[point] + (corner - place[point])[:, None] * (
        step[point, None] * along[point]
    )
    return _woven(strokes, point, added + rise[:, None] * across)


def _woven(strokes: Strokes, after: NDArray[np.int64], added: Floats) -> Strokes:
    """Insert points behind those with the indices `after` (sorted)."""
    extra = np.bincount(after, minlength=len(strokes.points_mm))
    at = after + np.arange(1, len(after) + 1)
    points = np.empty((len(strokes.points_mm) + len(after), 2))
    old = np.ones(len(points), dtype=bool)
    old[at] = False
    points[old], points[at] = strokes.points_mm, added
    stroke = np.repeat(np.arange(len(strokes)), strokes.size)
    return replace(
        strokes,
        points_mm=points,
        size=strokes.size + np.bincount(stroke, weights=extra, minlength=len(strokes)).astype(int),
        lays=np.repeat(strokes.lays, extra + 1),
    )
