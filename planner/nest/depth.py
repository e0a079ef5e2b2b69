"""How deep two shapes are in each other at every offset on the grid."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.nest.nofit import Bits
    from planner.nest.shape import Floats

    Single = NDArray[np.float32]


class Depth(NamedTuple):
    """Depths (rows, columns) in grid steps: 0 where the offset is allowed.

    The entry in row j, column i belongs to the offset (low_x + i, low_y + j) of the moving
    shape against the fixed one; outside the array the shapes do not meet.
    """

    steps: Single
    low_x: int
    low_y: int

    def quarter_turned(self) -> Depth:
        """Return the depths after both shapes have been turned by 90 degrees."""
        turned = np.ascontiguousarray(self.steps.T[:, ::-1])
        return Depth(turned, -(self.low_y + self.steps.shape[0] - 1), self.low_x)

    def swapped(self) -> Depth:
        """Return the depths of the fixed shape against the moving one."""
        rows, columns = self.steps.shape
        mirrored = np.ascontiguousarray(self.steps[::-1, ::-1])
        return Depth(mirrored, -(self.low_x + columns - 1), -(self.low_y + rows - 1))


def depth_of(bits: Bits, low: tuple[int, int]) -> Depth:
    """Turn a bitmap of forbidden offsets into depths: the way to the nearest allowed one.

    That way is the penetration depth, the shortest move that parts two shapes (Egeblad, Nielsen
    and Odgaard 2007, "Fast neighborhood search for two- and three-dimensional nesting
    problems", use overlap along one axis in its place).
    """
    from scipy.ndimage import distance_transform_edt  # noqa: PLC0415  (takes long to import)

    away = distance_transform_edt(np.pad(bits, 1))[1:-1, 1:-1]
    return Depth(np.ascontiguousarray(away, dtype=np.float32), low[0], low[1])


def inside_bits(
    normal: Floats, far_mm: Floats, *, step_mm: float, low: tuple[int, int], size: tuple[int, int]
) -> Bits:
    """Return which grid points lie inside any of some convex polygons, given by their walls.

    `normal` (polygons, edges, 2) and `far_mm` (polygons, edges) are as in `convex.Walls`; the
    bitmap has size[1] rows and size[0] columns from grid point `low` on.  Points on a wall
    are outside.
    """
    columns, rows = size
    height_mm = (np.arange(rows) + low[1]) * step_mm
    ends = np.zeros((rows, columns + 1), dtype=np.int32)
    for own, far in zip(normal, far_mm, strict=True):
        wide = np.abs(own[:, 0]) > 1e-12
        inside = (own[~wide, 1, None] * height_mm < far[~wide, None] - 1e-9).all(axis=0)
        cut = (far[wide, None] - own[wide, 1, None] * height_mm) / own[wide, 0, None]
        right = own[wide, 0] > 0
        first = np.floor(cut[~right].max(axis=0) / step_mm + 1e-7).astype(np.int64) + 1 - low[0]
        behind = np.ceil(cut[right].min(axis=0) / step_mm - 1e-7).astype(np.int64) - low[0]
        first, behind = np.clip(first, 0, columns), np.clip(behind, 0, columns)
        row = np.flatnonzero(inside & (first < behind))
        ends[row, first[row]] += 1
        ends[row, behind[row]] -= 1
    bits: Bits = np.cumsum(ends, axis=1)[:, :-1] > 0
    return bits
