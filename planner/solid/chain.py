"""Outlines of a mesh that is not closed: cut segments chained, gaps closed by nearest end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from planner.solid.kernel import Region

if TYPE_CHECKING:
    from planner.solid.model import Floats, Indices

NEAREST = 16
"""Neighbours looked at per open end and round of matching (keeps soups affordable)."""


TRUSTED = 0.9
"""Share of outline whose triangles face as their ring does, from which their facing decides
what is inside (invented; sound files have 1, shuffled ones about 0)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """Closed rings of one cut, each (n, 2), inside on the left as far as the triangles say.

    `length_mm` counts them all, `invented_mm` the part that was guessed; `facing` (0 to 1)
    is the share of length at which the triangles agree on the ring's direction.
    """

    rings: tuple[Floats, ...]
    length_mm: float
    invented_mm: float
    facing: float


def region_of(outline: Outline) -> Region:
    """Return what the rings enclose.

    Where facing can be trusted, overlapping rings count as one and inward rings as holes;
    otherwise a point is inside if an odd number of rings surrounds it.
    """
    if not outline.rings:
        return Region()
    trusted = outline.facing >= TRUSTED
    rule = manifold3d.FillRule.NonZero if trusted else manifold3d.FillRule.EvenOdd
    return Region(list(outline.rings), rule)


def outline_at(vertices: Floats, triangles: Indices, height_mm: float) -> Outline:
    """Cut at z = `height_mm` and close what stays open. No vertex may lie on the plane."""
    points, links = _segments(vertices, triangles, height_mm)
    lengths = np.linalg.norm(points[links[:, 1]] - points[links[:, 0]], axis=1)
    drawn = float(lengths.sum())
    if drawn == 0:
        return Outline(rings=(), length_mm=0.0, invented_mm=0.0, facing=1.0)
    loops, open_chains = _walk(links, len(points))
    closing, invented = _close(points, open_chains)
    along = dict(zip(map(tuple, links.tolist()), lengths.tolist(), strict=True))
    rings, agreed = [], 0.0
    for loop in (*loops, *closing):
        net = _net_length(loop, along)
        agreed += abs(net)
        if len(loop) > 2:
            rings.append(points[loop if net >= 0 else loop[::-1]])
    return Outline(
        rings=tuple(rings),
        length_mm=drawn + invented,
        invented_mm=invented,
        facing=agreed / drawn,
    )


def _net_length(loop: list[int], along: dict[tuple[int, int], float]) -> float:
    """Return the length of a loop's segments that run its way, less those that run against."""
    steps = list(zip(loop, loop[1:] + loop[:1], strict=True))
    ahead = sum(along.get(step, 0.0) for step in steps)
    return ahead - sum(along.get((end, start), 0.0) for start, end in steps)


def _segments(vertices: Floats, triangles: Indices, height: float) -> tuple[Floats, Indices]:
    """Return points (n, 2) where mesh edges meet the plane, and links (m, 2) between them.

    The point of an edge is computed once, from its lower vertex number, so that triangles
    which share the edge share the point. Seen from above, a link has the inside on its left
    if its triangle faces outwards.
    """
    above = vertices[:, 2] > height
    side = above[triangles]
    crossing = np.flatnonzero(side.any(axis=1) & ~side.all(axis=1))
    if len(crossing) == 0:
        return np.empty((0, 2)), np.empty((0, 2), dtype=np.int64)
    corners, side = triangles[crossing].astype(np.int64), side[crossing]
    lone = np.where(side.sum(axis=1) == 1, side.argmax(axis=1), side.argmin(axis=1))
    rows = np.arange(len(corners))
    apex = corners[rows, lone]
    others = np.stack([corners[rows, (lone + 1) % 3], corners[rows, (lone + 2) % 3]], axis=1)
    falls = ~above[apex]  # an apex below sees the other two the other way round
    others[falls] = others[falls, ::-1]
    low = np.minimum(apex[:, None], others)
    high = np.maximum(apex[:, None], others)
    keys, links = np.unique(low * len(vertices) + high, return_inverse=True)
    start, end = vertices[keys // len(vertices)], vertices[keys % len(vertices)]
    share = (height - start[:, 2]) / (end[:, 2] - start[:, 2])
    points = start[:, :2] + share[:, None] * (end[:, :2] - start[:, :2])
    return points, links.reshape(-1, 2)


def _walk(links: Indices, points: int) -> tuple[list[list[int]], list[list[int]]]:
    """Follow links from point to point: closed loops, and chains with two loose ends.

    Loose ends are walked first; where more than two links meet, the first unused is taken.
    """
    at: list[list[int]] = [[] for _ in range(points)]
    ends: list[list[int]] = links.tolist()
    for link, (first, second) in enumerate(ends):
        at[first].append(link)
        at[second].append(link)
    loose = [point for point in range(points) if len(at[point]) % 2]
    used = bytearray(len(ends))
    loops, chains = [], []
    for start in (*loose, *range(points)):
        while (path := _follow(start, at, ends, used)) is not None:
            if path[0] == path[-1]:
                loops.append(path[:-1])
            else:
                chains.append(path)
    return loops, chains


def _follow(
    start: int, at: list[list[int]], ends: list[list[int]], used: bytearray
) -> list[int] | None:
    """Walk unused links from a point until none is left or the point is met again."""
    path, here = [start], start
    while True:
        while at[here] and used[at[here][-1]]:
            at[here].pop()
        if not at[here]:
            return path if len(path) > 1 else None
        link = at[here].pop()
        used[link] = 1
        first, second = ends[link]
        here = second if here == first else first
        path.append(here)
        if here == start:
            return path


def _close(points: Floats, chains: list[list[int]]) -> tuple[list[list[int]], float]:
    """Join the loose ends of chains in pairs, nearest first; return rings, length joined."""
    if not chains:
        return [], 0.0
    places = points[[end for chain in chains for end in (chain[0], chain[-1])]]
    partner, length = _match(places)
    rings, done = [], set()
    for number in range(len(chains)):
        ring: list[int] = []
        end = 2 * number  # even: the chain's first point, odd: its last
        while end // 2 not in done:
            done.add(end // 2)
            chain = chains[end // 2]
            ring += chain if end % 2 == 0 else chain[::-1]
            end = partner[end ^ 1]
        if ring:
            rings.append(ring)
    return rings, length


def _match(places: Floats) -> tuple[list[int], float]:
    """Pair up an even number of points, nearest pairs first; return partners, total length."""
    from scipy.spatial import cKDTree  # noqa: PLC0415  only open meshes pay for the import

    partner = [-1] * len(places)
    length = 0.0
    left = np.arange(len(places))
    while len(left):
        near = min(NEAREST, len(left) - 1)
        found = cKDTree(places[left]).query(places[left], k=range(1, near + 2))
        distance, other = (np.asarray(column).ravel() for column in found)
        pairs = np.stack([np.repeat(left, near + 1), left[other]], axis=1)
        order = np.lexsort((pairs[:, 1], pairs[:, 0], distance))
        for first, second in pairs[order].tolist():
            if first != second and partner[first] < 0 and partner[second] < 0:
                partner[first], partner[second] = second, first
                length += float(np.linalg.norm(places[first] - places[second]))
        left = np.array([end for end in left.tolist() if partner[end] < 0], dtype=np.int64)
    return partner, length
