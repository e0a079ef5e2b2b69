"""Outlines of a mesh that is not closed: cut segments chained, gaps closed by nearest end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import manifold3d
import numpy as np

from planner.solid.kernel import Region
from planner.solid.model import Footprint

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


@dataclass(frozen=True, slots=True)
class _Path:
    """Points in order; the length of its links that run its way less those against it."""

    points: list[int]
    net_mm: float
    closed: bool


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


def winding_area(outline: Outline) -> float:
    """Return the area within the rings, counted as often as they run round it."""
    return Footprint(polygons_mm=(outline.rings,)).area_mm2


def outlines(vertices: Floats, triangles: Indices, heights_mm: Floats) -> list[Outline]:
    """Cut at each z of `heights_mm` and close what stays open."""
    first, second, third = (vertices[triangles[:, corner], 2] for corner in range(3))
    bottom = np.minimum(np.minimum(first, second), third)
    top = np.maximum(np.maximum(first, second), third)
    return [
        _outline(*_segments(vertices, triangles[(bottom <= height) & (top > height)], height))
        for height in heights_mm.tolist()
    ]


def _outline(points: Floats, links: Indices) -> Outline:
    """Chain links between points and join the loose ends."""
    lengths = np.linalg.norm(points[links[:, 1]] - points[links[:, 0]], axis=1)
    drawn = float(lengths.sum())
    if drawn == 0:
        return Outline(rings=(), length_mm=0.0, invented_mm=0.0, facing=1.0)
    walk = _walk_one_way if _is_one_way(links, len(points)) else _walk
    paths = walk(links, lengths, len(points))
    rings = [path for path in paths if path.closed]
    joined, invented = _join(points, [path for path in paths if not path.closed])
    rings += joined
    return Outline(
        rings=tuple(
            points[ring.points if ring.net_mm >= 0 else ring.points[::-1]]
            for ring in rings
            if len(ring.points) > 2
        ),
        length_mm=drawn + invented,
        invented_mm=invented,
        facing=sum(abs(ring.net_mm) for ring in rings) / drawn,
    )


def _segments(vertices: Floats, crossing: Indices, height: float) -> tuple[Floats, Indices]:
    """Return points (n, 2) where mesh edges meet the plane, and links (m, 2) between them.

    `crossing` are the triangles with corners on both sides; a corner in the plane counts as
    below it. The point of an edge is computed once, from its lower vertex number, so that
    triangles which share the edge share the point. Seen from above, a link has the inside
    on its left if its triangle faces outwards.
    """
    corners = crossing.astype(np.int64)
    above = vertices[corners, 2] > height
    lone = np.where(above.sum(axis=1) == 1, above.argmax(axis=1), above.argmin(axis=1))
    rows = np.arange(len(corners))
    apex = corners[rows, lone]
    others = np.stack([corners[rows, (lone + 1) % 3], corners[rows, (lone + 2) % 3]], axis=1)
    falls = ~above[rows, lone]  # an apex below sees the other two the other way round
    others[falls] = others[falls, ::-1]
    low = np.minimum(apex[:, None], others)
    high = np.maximum(apex[:, None], others)
    keys, links = np.unique(low * len(vertices) + high, return_inverse=True)
    start, end = vertices[keys // len(vertices)], vertices[keys % len(vertices)]
    share = (height - start[:, 2]) / (end[:, 2] - start[:, 2])
    points = start[:, :2] + share[:, None] * (end[:, :2] - start[:, :2])
    return points, links.reshape(-1, 2)


def _is_one_way(links: Indices, points: int) -> bool:
    """Tell whether every point has one link in and one out at most: sound and well facing."""
    leaving, arriving = (np.bincount(links[:, end], minlength=points) for end in (0, 1))
    return int(leaving.max()) < 2 and int(arriving.max()) < 2


def _walk_one_way(links: Indices, lengths: Floats, points: int) -> list[_Path]:
    """Follow links in their own direction; chains first, from the points nothing leads to."""
    onward, length = [-1] * points, [0.0] * points
    for (start, end), size in zip(links.tolist(), lengths.tolist(), strict=True):
        onward[start], length[start] = end, size
    starts = np.setdiff1d(links[:, 0], links[:, 1]).tolist()
    paths = []
    for start in (*starts, *range(points)):
        here, path, net = start, [], 0.0
        while onward[here] >= 0:
            path.append(here)
            net += length[here]
            following, onward[here] = onward[here], -1
            here = following
        if path:
            closed = here == start
            paths.append(_Path(path if closed else [*path, here], net, closed=closed))
    return paths


def _walk(links: Indices, lengths: Floats, points: int) -> list[_Path]:
    """Follow links either way; chains first, from the points with a loose end.

    Where more than two links meet, the first unused is taken.
    """
    at: list[list[int]] = [[] for _ in range(points)]
    ends: list[list[int]] = links.tolist()
    for link, (first, second) in enumerate(ends):
        at[first].append(link)
        at[second].append(link)
    loose = [point for point in range(points) if len(at[point]) % 2]
    used = bytearray(len(ends))
    paths = []
    for start in (*loose, *range(points)):
        while (path := _follow(start, at, ends, lengths, used)) is not None:
            paths.append(path)
    return paths


def _follow(
    start: int, at: list[list[int]], ends: list[list[int]], lengths: Floats, used: bytearray
) -> _Path | None:
    """Walk unused links from a point until none is left or the point is met again."""
    path, here, net = [start], start, 0.0
    while True:
        while at[here] and used[at[here][-1]]:
            at[here].pop()
        if not at[here]:
            return _Path(path, net, closed=False) if len(path) > 1 else None
        link = at[here].pop()
        used[link] = 1
        first, second = ends[link]
        ahead = here == first
        here = second if ahead else first
        net += float(lengths[link]) * (1 if ahead else -1)
        if here == start:
            return _Path(path, net, closed=True)
        path.append(here)


def _join(points: Floats, chains: list[_Path]) -> tuple[list[_Path], float]:
    """Join the loose ends of chains in pairs, nearest first; return rings, length joined."""
    if not chains:
        return [], 0.0
    ends = [end for chain in chains for end in (chain.points[0], chain.points[-1])]
    partner, length = _match(points[ends])
    rings: list[_Path] = []
    done: set[int] = set()
    for number in range(len(chains)):
        ring: list[int] = []
        net = 0.0
        end = 2 * number  # even: the chain's first point, odd: its last
        while end // 2 not in done:
            done.add(end // 2)
            chain, ahead = chains[end // 2], end % 2 == 0
            ring += chain.points if ahead else chain.points[::-1]
            net += chain.net_mm if ahead else -chain.net_mm
            end = partner[end ^ 1]
        if ring:
            rings.append(_Path(ring, net, closed=True))
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
