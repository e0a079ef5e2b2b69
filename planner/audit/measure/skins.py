"""Solid layers at the top and the bottom of each part, column by column."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.audit.measure.bodies import Bodies

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

SOLID = 0.8
"""Share of a layer's volume in a window of 3 mm from which it counts as solid: our choice;
solid fill lays 0.9 to 1.1, sparse fill of 60 % some 0.7 at most."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Columns:
    """Columns of 1 mm, arrays (columns,).

    Part, first and last layer with plastic in the column, number of solid layers in a run from
    the first one up and from the last one down, number of layers that are not solid.
    """

    part: Ints
    first: Ints
    last: Ints
    bottom: Ints
    top: Ints
    sparse: Ints
    whole: Bools
    """Columns whose window lies wholly inside their part."""


def columns_of(bodies: Bodies, heights_mm: Floats, *, mm3_per_mm: float, flow: float) -> Columns:
    """Go up through all layers once; support and raft are left out."""
    from scipy.ndimage import uniform_filter  # noqa: PLC0415 (slow to import, rarely needed)

    shape = bodies.columns.shape
    part = _part_of_columns(bodies)
    count = len(part)
    lowest, highest = _ends(bodies, len(heights_mm))
    run, bottom, top = np.zeros(count, int), np.full(count, -1), np.zeros(count, int)
    sparse = np.zeros(count, int)
    area = bodies.columns.cell_mm**2
    for level in range(bodies.raft_levels, len(heights_mm)):
        share = uniform_filter(_own(bodies, level).reshape(shape), 3, mode="constant").ravel()
        share *= mm3_per_mm / (flow * area * max(heights_mm[level], 1e-3))
        within = (lowest <= level) & (level <= highest) & (lowest >= 0)
        solid = within & (share >= SOLID)
        ended = within & ~solid & (bottom < 0)
        bottom[ended] = np.where(run == level - lowest, run, 0)[ended]
        run = np.where(solid, run + 1, 0)
        top[within] = run[within]
        sparse += within & ~solid
    return Columns(
        part=part,
        first=lowest,
        last=highest,
        bottom=bottom,
        top=top,
        sparse=sparse,
        whole=_whole(part, shape),
    )


def _own(bodies: Bodies, level: int) -> NDArray[np.float32]:
    """Strand of the parts in each column of a layer, supports left out."""
    raw: NDArray[np.float32] = bodies.column_volume[level].astype(np.float32)
    raw[level <= bodies.support_top] = 0.0
    return raw


def _ends(bodies: Bodies, levels: int) -> tuple[Ints, Ints]:
    """First and last layer with plastic of a part in each column, -1 for none."""
    count = bodies.column_volume.shape[1]
    lowest, highest = np.full(count, -1), np.full(count, -1)
    for level in range(bodies.raft_levels, levels):
        there = _own(bodies, level) > 0.0
        lowest[there & (lowest < 0)] = level
        highest[there] = level
    return lowest, highest


def _part_of_columns(bodies: Bodies) -> Ints:
    grid, columns = bodies.grid, bodies.columns
    index = np.arange(columns.shape[0] * columns.shape[1])
    x = columns.left_mm + (index % columns.shape[1] + 0.5) * columns.cell_mm
    y = columns.front_mm + (index // columns.shape[1] + 0.5) * columns.cell_mm
    return np.asarray(bodies.part[grid.cells(x, y)])


def _whole(part: Ints, shape: tuple[int, int]) -> Bools:
    from scipy.ndimage import maximum_filter, minimum_filter  # noqa: PLC0415 (as above)

    flat = part.reshape(shape)
    low, high = minimum_filter(flat, 5), maximum_filter(flat, 5)
    return np.asarray(((low == high) & (flat >= 0)).ravel())


def skins_of(columns: Columns, part: int, *, of_top: bool) -> tuple[int | None, float, int]:
    """Return the commonest number of solid layers, its share, and the columns looked at.

    Only columns that are sparse somewhere tell: elsewhere top and bottom are one.
    """
    own = (columns.part == part) & columns.whole & (columns.sparse > 0)
    own &= columns.last - columns.first > 1
    runs = (columns.top if of_top else columns.bottom)[own]
    runs = runs[runs >= 0]
    if len(runs) < 8:
        return None, 0.0, len(runs)
    counts = np.bincount(runs)
    best = int(np.argmax(counts))
    return best, float(counts[best]) / len(runs), len(runs)


def floor_of(columns: Columns, part: int) -> tuple[int | None, float, int]:
    """Return the solid layers under an empty shell: all that lies in its inner columns."""
    own = (columns.part == part) & columns.whole & (columns.first == 0)
    runs = columns.top[own]
    if len(runs) < 8:
        return None, 0.0, len(runs)
    counts = np.bincount(runs)
    best = int(np.argmax(counts))
    return best, float(counts[best]) / len(runs), len(runs)
