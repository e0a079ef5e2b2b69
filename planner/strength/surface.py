"""Points spread evenly over triangles, each with the area that it stands for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurfacePoints:
    """(p, 3) points in mm, (p, 3) unit normals, (p,) areas in mm2, (p,) triangle numbers."""

    points_mm: Floats
    normals: Floats
    area_mm2: Floats
    triangle: Ints


def spread(corners_mm: Floats, apart_mm: float) -> SurfacePoints:
    """Spread points over (t, 3, 3) triangles, at most about `apart_mm` from each other.

    Each triangle is cut into strips along its longest side, each strip into equal pieces; a
    point sits at the middle of its piece, so that areas and first moments come out exactly.
    """
    corners = _longest_side_last(corners_mm)
    apex, left, right = corners[:, 0], corners[:, 1], corners[:, 2]
    vectors = np.cross(left - apex, right - apex)
    doubled = np.linalg.norm(vectors, axis=1)
    base = np.linalg.norm(right - left, axis=1)
    height = np.where(base > 0, doubled / np.where(base > 0, base, 1), 0)
    strips = np.maximum(1, np.ceil(height / apart_mm)).astype(np.int64)
    triangle = np.repeat(np.arange(len(corners)), strips)
    low = (_counted(strips)) / strips[triangle]
    high = (_counted(strips) + 1) / strips[triangle]
    down = 2 / 3 * (high**3 - low**3) / (high**2 - low**2)  # middle of a strip, from the apex
    pieces = np.maximum(1, np.ceil(base[triangle] * down / apart_mm)).astype(np.int64)
    strip = np.repeat(np.arange(len(triangle)), pieces)
    side = (_counted(pieces) + 0.5) / pieces[strip]
    of = triangle[strip]
    on_base = left[of] + side[:, None] * (right - left)[of]
    share = ((high**2 - low**2) / pieces)[strip]
    return SurfacePoints(
        points_mm=apex[of] + down[strip][:, None] * (on_base - apex[of]),
        normals=(vectors / np.where(doubled > 0, doubled, 1)[:, None])[of],
        area_mm2=doubled[of] / 2 * share,
        triangle=of,
    )


def _longest_side_last(corners: Floats) -> Floats:
    """Turn each triangle so that its longest side runs from its second to its third corner."""
    opposite = np.linalg.norm(np.roll(corners, -1, axis=1) - np.roll(corners, -2, axis=1), axis=2)
    first = np.argmax(np.round(opposite, 9), axis=1)
    order = (first[:, None] + np.arange(3)) % 3
    turned: Floats = np.take_along_axis(corners, order[:, :, None], axis=1)
    return turned


def _counted(counts: Ints) -> Ints:
    """Return 0 1 2 ... for each count, one after the other."""
    numbers: Ints = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return numbers
