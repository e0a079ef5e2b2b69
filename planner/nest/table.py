"""The geometry of one packing problem, ready to answer "may this lie here?".

Positions are whole grid steps.  A set of positions on a bed is one integer: bit v * stride + u,
where u runs along the lines of the layout (x in layout 0, y in layout 1) and v across them.
Offsets that would carry a shape over the end of a line land on positions that are outside its
own region anyway, so no line needs a mask.
"""

from __future__ import annotations

from functools import lru_cache
from math import floor
from sys import getsizeof
from typing import TYPE_CHECKING

from planner.nest import nofit, obstacles
from planner.nest.cells import cells_of
from planner.nest.grid import grid_step, nominal_step
from planner.nest.memory import Store
from planner.nest.options import Options
from planner.nest.outline import grown_area_mm2, outline_of
from planner.nest.shape import SNAP, cells
from planner.nest.terms import NO_TERMS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.cells import Cells
    from planner.nest.model import Bed, Item
    from planner.nest.nofit import Bits
    from planner.nest.options import Option
    from planner.nest.shape import Bands, Turned
    from planner.nest.terms import Terms
    from planner.settings.model import Head

NOFIT_WORK = 150
"""What a pair of shapes costs to work out, in steps of the search (measured)."""

Pair = tuple[int, int, int, int]
"""Forbidden offsets: of the second against the first in layout 0 and 1, then the reverse."""

_pairs: Store[tuple[bytes, bytes, float, tuple[int, ...]], Pair] = Store(64_000_000)
_cells: Store[tuple[bytes, float, int, int], Cells] = Store(96_000_000)


