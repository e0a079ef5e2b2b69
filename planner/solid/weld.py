"""Join equal vertices, drop triangles that are none, and find edges without a partner."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.solid.model import Floats, Indices

CELL = 2.0**-20
"""Width of the welding grid against the largest coordinate: 16 steps of a 24-bit float, so
that the rounding of any writer of single precision is covered. 0.2 um on a 200 mm part."""

CRACK_MM = 0.05
"""Widest crack closed by moving vertices: the finest linear tolerance of ISO 2768-1
(class f, up to 6 mm)."""

CRACK_SHARE = 1e-3
"""Nor wider than this share of the box's diagonal (invented: keeps tiny parts in shape)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edges:
    """The edges of a mesh. `of_triangle` is (t, 3): each side's row in the other arrays.

    `uses` counts the triangles at an edge; `balance` counts those that run it upwards (from
    the lower vertex number to the higher) less those that run it downwards.
    """

    of_triangle: Indices
    ends: Indices
    uses: Indices
    balance: Indices

    @property
    def unpaired(self) -> int:
        """Number of edges with an odd number of triangles: the rims of an open surface."""
        return int((self.uses % 2 == 1).sum())

    @property
    def closed(self) -> bool:
        """True if each edge is run as often one way as the other."""
        return not self.balance.any()


def weld(vertices: Floats, triangles: Indices) -> tuple[Floats, Indices]:
    """Join vertices that fall in one cell of the welding grid; the first one stays exact."""
    return _renumber(vertices, triangles, _cells(vertices))


def tidy(triangles: Indices) -> Indices:
    """Drop triangles that use a vertex twice, and copies of a triangle.

    Of two copies that face opposite ways neither stays: they bound nothing (two bodies that
    share a wall). A mesh in which every triangle has its opposite was meant to be seen from
    both sides: there one of each stays.
    """
    a, b, c = triangles.T
    triangles = triangles[(a != b) & (b != c) & (c != a)]
    if len(triangles) == 0:
        return triangles
    ordered = np.sort(triangles, axis=1).astype(np.int64)
    _, first, group, count = np.unique(
        _row_keys(ordered), return_index=True, return_inverse=True, return_counts=True
    )
    if (count == 1).all():
        return triangles
    turn = np.where(_runs_up(triangles), 1, -1)
    net = np.bincount(group, weights=turn)
    if not net.any():
        return triangles[np.sort(first)]
    rows = np.flatnonzero(np.sign(net)[group] == turn)
    _, once = np.unique(group[rows], return_index=True)
    return triangles[np.sort(rows[once])]


def drop_unused(vertices: Floats, triangles: Indices) -> tuple[Floats, Indices]:
    """Leave out vertices that no triangle uses; the order of the others stays."""
    used = np.zeros(len(vertices), dtype=bool)
    used[triangles.ravel()] = True
    number = np.cumsum(used, dtype=np.int32) - 1
    return vertices[used], number[triangles].astype(np.int32)


def edges_of(triangles: Indices, vertices: int) -> Edges:
    """Return the edges of a mesh with that many vertices."""
    sides = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2).astype(np.int64)
    low, high = sides.min(axis=1), sides.max(axis=1)
    keys, inverse, uses = np.unique(low * vertices + high, return_inverse=True, return_counts=True)
    upwards = np.bincount(inverse, weights=np.where(sides[:, 0] < sides[:, 1], 1, -1))
    return Edges(
        of_triangle=inverse.reshape(-1, 3).astype(np.int32),
        ends=np.stack([keys // vertices, keys % vertices], axis=1).astype(np.int32),
        uses=uses.astype(np.int32),
        balance=upwards.astype(np.int32),
    )


def close_cracks(
    vertices: Floats, triangles: Indices, edges: Edges
) -> tuple[Floats, Indices, float] | None:
    """Join vertices on open rims at growing distance until every edge has its partner.

    The distance doubles from the welding grid up to `CRACK_MM` or `CRACK_SHARE` of the
    diagonal. Returns (vertices, triangles, distance in mm), or None if the surface stays
    open.
    """
    from scipy.spatial import cKDTree  # noqa: PLC0415  only broken meshes pay for the import

    rim = np.unique(edges.ends[edges.uses % 2 == 1])
    tree = cKDTree(vertices[rim])
    reach = weld_mm(vertices)
    last = min(CRACK_MM, CRACK_SHARE * float(np.linalg.norm(np.ptp(vertices, axis=0))))
    tried = 0
    while reach <= last:
        pairs = rim[tree.query_pairs(reach, output_type="ndarray")]
        if len(pairs) > tried:
            tried = len(pairs)
            joined = _join_pairs(vertices, triangles, pairs)
            if len(joined[1]) and edges_of(joined[1], len(joined[0])).unpaired == 0:
                return *joined, reach
        reach *= 2
    return None


def weld_mm(vertices: Floats) -> float:
    """Return the width of a cell of the welding grid."""
    return float(np.abs(vertices).max()) * CELL


def _cells(vertices: Floats) -> Indices:
    """Return the cell of each vertex; 21 bits per axis make one sortable key."""
    width = weld_mm(vertices) * 1.001  # keeps the farthest cell below 2**21
    steps = ((vertices - vertices.min(axis=0)) / width).astype(np.int64)
    return _packed(steps)


def _renumber(vertices: Floats, triangles: Indices, keys: Indices) -> tuple[Floats, Indices]:
    """Let the first vertex of each key stand for all of them, in order of appearance."""
    _, first, group = np.unique(keys, return_index=True, return_inverse=True)
    order = np.argsort(first)
    number = np.empty(len(first), dtype=np.int32)
    number[order] = np.arange(len(first), dtype=np.int32)
    return vertices[first[order]], number[group][triangles].astype(np.int32)


def _join_pairs(vertices: Floats, triangles: Indices, pairs: Indices) -> tuple[Floats, Indices]:
    """Merge vertices linked by pairs, chains included; then tidy up."""
    from scipy.sparse import coo_array  # noqa: PLC0415
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415

    count = len(vertices)
    links = coo_array((np.ones(len(pairs)), pairs.T), shape=(count, count))
    _, group = connected_components(links, directed=False)
    merged, renumbered = _renumber(vertices, triangles, group)
    return drop_unused(merged, tidy(renumbered))


def _row_keys(rows: Indices) -> Indices:
    """Return one number per row of three vertex numbers, equal for equal rows."""
    if rows.max() < 2**21:
        return _packed(rows)
    _, keys = np.unique(rows, axis=0, return_inverse=True)
    return keys.ravel()


def _packed(columns: Indices) -> Indices:
    """Pack three numbers below 2**21 into one."""
    packed: Indices = (columns[:, 0] << 42) | (columns[:, 1] << 21) | columns[:, 2]
    return packed


def _runs_up(triangles: Indices) -> NDArray[np.bool_]:
    """Tell where the corners, started at the lowest number, go up: one of two facings."""
    rolled = np.argmin(triangles, axis=1)
    rows = np.arange(len(triangles))
    up: NDArray[np.bool_] = triangles[rows, (rolled + 1) % 3] < triangles[rows, (rolled + 2) % 3]
    return up
