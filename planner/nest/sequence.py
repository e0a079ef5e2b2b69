"""One part after the other: where the head would touch what is finished.

The model.  While a part is printed, the nozzle is over its footprint, at any height from the
plate upwards.  Let (l, r, f, b) be how far the head reaches left, right, front and back of the
nozzle.  Then the head, at least `tip_mm` above the plate, is somewhere over the footprint swept
by the rectangle [-l, r] x [-f, b]; the beam, at least `gantry_mm` above it, is somewhere over
the whole width of the bed from f before the footprint's front to b behind its back.  So a part
taller than `tip_mm` must not be finished before one whose swept footprint it reaches into, and a
part taller than `gantry_mm` not before one whose strip across the bed it reaches into.  Between
parts the head first rises above all that is finished.  Touching is allowed: a margin belongs
into the measures.  What the footprint holds (a brim, say) counts as if it were as tall as the
part.

The search lays parts so that one order works: the lowest first, among equals along the side to
which the head reaches less (from front to back if f <= b, then from left to right).  A part that
is lower than another and not taller than `tip_mm` is then never in the way; of two taller ones,
where the lower hinders the higher, the places are forbidden.  For a head that reaches equally far
to both sides nothing is lost: there the two orders are hindered alike.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.nest import nofit, obstacles
from planner.nest.shape import SLABS, Bands

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.nofit import Bits
    from planner.nest.plate import Spot
    from planner.nest.table import Table
    from planner.settings.model import Head

_FAR_MM = 1e5  # wider than any bed


HEAD_WORK = 2_500
"""What the ways of the head past a pair of shapes cost, in steps of the search (measured)."""


def order_key(head: Head, height_mm: float, x: float, y: float) -> tuple[float, float, float]:
    """Return what parts are sorted by to be printed: height, then place of the low corner."""
    along = 1.0 if _forward(head) else -1.0
    return height_mm, along * y, along * x


def blocked(table: Table, bed: int, spots: Sequence[Spot], shape: int, layout: int) -> int:
    """Return the positions at which a shape and a spot could not both be printed, as a bitmap."""
    head = table.beds[bed].head
    if head is None:
        return 0
    columns, rows = (table.stride(axis) - 1 for axis in (0, 1))
    bits = 0
    for spot in spots:
        offsets = _offsets(table, head, spot.option.shape, shape)
        if offsets is not None:
            window = offsets[
                rows - spot.y : 2 * rows - spot.y, columns - spot.x : 2 * columns - spot.x
            ]
            table.work += 5
            bits |= nofit.packed(window if layout == 0 else window.T, table.stride(layout))
    return bits


def blocked_by_standing(table: Table, bed: int, shape: int, size: tuple[int, int]) -> Bits:
    """Return the positions (size[1] rows, size[0] columns) that pinned copies forbid."""
    head, height = table.beds[bed].head, table.heights_mm[shape]
    bits = np.zeros((size[1], size[0]), dtype=bool)
    if head is None:
        return bits
    moving = _bare(table, shape)
    for copy in table.terms.standing.get(bed, ()):
        if min(copy.height_mm, height) > head.tip_mm:
            fixed = obstacles.in_frame(table, copy.region)
            low = corner(table, copy.region.bounds)
            pair = _Pair(fixed, moving, copy.height_mm, height, table.step_mm)
            bits |= pair.forbidden(head, low=(0, 0), size=size, at=low)
    return bits


def corner(table: Table, bounds: tuple[float, float, float, float]) -> tuple[float, float]:
    """Return the grid position of a region's frame, the low corner of its growth."""
    return (
        (bounds[0] - table.edge_mm) / table.step_mm,
        (bounds[1] - table.edge_mm) / table.step_mm,
    )


def _offsets(table: Table, head: Head, fixed: int, moving: int) -> Bits | None:
    """Return the forbidden offsets of two shapes, rows and columns from minus the bed's size on."""
    heights = table.heights_mm[fixed], table.heights_mm[moving]
    if min(heights) <= head.tip_mm:
        return None
    key = (head, fixed, moving)
    found = table.hindered.get(key)
    if found is None:
        columns, rows = (table.stride(axis) - 1 for axis in (0, 1))
        pair = _Pair(_bare(table, fixed), _bare(table, moving), *heights, table.step_mm)
        found = pair.forbidden(
            head, low=(-columns, -rows), size=(2 * columns + 1, 2 * rows + 1), at=(0.0, 0.0)
        )
        table.hindered.put(key, found, found.nbytes + 200)
        table.work += HEAD_WORK
    return found