class Table:
    """Shapes, beds and the forbidden offsets between shapes, worked out when first asked for.

    `size[shape]` is how many grid steps a grown shape takes up along x and y.  With very many
    kinds it is `rough`: plates then keep cells instead of asking for forbidden offsets.
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
        terms: Terms = NO_TERMS,
    ) -> None:
        self.items, self.beds, self.terms = tuple(items), tuple(beds), terms
        self.clearance_mm, self.edge_mm = clearance_mm, edge_mm
        nominal_mm = nominal_step(self.beds)
        outlines = [outline_of(item.footprint, nominal_mm) for item in items]
        self.regions = tuple(outline.shape for outline, _ in outlines)
        self.step_mm = grid_step(self.items, self.regions, self.beds, clearance_mm, edge_mm)
        rooms = [self.room_mm(bed) for bed in range(len(self.beds))]
        self._stride = tuple(
            max(cells(max(room[axis], self.step_mm), self.step_mm) for room in rooms) + 1
            for axis in (0, 1)
        )
        self.work = 0
        self._nofit: Store[tuple[int, int, int], int] = Store(128_000_000)
        self._inner: Store[tuple[int, int, int], int] = Store(32_000_000)
        self._turns: dict[tuple[int, int], tuple[Option, ...]] = {}
        self.closed: dict[tuple[str, int], Bands | None] = {}
        self.hindered: Store[tuple[Head, int, int], Bits] = Store(64_000_000)
        made = Options(
            self.items,
            outlines,
            rooms_mm=rooms,
            clearance_mm=clearance_mm,
            step_mm=self.step_mm,
            keep_outs=any(bed.keep_out or bed.keep_out_patches or bed.head for bed in beds),
            by_height=any(bed.head for bed in beds),
        )
        self.rough, self.shapes, self.heights_mm = made.rough, made.shapes, made.heights_mm
        for number in made.thinned():
            if not any(self._places(bed, made.of[number]) for bed in range(len(self.beds))):
                made.widen(number)
        self.options = tuple(made.of)
        self.size = [
            (cells(turned.width_mm, self.step_mm), cells(turned.depth_mm, self.step_mm))
            for turned in self.shapes
        ]
        self.area_mm2 = tuple(grown_area_mm2(outline, clearance_mm / 2) for outline, _ in outlines)

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
        found = self._inner.get(key)
        if found is None:
            found = self._inner_map(bed, shape, layout)
            self._inner.put(key, found, getsizeof(found) + 200)
        return found

    def nofit(self, fixed: int, moving: int, layout: int) -> int:
        """Return the forbidden offsets of one shape against another.

        Bit 0 is the offset (1 - width, 1 - depth) of the moving shape, in grid steps.
        """
        key = (fixed, moving, layout)
        found = self._nofit.get(key)
        if found is None:
            found = self._add_nofit(fixed, moving)[layout]
        return found

    def cells(self, shape: int, layout: int) -> Cells:
        """Return the grid cells that a shape takes up."""
        own = self.shapes[shape]
        key = (own.digest, self.step_mm, layout, self._stride[layout])
        found = _cells.get(key)
        if found is None:
            found = cells_of(
                own.grown,
                step_mm=self.step_mm,
                size=self.size[shape],
                layout=layout,
                stride=self._stride[layout],
            )
            _cells.put(key, found, found.size_bytes())
        return found

    def turns(self, bed: int, item: int) -> tuple[Option, ...]:
        """Return the options of an item that have a place on an empty bed."""
        key = (bed, item)
        if key not in self._turns:
            self._turns[key] = self._places(bed, self.options[item])
        return self._turns[key]

    def fits_bed(self, item: int, bed: int) -> bool:
        """Say whether one copy may lie on an empty bed: place, height, seconds and grams."""
        wanted, plate = self.items[item], self.beds[bed]
        return (
            wanted.height_mm <= plate.height_mm
            and wanted.seconds <= plate.limit_s
            and wanted.grams <= plate.limit_g
            and wanted.parts <= plate.limit_parts
            and (item, bed) not in self.terms.barred
            and bool(self.turns(bed, item))
        )

    def _places(self, bed: int, options: Sequence[Option]) -> tuple[Option, ...]:
        return tuple(option for option in options if self.inner(bed, option.shape, 0))

    def _inner_map(self, bed: int, shape: int, layout: int) -> int:
        turned, room = self.shapes[shape], self.room_mm(bed)
        last = (
            floor((room[0] - turned.width_mm) / self.step_mm + SNAP),
            floor((room[1] - turned.depth_mm) / self.step_mm + SNAP),
        )
        if min(last) < 0:
            return 0
        if obstacles.is_clear(self, bed):
            columns, rows = (last[layout] + 1, last[1 - layout] + 1)
            return ((1 << columns) - 1) * _ones(rows, self._stride[layout])
        blocked = obstacles.blocked(self, bed, shape, (last[0] + 1, last[1] + 1))
        return nofit.packed(~(blocked if layout == 0 else blocked.T), self._stride[layout])

    def _add_nofit(self, fixed: int, moving: int) -> Pair:
        """Work out a pair; the pair the other way round is its point reflection."""
        self.work += NOFIT_WORK
        if self.shapes[fixed].digest > self.shapes[moving].digest:
            there = self._pair(moving, fixed)
            pair = (*there[2:], *there[:2])
        else:
            pair = self._pair(fixed, moving)
        for layout in (0, 1):
            for key, bits in (
                ((fixed, moving, layout), pair[layout]),
                ((moving, fixed, layout), pair[2 + layout]),
            ):
                self._nofit.put(key, bits, getsizeof(bits) + 200)
        return pair

    def _pair(self, fixed: int, moving: int) -> Pair:
        """Return a pair, which an earlier packing of the same shapes may have left behind."""
        one, other = self.shapes[fixed], self.shapes[moving]
        key = (one.digest, other.digest, self.step_mm, self._stride)
        found = _pairs.get(key)
        if found is None:
            found = _worked_out(one, other, self.size[fixed], self.size[moving], self)
            _pairs.put(key, found, sum(map(getsizeof, found)) + 400)
        return found


def _worked_out(
    fixed: Turned,
    moving: Turned,
    size: tuple[int, int],
    own_size: tuple[int, int],
    table: Table,
) -> Pair:
    bits = nofit.forbidden(
        fixed.grown,
        moving.grown,
        step_mm=table.step_mm,
        low=(1 - own_size[0], 1 - own_size[1]),
        size=(size[0] + own_size[0] - 1, size[1] + own_size[1] - 1),
    )
    along, across = table.stride(0), table.stride(1)
    return (
        nofit.packed(bits, along),
        nofit.packed(bits.T, across),
        nofit.packed(bits[::-1, ::-1], along),
        nofit.packed(bits.T[::-1, ::-1], across),
    )


@lru_cache(maxsize=1024)
def _ones(count: int, stride: int) -> int:
    """Return so many ones, a stride apart.

    >>> bin(_ones(3, 4))
    '0b100010001'
    """
    return ((1 << count * stride) - 1) // ((1 << stride) - 1)
