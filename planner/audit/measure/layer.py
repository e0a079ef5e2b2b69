"""One sampled layer taken apart: walls, solid and sparse fill, and room inside the walls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.audit.measure.strokes import Stroke, spread_points, strokes_of
from planner.audit.measure.walls import Wall, walls_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from planner.audit.measure.bodies import Bodies
    from planner.audit.measure.harvest import Lines
    from planner.audit.measure.levels import Levels
    from planner.audit.measure.skins import Columns

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

THIN = 0.35
"""Share of a full line's section under which a line irons rather than fills: our choice."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """Strokes of a layer, those that are no support nor ironing; `part` is each one's part.

    `trees` holds, per part, points on its loops and on its fill to search among.
    """

    level: int
    lines: Lines
    strokes: tuple[Stroke, ...]
    part: Ints
    support: tuple[Stroke, ...]
    trees: Mapping[int, tuple[Any, Any] | None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartLayer:
    """One part in one layer.

    `votes` pairs a number of walls with a length, for loops whose far side faces fill;
    `hollow` likewise for rooms that hold other lines or nothing, `bounds` where walls meet.
    Areas in mm2; `sparse_mm`, `solid_mm` are strand; `outer`, `inner`, `solid`, `sparse` are
    rows of lines in the layer.
    """

    level: int
    part: int
    votes: tuple[tuple[int, float], ...]
    hollow: tuple[tuple[int, float], ...]
    bounds: tuple[tuple[int, float], ...]
    room_mm2: float
    sparse_mm: float
    solid_mm: float
    outer_area_mm2: float
    outer_edge_mm: float
    rows: Mapping[str, Ints]


def cut(
    level: int, lines: Lines, levels: Levels, bodies: Bodies, *, spacing_mm: float, full: float
) -> Cut:
    """Take one layer apart into strokes; `full` is the strand per mm of a line of this height."""
    own = lines.some(levels.lines_of(level))
    strokes = strokes_of(own, spacing_mm)
    strokes = [s for s in strokes if s.length_mm > 0.3 and s.strand_mm > THIN * full * s.length_mm]
    label = bodies.labels.get(level)
    middle = [s.points_mm[: max(2, len(s.points_mm))].astype(np.float64) for s in strokes]
    support = np.zeros(len(strokes), bool)
    part = np.full(len(strokes), -1)
    for k, points in enumerate(middle):
        at = bodies.grid.cells(points[:, 0], points[:, 1])
        if label is not None and bodies.support:
            support[k] = float(np.isin(label[at], list(bodies.support)).mean()) > 0.5
        over = bodies.part[at]
        over = over[over >= 0]
        if len(over):
            part[k] = int(np.argmax(np.bincount(over)))
    kept = np.flatnonzero(~support & (part >= 0))
    return Cut(
        level=level,
        lines=own,
        strokes=tuple(strokes[k] for k in kept),
        part=part[kept],
        support=tuple(strokes[k] for k in np.flatnonzero(support)),
        trees={
            int(number): _trees_of([strokes[k] for k in kept[part[kept] == number]], spacing_mm)
            for number in np.unique(part[kept])
        },
    )


def parts_in(
    one: Cut, near: Sequence[Cut], columns: Columns, bodies: Bodies, *, spacing_mm: float
) -> list[PartLayer]:
    """Measure every part in a layer; `near` are sampled layers close by."""
    found = []
    for part in sorted(set(one.part.tolist())):
        strokes = [one.strokes[k] for k in np.flatnonzero(one.part == part)]
        others = [trees for other in near if (trees := other.trees.get(part)) is not None]
        walls = walls_of(strokes, spacing_mm, _enclosed(columns, bodies, one.level), others)
        found.append(_part_layer(one.level, part, strokes, walls, spacing_mm))
    return found


def _trees_of(strokes: Sequence[Stroke], spacing: float) -> tuple[Any, Any] | None:
    """Return trees of points on loops and on fill; None where one of them is missing."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 (slow to import, and often not needed)

    sampled: tuple[list[Floats], list[Floats]] = ([], [])
    for stroke in strokes:
        sampled[not stroke.closed].append(spread_points(stroke.points_mm, 0.7 * spacing)[0])
    if not sampled[0] or not sampled[1]:
        return None
    return cKDTree(np.concatenate(sampled[0])), cKDTree(np.concatenate(sampled[1]))


