"""Bricks small where a first, coarse look finds stress, and larger where it finds little."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.strength.grid import Wanted
from planner.strength.material import SHEAR_SHARE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.strength.grid import MainPlanes
    from planner.strength.thickness import Walls

    Floats = NDArray[np.float64]
    Edges = tuple[Floats, Floats]
    Three = tuple[Wanted, Wanted, Wanted]

_ONE = (np.zeros(1), np.ones(1))
EVEN: tuple[Edges, ...] = (_ONE, _ONE, _ONE)
"""Per axis: places, and the edges wanted there, relative to the smallest; here all alike."""

LARGEST = 2.0
"""Largest edge wanted per smallest: what is longer slows the solution (invented)."""

GROWTH = 0.3
"""Edges grow by at most this much per millimetre gone away from a smaller one (invented)."""

STRONG = 0.5
"""What bears this share of the highest stress counts as loaded (invented)."""

_TRIES = 7


def severity(tensors: Floats) -> Floats:
    """Return (n,) how hard (n, 3, 3) stresses are on a joint that lies as badly as it can.

    The larger of the highest tension, and of the highest shear per shear strength (see
    `layers`): what matters for some build direction, whichever it will be.
    """
    principal = np.linalg.eigvalsh(tensors)
    shear = (principal[:, 2] - principal[:, 0]) / 2.0
    worst: Floats = np.maximum(principal[:, 2], shear / SHEAR_SHARE)
    return worst


def relative_edges(
    lines_mm: Sequence[Floats], points_mm: Floats, share: Floats
) -> tuple[Edges, ...]:
    """Return (middles, edges) per axis, edges from 1 to `LARGEST`.

    lines_mm: planes of the coarse grid; share: (n,) of the highest severity at the points.
    An edge goes with the root of the highest share in its slab: the error of a brick grows
    with the square of its edge.
    """
    found = []
    for axis, lines in enumerate(lines_mm):
        slab = np.clip(np.searchsorted(lines, points_mm[:, axis], "right") - 1, 0, len(lines) - 2)
        most = np.zeros(len(lines) - 1)
        np.maximum.at(most, slab, share)
        edges = np.clip(np.maximum(most, 1e-6) ** -0.5, 1.0, LARGEST)
        found.append(((lines[1:] + lines[:-1]) / 2.0, edges))
    return tuple(found)


def graded(
    relative: Sequence[Edges],
    planes: MainPlanes,
    walls: Walls,
    *,
    smallest_mm: float,
    most_bricks: int,
) -> tuple[Three, float]:
    """Return edges wanted per axis and the smallest of them, for about `most_bricks` bricks.

    The smallest edge is no less than `smallest_mm`; found by halving, against the number of
    bricks that samples of the part fall into.
    """
    size_mm = max(high - low for low, high in planes.ends_mm)
    low, high = smallest_mm, max(smallest_mm, size_mm)
    if _count(planes, walls, wanted_edges(relative, low)) <= most_bricks:
        return wanted_edges(relative, low), low
    for _ in range(_TRIES):
        middle = float(np.sqrt(low * high))
        if _count(planes, walls, wanted_edges(relative, middle)) > most_bricks:
            low = middle
        else:
            high = middle
    return wanted_edges(relative, high), high


def wanted_edges(relative: Sequence[Edges], edge_mm: float) -> Three:
    """Scale relative edges, so that none grows faster than `GROWTH` from its neighbours."""
    x, y, z = (
        Wanted(
            places_mm=places,
            edge_mm=(edge_mm * edges + GROWTH * np.abs(places[:, None] - places[None, :])).min(
                axis=1
            ),
        )
        for places, edges in relative
    )
    return x, y, z


def _count(planes: MainPlanes, walls: Walls, wanted: Three) -> int:
    """Count the bricks that samples of the part fall into."""
    there = walls.inside
    for axis, lines in enumerate(planes.lines_mm(wanted)):
        places = (walls.lines_mm[axis][1:] + walls.lines_mm[axis][:-1]) / 2.0
        brick = np.clip(np.searchsorted(lines, places, "right") - 1, 0, len(lines) - 2)
        starts = np.flatnonzero(np.diff(brick, prepend=-1))
        there = np.logical_or.reduceat(there, starts, axis=axis)
    return int(there.sum())
