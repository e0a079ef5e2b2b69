"""The shapes of one strip packing, at every turn, with walls and depths between any two."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, inf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from planner.nest.convex import convex_pieces, walls_between
from planner.nest.depth import depth_of, inside_bits
from planner.nest.grid import sizes_of, suited_step
from planner.nest.memory import Store
from planner.nest.outline import outline_of
from planner.nest.shape import cos_sin, grown_region
from planner.nest.strip.plain import plain_cover

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.convex import Walls
    from planner.nest.depth import Depth, Single
    from planner.nest.model import Item
    from planner.nest.shape import Floats

STEPS_LEAST = 80
"""Grid steps along the side of a square of all parts' area; found by trial on eight strips."""
STEPS_OF_PART = 12
"""Grid steps along the side of a square of the mean part's area; found by trial likewise."""
SLACK = 0.4
"""Overlaps of less than this share of a step are let pass on the grid: `compact` undoes them."""
KEPT_BYTES = 300_000_000
PAIR_WORK = 150
"""Walls and depths of a pair of shapes, in steps of the search (measured)."""
_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posed:
    """A grown shape at one turn about its item's own corner: pieces and extents in mm."""

    item: int
    rotation_deg: float
    pieces: tuple[Floats, ...]
    low_mm: Floats
    high_mm: Floats


class Kit:
    """Posed shapes by number; `of[item]` are those of an item, `parts` the item of each copy.

    Outlines are grown by half the clearance, the strip is narrowed to suit: `depth_mm` is the
    room for grown outlines.  `corner_mm[item]` is the low corner of the item's footprint in its
    own frame.  `work` counts elementary steps.
    """

    def __init__(
        self, items: Sequence[Item], *, depth_mm: float, clearance_mm: float, edge_mm: float
    ) -> None:
        self.depth_mm = depth_mm + clearance_mm - 2 * edge_mm
        self.work = 0
        nominal_mm = depth_mm / 320
        found = [outline_of(item.footprint, nominal_mm) for item in items]
        self.corner_mm = tuple(corner for _, corner in found)
        self.regions = tuple(outline.shape for outline, _ in found)
        grown = [grown_region(outline.cover, clearance_mm / 2) for outline, _ in found]
        self.area_mm2 = tuple(float(shape.area) for shape in grown)
        self.hull_mm2 = tuple(float(shape.convex_hull.area) for shape in grown)
        self.parts = tuple(n for n, item in enumerate(items) for _ in range(item.quantity))
        self.step_mm = suited_step(
            self._nominal_step(),
            sizes_of(items, self.regions, clearance_mm),
            np.array([self.depth_mm]),
        )
        self.shapes: list[Posed] = []
        self.of: list[tuple[int, ...]] = []
        self._number: dict[tuple[int, float], int] = {}
        for number, (item, shape) in enumerate(zip(items, grown, strict=True)):
            pieces = convex_pieces(plain_cover(shape, self.step_mm / 4))
            self.of.append(self._poses(number, item, pieces))
        self._depths: dict[tuple[int, int], Depth] = {}
        self._bytes = 0
        self._walls: Store[tuple[int, int], Walls] = Store(KEPT_BYTES)

    def _nominal_step(self) -> float:
        total = sum(self.area_mm2[item] for item in self.parts)
        steps = max(STEPS_LEAST, STEPS_OF_PART * sqrt(len(self.parts)))
        return max(sqrt(total) / steps, 1e-9) if self.parts else 1.0

    def _poses(self, number: int, item: Item, pieces: Sequence[Floats]) -> tuple[int, ...]:
        own: list[int] = []
        for angle in item.rotations_deg:
            posed = _posed(number, angle, pieces)
            if posed.high_mm[1] - posed.low_mm[1] > self.depth_mm + _SAME_MM:
                continue
            if not any(_same(self.shapes[other], posed) for other in own):
                self._number[number, angle % 360] = len(self.shapes)
                own.append(len(self.shapes))
                self.shapes.append(posed)
        return tuple(own)

    def walls(self, fixed: int, moving: int) -> Walls:
        """Return the walls between two posed shapes."""
        found = self._walls.get((fixed, moving))
        if found is None:
            found = walls_between(self.shapes[fixed].pieces, self.shapes[moving].pieces)
            self._walls.put((fixed, moving), found, 3 * found.far_mm.nbytes + 400)
        return found

    def depth(self, fixed: int, moving: int) -> Depth:
        """Return how deep two posed shapes are in each other, slight overlaps left out."""
        found = self._depths.get((fixed, moving))
        if found is None:
            if self._bytes > KEPT_BYTES:
                self._depths.clear()
                self._bytes = 0
            found = self._depths[fixed, moving] = self._depth(fixed, moving)
            self._bytes += found.steps.nbytes
        return found

    def _depth(self, fixed: int, moving: int) -> Depth:
        before = self._turned_back(fixed), self._turned_back(moving)
        if before[0] is not None and before[1] is not None:
            return self.depth(before[0], before[1]).quarter_turned()
        if (moving, fixed) in self._depths:
            return self._depths[moving, fixed].swapped()
        one, other = self.shapes[fixed], self.shapes[moving]
        step_mm = self.step_mm
        low = np.floor((one.low_mm - other.high_mm) / step_mm).astype(int)
        high = np.ceil((one.high_mm - other.low_mm) / step_mm).astype(int)
        walls = self.walls(fixed, moving)
        self.work += PAIR_WORK + 30 * len(walls.far_mm)
        corner = int(low[0]), int(low[1])
        bits = inside_bits(
            walls.normal,
            walls.far_mm - SLACK * step_mm,
            step_mm=step_mm,
            low=corner,
            size=(int(high[0] - low[0]) + 1, int(high[1] - low[1]) + 1),
        )
        return depth_of(bits, corner)

    def _turned_back(self, shape: int) -> int | None:
        """Return the same item's shape a quarter turn before, unless this is the first."""
        posed = self.shapes[shape]
        angle = posed.rotation_deg % 360
        return self._number.get((posed.item, angle - 90)) if angle >= 90 else None


