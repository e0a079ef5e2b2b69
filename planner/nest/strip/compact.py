"""From the grid to exact places: the shortest strip near a layout, by linear programs.

Of each pair of convex pieces that may come near, the wall that parts them best must go on
parting them; under these linear rules all parts move at once so that the strip gets shorter
(compaction and separation of Li and Milenkovic 1995, "Compaction and separation algorithms
for non-convex polygons and their applications").  Then walls are chosen anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.nest.shape import Floats
    from planner.nest.strip.kit import Kit

TOLERANCE_MM = 1e-9
"""By how much the linear program may break a rule: far less than the exact check lets pass."""
ROUNDS = 12
REACH_STEPS = 3.0
"""How far a part may move per round along each axis."""
ROWS_PER_WORK = 0.05
"""Rows of a linear program solved in one elementary step of the search (measured)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """Parts in a strip: posed shape of each, places (n, 2) in mm, length for grown outlines."""

    shapes: tuple[int, ...]
    places_mm: Floats
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rules:
    """Row k: normal[k] . (place of second[k] - place of first[k]) >= far_mm[k]."""

    first: NDArray[np.int64]
    second: NDArray[np.int64]
    normal: Floats
    far_mm: Floats


def compacted(kit: Kit, shapes: Sequence[int], places_mm: Floats, until: int) -> Laid | None:
    """Return a layout without overlap near the given one, or None if none was found.

    Overlaps of up to a step or two may be there at first: the first program parts them.  Once
    the kit's work is past `until`, what has been found is enough.
    """
    best: Laid | None = None
    for _ in range(ROUNDS):
        found = _solved(kit, shapes, places_mm)
        if found is None:
            break
        places_mm, length_mm = found
        gain = best.length_mm - length_mm if best else kit.depth_mm
        if gain > 0:
            best = Laid(shapes=tuple(shapes), places_mm=places_mm, length_mm=length_mm)
        if gain < 1e-5 * length_mm or kit.work >= until:
            break
    return best


def _solved(kit: Kit, shapes: Sequence[int], places_mm: Floats) -> tuple[Floats, float] | None:
    """Solve one linear program; the unknowns are x, y of every part and the length."""
    from scipy.optimize import linprog  # noqa: PLC0415  (takes long to import)
    from scipy.sparse import coo_array  # noqa: PLC0415

    count, reach_mm = len(shapes), REACH_STEPS * kit.step_mm
    rules = _rules(kit, shapes, places_mm, reach_mm)
    rows = len(rules.far_mm)
    kit.work += round((rows + 2 * count) / ROWS_PER_WORK)
    low, high = _limits(kit, shapes, places_mm, reach_mm)
    if (low > high).any():
        return None
    row = np.concatenate([np.repeat(np.arange(rows), 4), np.repeat(rows + np.arange(count), 2)])
    column = np.concatenate(
        [
            np.column_stack(
                [2 * rules.first, 2 * rules.first + 1, 2 * rules.second, 2 * rules.second + 1]
            ).ravel(),
            np.column_stack([2 * np.arange(count), np.full(count, 2 * count)]).ravel(),
        ]
    )
    value = np.concatenate(
        [np.column_stack([rules.normal, -rules.normal]).ravel(), np.tile([1.0, -1.0], count)]
    )
    behind_mm = np.array([-kit.shapes[shape].high_mm[0] for shape in shapes])
    goal = np.zeros(2 * count + 1)
    goal[-1] = 1.0
    answer = linprog(  # type: ignore[call-overload]  # its types know no sparse arrays
        goal,
        A_ub=coo_array((value, (row, column)), shape=(rows + count, 2 * count + 1)).tocsr(),
        b_ub=np.concatenate([-rules.far_mm, behind_mm]),
        bounds=list(zip(low.tolist(), high.tolist(), strict=True)),
        method="highs-ds",
        options={"primal_feasibility_tolerance": TOLERANCE_MM},
    )
    if answer.status != 0:
        return None
    return answer.x[:-1].reshape(count, 2), float(answer.x[-1])


def _limits(
    kit: Kit, shapes: Sequence[int], places_mm: Floats, reach_mm: float
) -> tuple[Floats, Floats]:
    low_mm = np.array([-kit.shapes[shape].low_mm for shape in shapes])
    high_mm = np.array([kit.depth_mm - kit.shapes[shape].high_mm[1] for shape in shapes])
    low = np.maximum(places_mm - reach_mm, low_mm)
    high = np.maximum(places_mm + reach_mm, low_mm)
    high[:, 1] = np.maximum(np.minimum(high[:, 1], high_mm), low_mm[:, 1])
    low[:, 1] = np.minimum(low[:, 1], high[:, 1])
    return np.append(low.ravel(), 0.0), np.append(high.ravel(), np.inf)


def _rules(kit: Kit, shapes: Sequence[int], places_mm: Floats, reach_mm: float) -> Rules:
    """Choose a wall for every two pieces that two moves could bring together."""
    low = places_mm + np.array([kit.shapes[shape].low_mm for shape in shapes])
    high = places_mm + np.array([kit.shapes[shape].high_mm for shape in shapes])
    gap = np.maximum(low[:, None] - high[None, :], low[None, :] - high[:, None]).max(axis=2)
    pairs = np.argwhere(np.triu(gap < 3 * reach_mm, 1))
    normal, far, first, second = [], [], [], []
    for one, other in pairs.tolist():
        walls = kit.walls(shapes[one], shapes[other])
        apart = walls.normal @ (places_mm[other] - places_mm[one]) - walls.far_mm
        edge = apart.argmax(axis=1)
        piece = np.arange(len(edge))
        near = apart[piece, edge] < 3 * reach_mm
        normal.append(walls.normal[piece, edge][near])
        far.append(walls.far_mm[piece, edge][near])
        first.append(np.full(int(near.sum()), one))
        second.append(np.full(int(near.sum()), other))
    if not normal:
        none = np.zeros(0, dtype=np.int64)
        return Rules(first=none, second=none, normal=np.zeros((0, 2)), far_mm=np.zeros(0))
    return Rules(
        first=np.concatenate(first),
        second=np.concatenate(second),
        normal=np.concatenate(normal),
        far_mm=np.concatenate(far),
    )
