"""What hangs together on the plate: parts, supports under them, a raft.

Layer by layer the cells that hold plastic are labelled, and labels that lie on each other are
joined, unless air is between them. A body that mostly ends under another is a support.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.audit.measure.raster import Grid, grid_over, points_along

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.audit.measure.harvest import Lines
    from planner.audit.measure.levels import Levels

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

COLUMN_MM = 1.0
MOST_VALUES = 80_000_000
"""Columns times layers that are kept, at two bytes each; beyond it columns are wider."""
MOST_COLUMNS = 1_500_000
"""Columns of a plate: 1 mm ones on beds to 1200 mm; beyond it they are wider."""
AIR = 0.3
"""Share of a layer's height that must stay empty below it to count as a gap: our choice."""
NEAR_LEVELS = 6
NEAR_MM = 1.6
"""How far under a part a support may end."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bodies:
    """Parts in the plane and what lies under them.

    `part`, on `grid`, is the number of the part over each cell, -1 for none; `labels` gives
    for sampled layers the body of each cell (0: none), `support` the bodies that are
    supports. `column_volume`, (layers, columns), is the strand in each column of
    `columns`; `support_top`, (columns,), the last layer of support there, -1 for none.
    """

    grid: Grid
    columns: Grid
    part: Ints
    parts: int
    labels: dict[int, Ints]
    support: frozenset[int]
    column_volume: NDArray[np.float16]
    support_top: Ints
    support_strand_mm: float
    raft_levels: int


@dataclass(slots=True)
class _Union:
    """Sets that are merged; label 0 is no body."""

    parent: list[int]

    def root(self, label: int) -> int:
        while self.parent[label] != label:
            self.parent[label] = self.parent[self.parent[label]]
            label = self.parent[label]
        return label

    def new(self, count: int) -> int:
        first = len(self.parent)
        self.parent.extend(range(first, first + count))
        return first

    def join(self, a: int, b: int) -> None:
        ra, rb = self.root(a), self.root(b)
        if ra != rb:
            self.parent[max(ra, rb)] = min(ra, rb)


@dataclass(slots=True)
class _Sky:
    """What was last met in each cell, and what ended under what."""

    label: Ints
    level: Ints
    covered: list[tuple[Ints, Ints, Ints, Ints]]
    """Lower label, upper label, cell, last layer of the lower one."""
    bare: list[Ints]
    """Labels that ended in a cell with nothing near above."""


def bodies_of(
    lines: Lines,
    levels: Levels,
    *,
    spacing_mm: float,
    full_mm: Floats,
    raft_levels: int,
    keep: set[int],
) -> Bodies:
    """Label all layers; `keep` are the layers whose labels are wanted later.

    `full_mm`, (layers,), is the strand per mm beyond which a line is thicker than its layer
    (sparse fill over two layers at once): what is more does not make the layer solid.
    """
    grid = grid_over(lines, spacing_mm * 1.001)
    columns = columns_over(grid, len(levels))
    cells = grid.shape[0] * grid.shape[1]
    union = _Union([0])
    sky = _Sky(np.zeros(cells, np.int64), np.full(cells, -99), [], [])
    volume = np.zeros((len(levels), columns.shape[0] * columns.shape[1]), np.float16)
    labels: dict[int, Ints] = {}
    strand: dict[int, float] = {}
    below = np.zeros(cells, np.int64)
    for level in range(len(levels)):
        new_run = level == 0 or levels.run[level] != levels.run[level - 1]
        own = lines.some(levels.lines_of(level))
        x, y, index, share = points_along(own, min(0.35, 0.8 * spacing_mm))
        amount = own.strand_mm[index] * share
        capped = np.minimum(own.strand_mm, full_mm[level] * own.length_mm)[index] * share
        volume[level] = np.bincount(columns.cells(x, y), capped, minlength=volume.shape[1])
        if level < raft_levels or _in_first_two(levels, level, raft_levels):
            continue
        at = grid.cells(x, y)
        full = np.zeros(cells, bool)
        full[at] = True
        now = _labelled(full.reshape(grid.shape), union)
        if new_run:
            below[:] = 0
        _join(now, below, union)
        _heaven(sky, now, level, levels, union)
        for label, more in _by_label(now, at, amount):
            strand[label] = strand.get(label, 0.0) + more
        if level in keep:
            labels[level] = now
        below = now
    roots, amounts = _amounts(union, strand)
    support = _supports(sky, roots, amounts)
    part, parts = _parts(grid, sky, roots, amounts, support)
    return Bodies(
        grid=grid,
        columns=columns,
        part=part,
        parts=parts,
        labels={level: roots[label] for level, label in labels.items()},
        support=frozenset(support),
        column_volume=volume,
        support_top=_support_top(grid, columns, sky, roots, support),
        support_strand_mm=float(sum(amounts[s] for s in support)),
        raft_levels=raft_levels,
    )


def columns_over(grid: Grid, levels: int) -> Grid:
    """Return the columns over a grid: as fine as they may be, and few enough to be kept."""
    whole_mm2 = grid.shape[0] * grid.shape[1] * grid.cell_mm**2
    most = min(MOST_COLUMNS, MOST_VALUES / levels)
    return grid.coarser(max(COLUMN_MM, float(np.sqrt(whole_mm2 / most))))


def _in_first_two(levels: Levels, level: int, raft_levels: int) -> bool:
    """Tell whether a layer may hold brims and skirts, which join what stands apart.

    The first two layers of a run are passed over, unless the run has hardly more.
    """
    if raft_levels:
        return False
    first = int(np.searchsorted(levels.run, levels.run[level]))
    count = int((levels.run == levels.run[level]).sum())
    return level - first < 2 and count > 4


def _labelled(full: Bools, union: _Union) -> Ints:
    from scipy.ndimage import label  # noqa: PLC0415 (slow to import, and often not needed)

    now, count = label(full, structure=np.ones((3, 3), bool))
    first = union.new(int(count))
    flat: Ints = now.ravel().astype(np.int64)
    flat[flat > 0] += first - 1
    return flat


def _join(now: Ints, below: Ints, union: _Union) -> None:
    both = np.flatnonzero((now > 0) & (below > 0))
    if not len(both):
        return
    for a, b in _pairs(now[both], below[both])[0]:
        union.join(a, b)


def _heaven(sky: _Sky, now: Ints, level: int, levels: Levels, union: _Union) -> None:
    """Note which other bodies new plastic covers, and update what was last met."""
    full = np.flatnonzero(now)
    older = full[(sky.level[full] < level - 1) & (sky.level[full] >= 0)]
    older = older[_others(sky.label[older], now[older], union)]
    if len(older):
        last = sky.level[older]
        near = (level - last <= NEAR_LEVELS) & (
            levels.z_mm[level] - levels.z_mm[last] <= NEAR_MM + 1e-9
        )
        near &= levels.run[last] == levels.run[level]
        hit = older[near]
        sky.covered.append((sky.label[hit], now[hit], hit, sky.level[hit]))
        sky.bare.append(sky.label[older[~near]])
    sky.label[full] = now[full]
    sky.level[full] = level


def _others(low: Ints, high: Ints, union: _Union) -> Bools:
    """Flag pairs of labels that are not yet known to be one body."""
    if not len(low):
        return np.zeros(0, bool)
    pairs, index = _pairs(low, high)
    apart = np.array([union.root(a) != union.root(b) for a, b in pairs])
    return np.asarray(apart[index])


def _pairs(first: Ints, second: Ints) -> tuple[list[tuple[int, int]], Ints]:
    """Return the different pairs, and which of them each place has; neighbours are mostly alike."""
    new = np.append(True, (first[1:] != first[:-1]) | (second[1:] != second[:-1]))
    key = first[new] * (1 << 32) + second[new]
    kinds, index = np.unique(key, return_inverse=True)
    pairs = [(int(k) >> 32, int(k) & 0xFFFFFFFF) for k in kinds]
    return pairs, np.asarray(index[np.cumsum(new) - 1])


def _by_label(now: Ints, at: Ints, amount: Floats) -> list[tuple[int, float]]:
    labels = now[at]
    least = int(labels.min()) if len(labels) else 0
    sums = np.bincount(labels - least, amount)
    return [(least + int(k), float(sums[k])) for k in np.flatnonzero(sums)]


def _amounts(union: _Union, strand: dict[int, float]) -> tuple[Ints, Floats]:
    """Return the body of each label, and the strand of each body."""
    roots = np.array([union.root(label) for label in range(len(union.parent))])
    amounts = np.zeros(len(roots))
    for label, more in strand.items():
        amounts[roots[label]] += more
    return roots, amounts


def _support_top(grid: Grid, columns: Grid, sky: _Sky, roots: Ints, support: set[int]) -> Ints:
    """Return the last layer of support in each column, -1 for none."""
    from scipy.ndimage import maximum_filter  # noqa: PLC0415 (slow to import, rarely needed)

    top = np.full(columns.shape[0] * columns.shape[1], -1)
    for low, _, cell, last in sky.covered:
        under = np.isin(roots[low], list(support))
        np.maximum.at(top, _to_columns(grid, columns, cell[under]), last[under])
    if not support:
        return top
    # lines end or swing in the columns beside those that are covered
    wide = maximum_filter(top.reshape(columns.shape), 3).ravel()
    return np.asarray(wide, dtype=np.int64)


def _to_columns(grid: Grid, columns: Grid, cell: Ints) -> Ints:
    x = grid.left_mm + (cell % grid.shape[1] + 0.5) * grid.cell_mm
    y = grid.front_mm + (cell // grid.shape[1] + 0.5) * grid.cell_mm
    return columns.cells(x, y)


def _supports(sky: _Sky, roots: Ints, amounts: Floats) -> set[int]:
    """Bodies of which more than half ends under another, larger or not."""
    covered = np.zeros(len(roots))
    ends = np.bincount(roots[sky.label], minlength=len(roots)).astype(np.float64)
    for bare in sky.bare:
        ends += np.bincount(roots[bare], minlength=len(roots))
    for low, high, _, _ in sky.covered:
        other = roots[low] != roots[high]
        covered += np.bincount(roots[low][other], minlength=len(roots))
    total = covered + ends
    found = np.flatnonzero((covered > 0.5 * total) & (covered > 4) & (amounts > 0))
    return {int(label) for label in found if label}


def _parts(
    grid: Grid, sky: _Sky, roots: Ints, amounts: Floats, support: set[int]
) -> tuple[Ints, int]:
    """Map the parts, numbered from left to right; scraps over a part belong to it."""
    from scipy.ndimage import label  # noqa: PLC0415 (slow to import, and often not needed)

    body = roots[sky.label]
    shadow = (body > 0) & ~np.isin(body, list(support))
    for low, _, cell, _ in sky.covered:
        own = ~np.isin(roots[low], list(support))
        shadow[cell[own]] = True
    joined, count = label(shadow.reshape(grid.shape), structure=np.ones((3, 3), bool))
    flat = joined.ravel().astype(np.int64)
    weight = np.zeros(count + 1)
    np.maximum.at(weight, flat, amounts[roots[sky.label]] * (sky.label > 0))
    kept = [k for k in range(1, count + 1) if weight[k] > 0.01 * weight[1:].max()]
    corner = {k: _corner(flat, k, grid) for k in kept}
    kept.sort(key=lambda k: corner[k])
    number = np.full(count + 1, -1)
    number[kept] = np.arange(len(kept))
    return number[flat], len(kept)


def _corner(flat: Ints, label: int, grid: Grid) -> tuple[int, int]:
    cells = np.flatnonzero(flat == label)
    return int((cells % grid.shape[1]).min()), int((cells // grid.shape[1]).min())
