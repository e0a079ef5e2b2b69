"""The geometry of one packing problem, ready to answer "may this lie here?".

Positions are whole grid steps.  A set of positions on a bed is one integer: bit v * stride + u,
where u runs along the lines of the layout (x in layout 0, y in layout 1) and v across them.
Offsets that would carry a shape over the end of a line land on positions that are outside its
own region anyway, so no line needs a mask.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, sqrt
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.nest import nofit
from planner.nest.shape import SLABS, SNAP, Turned, cells, outer_runs, region, turn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Bed, Item
    from planner.nest.shape import Region

CELLS_MOST, CELLS_LEAST = 320, 64
"""Cells along a bed (the root of its area): beyond 320 mm the grid gets coarser than 1 mm, since
work grows with the square; below 64 mm it gets finer."""


NOFIT_WORK = 150
"""What a pair of shapes costs to work out, in steps of the search (measured)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One way to lay an item: the shape's number, the turn, where its own origin lies."""

    shape: int
    rotation_deg: float
    origin_mm: tuple[float, float]


class Table:
    """Shapes, beds and the forbidden offsets between shapes, worked out when first asked for.

    `size[shape]` is how many grid steps a grown shape takes up along x and y.
    `work` counts the elementary steps of the search, so that a budget can be a fixed amount of
    work; nothing here looks at a clock.
    """

    def __init__(
        self,
        items: Sequence[Item],
        beds: Sequence[Bed],
        *,
        clearance_mm: float,
        edge_mm: float,
    ) -> None:
        self.items, self.beds = tuple(items), tuple(beds)
        self.clearance_mm, self.edge_mm = clearance_mm, edge_mm
        self.regions = tuple(region(item.footprint) for item in items)
        self.step_mm = grid_step(self.items, self.regions, self.beds, clearance_mm, edge_mm)
        self.shapes: list[Turned] = []
        self.options = self._all_options()
        self.size = [
            (cells(turned.width_mm, self.step_mm), cells(turned.depth_mm, self.step_mm))
            for turned in self.shapes
        ]
        self.area_mm2 = tuple(_grown_area(shape, clearance_mm) for shape in self.regions)
        spans = [self.room_mm(bed) for bed in range(len(self.beds))]
        self._stride = tuple(
            max(cells(max(span[axis], self.step_mm), self.step_mm) for span in spans) + 1
            for axis in (0, 1)
        )
        self.work = 0
        self._nofit: dict[tuple[int, int, int], int] = {}
        self._inner: dict[tuple[int, int, int], int] = {}
        self._turns: dict[tuple[int, int], tuple[Option, ...]] = {}

    def stride(self, layout: int) -> int:
        """Return how many bits a line takes."""
        return self._stride[layout]

    def room_mm(self, bed: int) -> tuple[float, float]:
        """Return the space for grown outlines on a bed: less the margin, plus the clearance."""
        more = self.clearance_mm - 2 * self.edge_mm
        return self.beds[bed].width_mm + more, self.beds[bed].depth_mm + more

    def inner(self, bed: int, shape: int, layout: int) -> int:
        """Return the positions of a shape on an empty bed, keep-outs taken off."""
        key = (bed, shape, layout)
        if key not in self._inner:
            self._inner[key] = self._inner_map(bed, shape, layout)
        return self._inner[key]

    def nofit(self, fixed: int, moving: int, layout: int) -> int:
        """Return the forbidden offsets of one shape against another.

        Bit 0 is the offset (1 - width, 1 - depth) of the moving shape, in grid steps.
        """
        key = (fixed, moving, layout)
        found = self._nofit.get(key)
        if found is None:
            self._add_nofit(fixed, moving)
            found = self._nofit[key]
        return found

    def turns(self, bed: int, item: int) -> tuple[Option, ...]:
        """Return the options of an item that have a place on an empty bed."""
        key = (bed, item)
        if key not in self._turns:
            self._turns[key] = tuple(
                option for option in self.options[item] if self.inner(bed, option.shape, 0)
            )
        return self._turns[key]

    def fits_bed(self, item: int, bed: int) -> bool:
        """Say whether one copy may lie on an empty bed: place, height, seconds and grams."""
        wanted, plate = self.items[item], self.beds[bed]
        return (
            wanted.height_mm <= plate.height_mm
            and wanted.seconds <= plate.limit_s
            and wanted.grams <= plate.limit_g
            and bool(self.turns(bed, item))
        )

    def _all_options(self) -> tuple[tuple[Option, ...], ...]:
        """List the distinct turns of every item; equal shapes share a number."""
        numbers: dict[bytes, int] = {}
        options = []
        for item, shape in zip(self.items, self.regions, strict=True):
            own: dict[int, Option] = {}
            for angle in item.rotations_deg:
                turned = turn(shape, angle, clearance_mm=self.clearance_mm, step_mm=self.step_mm)
                number = numbers.setdefault(
                    turned.grown.key() + turned.bare.key(), len(self.shapes)
                )
                if number == len(self.shapes):
                    self.shapes.append(turned)
                own.setdefault(
                    number,
                    Option(shape=number, rotation_deg=angle, origin_mm=turned.origin_mm),
                )
            options.append(tuple(own.values()))
        return tuple(options)

    def _inner_map(self, bed: int, shape: int, layout: int) -> int:
        turned, room = self.shapes[shape], self.room_mm(bed)
        last = (
            floor((room[0] - turned.width_mm) / self.step_mm + SNAP),
            floor((room[1] - turned.depth_mm) / self.step_mm + SNAP),
        )
        if min(last) < 0:
            return 0
        free = np.ones((last[1] + 1, last[0] + 1), dtype=bool)
        shift = self.clearance_mm / 2 - self.edge_mm
        for area in self.beds[bed].keep_out:
            box = shapely.box(
                area.x_min_mm + shift,
                area.y_min_mm + shift,
                area.x_max_mm + shift,
                area.y_max_mm + shift,
            )
            bands = outer_runs(box, self.step_mm / SLABS).bands()
            free &= ~nofit.forbidden(
                bands,
                turned.bare,
                step_mm=self.step_mm,
                low=(0, 0),
                size=(last[0] + 1, last[1] + 1),
            )
        return nofit.packed(free if layout == 0 else free.T, self._stride[layout])

    def _add_nofit(self, fixed: int, moving: int) -> None:
        """Work out a pair; the pair the other way round is its point reflection."""
        self.work += NOFIT_WORK
        wide, high = self.size[fixed]
        own_wide, own_high = self.size[moving]
        bits = nofit.forbidden(
            self.shapes[fixed].grown,
            self.shapes[moving].grown,
            step_mm=self.step_mm,
            low=(1 - own_wide, 1 - own_high),
            size=(wide + own_wide - 1, high + own_high - 1),
        )
        for layout, rows in enumerate((bits, bits.T)):
            stride = self._stride[layout]
            self._nofit[fixed, moving, layout] = nofit.packed(rows, stride)
            self._nofit[moving, fixed, layout] = nofit.packed(rows[::-1, ::-1], stride)


