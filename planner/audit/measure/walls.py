"""Walls: loops that lie side by side, counted from the surface inward.

A surface is a loop with nothing beside it and nothing under or over that nothing. From there
each loop one spacing further in is one wall more, until fill begins. Where walls of two
surfaces meet, there may be room for no more: the count is a lower bound.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.audit.measure.strokes import spread_points

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from planner.audit.measure.strokes import Stroke

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

STEP = 0.5
"""Points on strokes, in spacings."""
REACH = 0.72
"""How far from the place one spacing aside a neighbour may lie, in spacings: fuzzy walls."""
BESIDE = 0.25
"""Share of a loop that must lie beside another for them to be neighbours."""
TOUCH = 0.015
"""Share of a side that fill must touch for it to face fill: sparse lines end on walls."""
MOST_LOOKS = 400
"""Places on a loop at which its sides are looked at."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Side:
    """What lies on one side of a loop: shares of its length; `loops` maps others to theirs."""

    open: float
    fill: float
    self: float
    enclosed: float
    loops: dict[int, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wall:
    """One loop that is a wall: its depth from the surface, and what its far side faces.

    `faces` is "fill", "hollow" (room between floor and roof), or "" where walls meet.
    `inside` tells whether the far side is the inside of the loop.
    """

    stroke: int
    depth: int
    faces: str
    inside: bool
    length_mm: float


def walls_of(
    strokes: Sequence[Stroke],
    spacing_mm: float,
    enclosed: Callable[[Floats], Bools],
    others: Sequence[tuple[Any, Any]] = (),
) -> list[Wall]:
    """Find the walls of one layer.

    `enclosed` tells of points (n, 2) whether plastic lies under and over them. `others` are
    trees (of loops, of fill) of layers near by, where fill may show that is left out in this
    one.
    """
    loops = [k for k, stroke in enumerate(strokes) if stroke.closed]
    if not loops:
        return []
    sides = _sides(strokes, loops, spacing_mm, enclosed, others)
    return _inward(strokes, loops, sides)


def _sides(
    strokes: Sequence[Stroke],
    loops: Sequence[int],
    spacing: float,
    enclosed: Callable[[Floats], Bools],
    others: Sequence[tuple[Any, Any]],
) -> dict[tuple[int, bool], Side]:
    from scipy.spatial import cKDTree  # noqa: PLC0415 (slow to import, and often not needed)

    step = STEP * spacing
    sampled = [spread_points(stroke.points_mm, step)[0] for stroke in strokes]
    owner = np.repeat(np.arange(len(strokes)), [len(points) for points in sampled])
    tree = cKDTree(np.concatenate(sampled))
    is_loop = np.zeros(len(strokes) + 1, bool)
    is_loop[list(loops)] = True
    sides = {}
    for loop in loops:
        points, left = _normals(sampled[loop])
        if len(points) > MOST_LOOKS:
            some = np.linspace(0, len(points) - 1, MOST_LOOKS).astype(np.int64)
            points, left = points[some], left[some]
        inner = 1.0 if strokes[loop].area_mm2 > 0 else -1.0
        for inside in (True, False):
            toward = left * (inner if inside else -inner)
            hit = tree.query(points + toward * spacing, distance_upper_bound=REACH * spacing)[1]
            found = np.append(owner, len(strokes))[hit]
            touched = np.zeros(len(points), bool)
            for same, fill in others:
                there = np.isfinite(same.query(points, distance_upper_bound=0.5 * spacing)[0])
                at = fill.query(points + toward * spacing, distance_upper_bound=REACH * spacing)[0]
                touched |= there & np.isfinite(at)
            sides[loop, inside] = _side(
                loop, found, is_loop, touched, enclosed(points + 2.6 * spacing * toward)
            )
    return sides


def _normals(points: Floats) -> tuple[Floats, Floats]:
    """Points on a loop and unit vectors to their left, smoothed over some steps."""
    ahead, behind = np.roll(points, -3, axis=0), np.roll(points, 3, axis=0)
    along = ahead - behind
    length = np.hypot(*along.T)
    kept = length > 1e-6
    along = along[kept] / length[kept, None]
    return points[kept], np.column_stack([-along[:, 1], along[:, 0]])


def _side(loop: int, found: Ints, is_loop: Bools, touched: Bools, enclosed: Bools) -> Side:
    count = max(len(found), 1)
    none = found == len(is_loop) - 1
    own = found == loop
    fill = ~none & ~own & ~is_loop[found]
    beside = found[~none & ~own & ~fill]
    numbers, times = np.unique(beside, return_counts=True)
    empty = none | own
    return Side(
        open=float(none.sum()) / count,
        fill=float((fill | (empty & touched)).sum()) / count,
        self=float(own.sum()) / count,
        enclosed=float((enclosed & none).sum()) / max(float(none.sum()), 1.0),
        loops={int(k): n / count for k, n in zip(numbers, times, strict=True)},
    )


def _inward(
    strokes: Sequence[Stroke], loops: Sequence[int], sides: dict[tuple[int, bool], Side]
) -> list[Wall]:
    """Breadth first from all surfaces at once, then from closed cavities if fill lies behind."""
    beside = _neighbours(loops, sides)
    depth: dict[int, int] = {}
    far: dict[int, bool] = {}
    _spread(_surfaces(loops, sides, depth, far, _is_surface), beside, depth, far)
    walls = _told(strokes, sides, beside, depth, far)
    count = max((wall.depth for wall in walls if wall.faces), default=0)
    away: dict[int, bool] = {}
    for loop in _surfaces(loops, sides, dict(depth), away, _is_cavity):
        inner, beyond = {**depth, loop: 1}, {**far, loop: away[loop]}
        _spread([loop], beside, inner, beyond)
        more = [w for w in _told(strokes, sides, beside, inner, beyond) if w.stroke not in depth]
        # rings of sparse fill have as much air behind them; walls of a cavity are as many
        if any(w.faces == "fill" and w.depth == count for w in more):
            walls += more
            depth |= {w.stroke: w.depth for w in more}
            far |= {w.stroke: w.inside for w in more}
    return walls


def _surfaces(
    loops: Sequence[int],
    sides: dict[tuple[int, bool], Side],
    depth: dict[int, int],
    far: dict[int, bool],
    is_one: Callable[[Side], bool],
) -> list[int]:
    """Mark loops of depth 1 that were not reached yet, and return them."""
    found = []
    for loop in loops:
        for inside in (False, True):
            if loop not in depth and is_one(sides[loop, inside]):
                depth[loop] = 1
                far[loop] = not inside
                found.append(loop)
    return found


def _spread(
    front: list[int],
    beside: dict[tuple[int, bool], list[int]],
    depth: dict[int, int],
    far: dict[int, bool],
) -> None:
    """Go on from loops to those beside their far side, one deeper each time."""
    while front:
        ahead = []
        for loop in front:
            for other in beside[loop, far[loop]]:
                if other not in depth:
                    depth[other] = depth[loop] + 1
                    far[other] = loop not in beside[other, True]
                    ahead.append(other)
        front = ahead


def _told(
    strokes: Sequence[Stroke],
    sides: dict[tuple[int, bool], Side],
    beside: dict[tuple[int, bool], list[int]],
    depth: dict[int, int],
    far: dict[int, bool],
) -> list[Wall]:
    return [
        Wall(
            stroke=loop,
            depth=depth[loop],
            faces=_faces(sides[loop, far[loop]], beside[loop, far[loop]], depth, depth[loop]),
            inside=far[loop],
            length_mm=strokes[loop].length_mm,
        )
        for loop in sorted(depth)
    ]


def _neighbours(
    loops: Sequence[int], sides: dict[tuple[int, bool], Side]
) -> dict[tuple[int, bool], list[int]]:
    """Loops beside each side of each loop: much of the one or much of the other lies there."""
    found: dict[tuple[int, bool], set[int]] = defaultdict(set)
    for (loop, inside), side in sides.items():
        for other, share in side.loops.items():
            back = max((sides[other, s].loops.get(loop, 0.0), s) for s in (True, False))
            if share > BESIDE or back[0] > BESIDE:
                found[loop, inside].add(other)
    return {
        (loop, inside): sorted(found[loop, inside]) for loop in loops for inside in (True, False)
    }


def _is_surface(side: Side) -> bool:
    """Tell whether nothing lies on a side: no loop, no fill, no floor and roof."""
    if side.open > 0.95 and side.enclosed < 0.3:
        return side.fill < 4 * TOUCH  # sharp corners look past themselves
    return side.open >= 0.5 and side.fill <= TOUCH and side.enclosed < 0.6


def _is_cavity(side: Side) -> bool:
    """Tell whether a side is open between a floor and a roof."""
    return side.open >= 0.5 and side.fill <= TOUCH and side.enclosed >= 0.6


def _faces(side: Side, beside: Sequence[int], depth: dict[int, int], own: int) -> str:
    deeper = [other for other in beside if depth.get(other, 0) > own]
    if side.fill > TOUCH:
        walls = sum(side.loops.get(other, 0.0) for other in beside)
        return "fill" if walls < 0.6 else ""
    if not deeper and side.open > 0.5:
        return "hollow" if side.enclosed >= 0.6 else ""
    return ""
