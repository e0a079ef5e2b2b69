"""Places where items lie: plates, and the holes of other items.  Each is a grid of cells.

A cell belongs to a block; the ground of one block weighs the same everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from planner.nest.bound.raster import WHOLE, most_covered, raster
from planner.nest.obstacles import keep_out_regions
from planner.nest.shape import rounded_outside, surface

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.nest.bound.form import Hole
    from planner.nest.bound.raster import Cell, Shares
    from planner.nest.model import Bed

CELLS, CELLS_IN_HOLE = 128, 48
"""Cells along the longer side; our choice: the weights change little on a finer grid."""
_LAYERS = (0.0, 0.01, 0.03, 0.06, 0.1, 0.16, 0.25, 0.37)
"""Where blocks begin, as shares of the side from either edge: finer where parts end."""
_FEW_LAYERS = (0.0, 0.03, 0.1, 0.25)
_LAYERS_IN_HOLE = (0.0, 0.11, 0.22, 0.33, 0.44)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Site:
    """A place of `room_mm` for grown items, cut into cells (rows, columns).

    `most` is the share of a cell that can be covered (256ths); nothing may reach over all of a
    cell that is `shut` - the item itself if `shut_to_bare`, else with its clearance.  `block`
    numbers the blocks from 0.  Of counted sites there are `count`; a hole is `inside` an item
    and costs no plate.
    """

    room_mm: tuple[float, float]
    cell_mm: Cell
    most: Shares
    shut: NDArray[np.bool_]
    shut_to_bare: bool
    block: NDArray[np.int64]
    area_mm2: float
    count: int | None
    inside: int | None = None

    @property
    def unit_mm2(self) -> float:
        """The area of a 256th of a cell."""
        return self.cell_mm[0] * self.cell_mm[1] / WHOLE


def plate_site(bed: Bed, *, clearance_mm: float, edge_mm: float, alone: bool) -> Site | None:
    """Return the site of a kind of plate; None if its edges leave nothing.

    Of several kinds, not `alone`, each has fewer blocks, to keep the work within bounds.
    """
    more = clearance_mm - 2 * edge_mm
    room_mm = (bed.width_mm + more, bed.depth_mm + more)
    shift = clearance_mm / 2 - edge_mm
    inside = shapely.box(edge_mm, edge_mm, bed.width_mm - edge_mm, bed.depth_mm - edge_mm)
    if min(bed.width_mm, bed.depth_mm) <= 2 * edge_mm:
        return None
    taken = shapely.union_all(list(keep_out_regions(bed)))
    free = surface(inside.difference(taken))
    if free.area <= 0:
        return None
    grown = rounded_outside(free, clearance_mm / 2) if clearance_mm else free
    grown = affinity.translate(grown, shift, shift)
    cell_mm, rows, columns = _grid(room_mm, CELLS)
    shut = np.zeros((rows, columns), dtype=bool)
    closed = surface(
        affinity.translate(taken, shift, shift).intersection(shapely.box(0, 0, *room_mm))
    )
    if closed.area > 0:
        shut = raster(closed, room_mm, cell_mm).share == WHOLE
    return Site(
        room_mm=room_mm,
        cell_mm=cell_mm,
        most=most_covered(grown, rows, columns, cell_mm),
        shut=shut,
        shut_to_bare=True,
        block=_blocks(rows, columns, _LAYERS if alone else _FEW_LAYERS, square=rows == columns),
        area_mm2=float(grown.area),
        count=bed.count,
    )


def hole_site(hole: Hole, item: int, copies: int, *, plain: bool = False) -> Site:
    """Return the site inside a hole; `copies` is how many there are in all.

    A `plain` one is but one block of a few cells: what lies in it counts by area.
    """
    _, _, wide, deep = hole.region.bounds
    cell_mm, rows, columns = _grid((wide, deep), 1 if plain else CELLS_IN_HOLE)
    most = most_covered(hole.region, rows, columns, cell_mm)
    return Site(
        room_mm=(wide, deep),
        cell_mm=cell_mm,
        most=most,
        shut=most == 0,
        shut_to_bare=False,
        block=_blocks(rows, columns, _LAYERS_IN_HOLE, square=False),
        area_mm2=float(hole.region.area),
        count=copies,
        inside=item,
    )


def _grid(room_mm: tuple[float, float], most: int) -> tuple[Cell, int, int]:
    step = max(room_mm) / most
    columns, rows = (max(1, ceil(length / step - 1e-9)) for length in room_mm)
    return (room_mm[0] / columns, room_mm[1] / rows), rows, columns


def _blocks(
    rows: int, columns: int, layers: tuple[float, ...], *, square: bool
) -> NDArray[np.int64]:
    """Return each cell's block; mirror images share one, on a square both diagonal halves too."""
    across, along = _layer(columns, layers), _layer(rows, layers)
    low, high = np.broadcast_arrays(along[:, None], across[None, :])
    if square:
        low, high = np.minimum(low, high), np.maximum(low, high)
    _, block = np.unique(low * len(layers) + high, return_inverse=True)
    return block.reshape(rows, columns).astype(np.int64)


def _layer(cells: int, layers: tuple[float, ...]) -> NDArray[np.int64]:
    middle = (np.arange(cells) + 0.5) / cells
    inward = np.minimum(middle, 1.0 - middle)
    return np.searchsorted(np.array(layers), inward, side="right") - 1