def nominal_step(beds: Sequence[Bed]) -> float:
    """Return the grid step (mm) that suits the beds, whatever is laid on them."""
    scales = [sqrt(bed.width_mm * bed.depth_mm) for bed in beds]
    fine = min(1.0, min(scales) / CELLS_LEAST)
    return max(fine, max(scales) / CELLS_MOST)


def grid_step(
    items: Sequence[Item],
    regions: Sequence[Region],
    beds: Sequence[Bed],
    clearance_mm: float,
    edge_mm: float,
) -> float:
    """Choose the grid step (mm): about 1, see `nominal_step`, so that sizes waste little.

    A length that is no multiple of the step is rounded up when parts lie side by side.  Steps
    from 0.8 to 1.1 of the nominal one are tried, with the exact divisors of each size among
    them, and the one with the least waste, weighted by area, is taken.
    """
    nominal = nominal_step(beds)
    sizes = _sizes(items, regions, clearance_mm)
    if not len(sizes):
        return nominal
    rooms = np.array([(bed.width_mm, bed.depth_mm) for bed in beds]).ravel()
    rooms = rooms + clearance_mm - 2 * edge_mm
    rooms = rooms[rooms > 0]
    lengths, weight = sizes[:, 0], sizes[:, 1]
    parts = np.floor(lengths / nominal)[:, None] + np.arange(3)[None, :]
    exact = (lengths[:, None] / np.maximum(parts, 1.0)).ravel()
    tried = np.unique(np.concatenate([np.linspace(0.8, 1.1, 31) * nominal, exact]).round(12))
    tried = tried[(tried >= 0.8 * nominal) & (tried <= 1.1 * nominal)]
    up = np.ceil(lengths[None, :] / tried[:, None] - SNAP) * tried[:, None] / lengths[None, :]
    waste = (up - 1.0) @ (weight / weight.sum())
    if len(rooms):
        left = rooms[None, :] / tried[:, None]
        waste += ((left - np.floor(left + SNAP)) * tried[:, None] / rooms[None, :]).mean(axis=1)
    return float(tried[int(np.argmin(waste.round(9)))])


def _sizes(
    items: Sequence[Item], regions: Sequence[Region], clearance_mm: float
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return (grown length in mm, weight) of every item along x and y as drawn."""
    rows = []
    for item, shape in zip(items, regions, strict=True):
        low_x, low_y, high_x, high_y = shape.bounds
        weight = shape.area * max(1, item.quantity)
        rows += [(high_x - low_x + clearance_mm, weight), (high_y - low_y + clearance_mm, weight)]
    return np.array(rows)


def _grown_area(shape: Region, clearance_mm: float) -> float:
    """Return the area that a part takes up with half its clearance, arcs rounded down."""
    return float(shape.buffer(clearance_mm / 2).area)
