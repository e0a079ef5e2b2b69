"""Whether every body of a part is held, and held by more than a line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.strength.faults import loose, turns

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.job.model import LoadCase
    from planner.solid.model import Solid
    from planner.strength.case import Filled
    from planner.strength.lattice import Lattice
    from planner.strength.surface import SurfacePoints

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

CRUMB = 1e-4
"""What hangs by less than a face and has less than this share of the part is no body: the
grid has cut it off (invented)."""

_THIN = 1e-6


def check_bodies(
    solid: Solid, case: LoadCase, filled: Filled, held: SurfacePoints, held_in: Ints
) -> None:
    """Refuse a part of which a body is held nowhere, or only at a point or along a line.

    Bodies are bricks that share faces: what meets along an edge would turn about it.
    """
    body = bodies(filled.lattice)
    count = int(body.max()) + 1
    gripped = body[held_in]
    free = sorted(set(range(count)) - set(gripped.tolist()))
    if free:
        raise loose(solid, case, count, [_middle(filled, body == one) for one in free])
    for one in range(count):
        grip = held.points_mm[gripped == one]
        extents = np.linalg.svd(grip - grip.mean(axis=0), compute_uv=False)
        if len(grip) < 3 or extents[1] < _THIN * max(extents[0], 1e-9):
            area = float(held.area_mm2[gripped == one].sum())
            raise turns(solid, case, area)


def without_crumbs(lattice: Lattice, every: Floats) -> Ints:
    """Return the cells (n, 3) of a lattice less those of crumbs; every: fill of the whole grid."""
    body = bodies(lattice)
    x, y, z = lattice.cell.T
    volume = np.bincount(body, weights=lattice.sizes_mm.prod(axis=1) * every[x, y, z].mean(axis=1))
    kept: Ints = lattice.cell[(volume > CRUMB * volume.sum())[body]]
    return kept


def bodies(lattice: Lattice) -> Ints:
    """Return (n,): a number for each brick, the same for bricks joined by faces."""
    from scipy.ndimage import label  # noqa: PLC0415  kept out of the start-up path

    there = np.zeros([len(lines) - 1 for lines in lattice.lines_mm], dtype=np.bool_)
    x, y, z = lattice.cell.T
    there[x, y, z] = True
    numbers, _ = label(there)
    found: Ints = np.asarray(numbers[x, y, z], dtype=np.int64) - 1
    return found


def _middle(filled: Filled, chosen: NDArray[np.bool_]) -> Floats:
    lattice = filled.lattice
    middle: Floats = (lattice.lowest_mm + lattice.sizes_mm / 2)[chosen].mean(axis=0) @ filled.turn
    return middle