class _Enclosed:
    """Tells of points whether plastic lies under and over them."""

    def __init__(self, columns: Columns, bodies: Bodies, level: int) -> None:
        self.columns, self.grid, self.level = columns, bodies.columns, level

    def __call__(self, points: Floats) -> Bools:
        at = self.grid.cells(points[:, 0], points[:, 1])
        low, high = self.columns.first[at], self.columns.last[at]
        return np.asarray((low >= 0) & (low < self.level) & (high > self.level))


def _enclosed(columns: Columns, bodies: Bodies, level: int) -> _Enclosed:
    return _Enclosed(columns, bodies, level)


def _part_layer(
    level: int, part: int, strokes: Sequence[Stroke], walls: Sequence[Wall], spacing: float
) -> PartLayer:
    votes: dict[str, list[tuple[int, float]]] = {"fill": [], "hollow": [], "": []}
    room, outer_area, outer_edge = 0.0, 0.0, 0.0
    for wall in walls:
        votes[wall.faces].append((wall.depth, wall.length_mm))
        area = abs(strokes[wall.stroke].area_mm2)
        edge = _edge(strokes[wall.stroke])
        if wall.faces:
            sign = 1.0 if wall.inside else -1.0
            room += sign * (area - sign * edge * spacing / 2 + sign * 0.9 * spacing**2)
        if wall.depth == 1:
            outer_area += area if wall.inside else -area
            outer_edge += edge
    in_walls = {wall.stroke for wall in walls}
    fill = [k for k in range(len(strokes)) if k not in in_walls]
    is_solid = _solid_share([strokes[k] for k in fill], spacing)
    strand = np.array([strokes[k].strand_mm for k in fill])
    kinds: dict[str, list[Stroke]] = {"outer": [], "inner": [], "solid": [], "sparse": []}
    for wall in walls:
        kinds["outer" if wall.depth == 1 else "inner"].append(strokes[wall.stroke])
    for k, share in zip(fill, is_solid, strict=True):
        kinds["solid" if share > 0.5 else "sparse"].append(strokes[k])
    return PartLayer(
        level=level,
        part=part,
        votes=tuple(votes["fill"]),
        hollow=tuple(votes["hollow"]) if fill else (),
        bounds=(*votes[""], *(() if fill else votes["hollow"])),
        room_mm2=room,
        sparse_mm=float((strand * (1 - is_solid)).sum()) if fill else 0.0,
        solid_mm=float((strand * is_solid).sum()) if fill else 0.0,
        outer_area_mm2=outer_area,
        outer_edge_mm=outer_edge,
        rows={name: _rows(own) for name, own in kinds.items()},
    )


def _edge(stroke: Stroke) -> float:
    steps = np.diff(np.vstack([stroke.points_mm, stroke.points_mm[:1]]), axis=0)
    return float(np.hypot(*steps.T).sum())


def _rows(strokes: Sequence[Stroke]) -> Ints:
    none = [np.empty(0, dtype=np.int64)]
    return np.concatenate(none + [np.arange(s.first, s.last) for s in strokes])


def _solid_share(fill: Sequence[Stroke], spacing: float) -> Floats:
    """Share of each fill stroke that has a parallel line one spacing aside."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 (slow to import, and often not needed)

    if not fill:
        return np.empty(0)
    sampled = [spread_points(stroke.points_mm, 0.6 * spacing) for stroke in fill]
    points = np.concatenate([points for points, _ in sampled])
    unit = np.concatenate([unit for _, unit in sampled])
    owner = np.repeat(np.arange(len(fill)), [len(p) for p, _ in sampled])
    tree = cKDTree(points)
    normal = np.column_stack([-unit[:, 1], unit[:, 0]])
    sides = np.zeros(len(points), dtype=int)
    for sign in (1.0, -1.0):
        hit = tree.query(points + sign * spacing * normal, distance_upper_bound=0.45 * spacing)[1]
        there = hit < len(points)
        aside = unit[np.where(there, hit, 0)]
        sides += there & (np.abs((aside * unit).sum(axis=1)) > 0.94)
    count = np.bincount(owner, minlength=len(fill))
    return np.bincount(owner, sides >= 1, minlength=len(fill)) / np.maximum(count, 1)