class _Pair:
    """Two shapes taller than the tip, one fixed: which of them is printed first, and what then."""

    def __init__(
        self, fixed: Bands, moving: Bands, fixed_mm: float, moving_mm: float, step_mm: float
    ) -> None:
        self.fixed, self.moving, self.step_mm = fixed, moving, step_mm
        self.fixed_mm, self.moving_mm = fixed_mm, moving_mm

    def forbidden(
        self, head: Head, *, low: tuple[int, int], size: tuple[int, int], at: tuple[float, float]
    ) -> Bits:
        """Return the forbidden positions of the moving shape; the fixed one's corner is `at`."""
        if self.fixed_mm < self.moving_mm:
            return self._fixed_first(head, low, size)
        if self.fixed_mm > self.moving_mm:
            return self._moving_first(head, low, size)
        first = _before(head, low, size, at)
        fixed, moving = self._fixed_first(head, low, size), self._moving_first(head, low, size)
        # At the very same corner both orders are possible: both must be free.
        return np.where(first > 0, fixed, np.where(first < 0, moving, fixed | moving))

    def _fixed_first(self, head: Head, low: tuple[int, int], size: tuple[int, int]) -> Bits:
        reach = _swept(self.moving, head, self.step_mm)
        bits = nofit.forbidden(self.fixed, reach, step_mm=self.step_mm, low=low, size=size)
        if self.fixed_mm > head.gantry_mm:
            strip = _strip(self.moving, head, self.step_mm)
            bits |= nofit.forbidden(self.fixed, strip, step_mm=self.step_mm, low=low, size=size)
        return bits

    def _moving_first(self, head: Head, low: tuple[int, int], size: tuple[int, int]) -> Bits:
        reach = _swept(self.fixed, head, self.step_mm)
        bits = nofit.forbidden(reach, self.moving, step_mm=self.step_mm, low=low, size=size)
        if self.moving_mm > head.gantry_mm:
            strip = _strip(self.fixed, head, self.step_mm)
            bits |= nofit.forbidden(strip, self.moving, step_mm=self.step_mm, low=low, size=size)
        return bits


def _before(
    head: Head, low: tuple[int, int], size: tuple[int, int], at: tuple[float, float]
) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    """Return 1 where the fixed one of two equally tall parts is printed first, else -1; 0: same."""
    x = np.sign(low[0] + np.arange(size[0]) - at[0])[None, :]
    y = np.sign(low[1] + np.arange(size[1]) - at[1])[:, None]
    sign = np.where(y != 0, y, x)
    before: np.ndarray[tuple[int, ...], np.dtype[np.int64]] = sign.astype(np.int64)
    return before if _forward(head) else -before


def _forward(head: Head) -> bool:
    return head.front_mm <= head.back_mm


def _swept(bands: Bands, head: Head, step_mm: float) -> Bands:
    """Return all that the head may be over while it prints a shape."""
    slab_mm = step_mm / SLABS
    return Bands(
        start=bands.start - int(np.ceil(head.front_mm / slab_mm)),
        end=bands.end + int(np.ceil(head.back_mm / slab_mm)),
        low_mm=bands.low_mm - head.left_mm,
        high_mm=bands.high_mm + head.right_mm,
    )


def _strip(bands: Bands, head: Head, step_mm: float) -> Bands:
    """Return all that the beam may be over while a shape is printed."""
    slab_mm = step_mm / SLABS
    return Bands(
        start=bands.start.min(keepdims=True) - int(np.ceil(head.front_mm / slab_mm)),
        end=bands.end.max(keepdims=True) + int(np.ceil(head.back_mm / slab_mm)),
        low_mm=np.array([-_FAR_MM]),
        high_mm=np.array([_FAR_MM]),
    )


def _bare(table: Table, shape: int) -> Bands:
    turned = table.shapes[shape]
    return turned.bare or turned.grown  # which covers it