def _posed(item: int, angle: float, pieces: Sequence[Floats]) -> Posed:
    cosine, sine = cos_sin(angle)
    turned = tuple(piece @ np.array([[cosine, sine], [-sine, cosine]]) for piece in pieces)
    corners = np.concatenate(turned)
    return Posed(
        item=item,
        rotation_deg=angle,
        pieces=turned,
        low_mm=corners.min(axis=0),
        high_mm=corners.max(axis=0),
    )


def _same(one: Posed, other: Posed) -> bool:
    """Say whether two turns of one item look alike but for their place."""
    corners, others = (np.concatenate(posed.pieces) - posed.low_mm for posed in (one, other))
    gaps = np.abs(corners[:, None, :] - others[None, :, :]).max(axis=2)
    return bool(gaps.min(axis=0).max() < _SAME_MM and gaps.min(axis=1).max() < _SAME_MM)


class Strip:
    """The strip at one length (of the room for grown outlines), as a space of parts."""

    def __init__(self, kit: Kit, length_mm: float) -> None:
        self.kit, self.length_mm = kit, length_mm
        self.depth = kit.depth
        self._rooms: dict[int, tuple[Single, int, int] | None] = {}

    def room(self, shape: int) -> tuple[Single, int, int] | None:
        """Return the cost of each place itself, which is 0, and the low corner's place."""
        if shape not in self._rooms:
            self._rooms[shape] = self._room(shape)
        return self._rooms[shape]

    def _room(self, shape: int) -> tuple[Single, int, int] | None:
        posed, step_mm = self.kit.shapes[shape], self.kit.step_mm
        slack = SLACK if self.length_mm < inf else 0.0
        ends = np.array([self.length_mm, self.kit.depth_mm]) - posed.high_mm
        low_x, low_y = (ceil(-low / step_mm - slack - 1e-7) for low in posed.low_mm)
        high_x, high_y = (floor(end / step_mm + slack + 1e-7) for end in ends)
        if high_x < low_x or high_y < low_y:
            return None
        return np.zeros((high_y - low_y + 1, high_x - low_x + 1), np.float32), low_x, low_y
