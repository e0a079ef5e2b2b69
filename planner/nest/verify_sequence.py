"""The second opinion on printing one part after the other: shapely alone, any order.

The rule is the one stated in `planner.nest.sequence`; here the order is taken as given and every
pair of an earlier and a later part is looked at.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.nest.model import Item, Placement
    from planner.settings.model import Head


def wrong_order(
    placements: Sequence[Placement],
    laid: Sequence[shapely.Geometry],
    items: Sequence[Item],
    head: Head,
    *,
    tolerance_mm: float,
) -> Iterator[str]:
    """Say which finished parts the head or its beam would touch, in the order given."""
    orders = [place.order for place in placements]
    if sorted(order or 0 for order in orders) != list(range(1, len(placements) + 1)):
        yield f"parts are printed one after the other, but their order is {orders}"
        return
    turn = sorted(range(len(placements)), key=lambda place: placements[place].order or 0)
    for at, later in enumerate(turn):
        tall = [earlier for earlier in turn[:at] if items[earlier].height_mm > head.tip_mm]
        if not tall:
            continue
        swept = swept_by_head(laid[later], head)
        name = f"{placements[later].id} (number {at + 1})"
        for earlier in tall:
            done = f"{placements[earlier].id} (number {placements[earlier].order})"
            if _meet(swept, laid[earlier], tolerance_mm):
                yield f"the head would touch {done} while it prints {name}"
            elif items[earlier].height_mm > head.gantry_mm and _in_strip(
                laid[earlier], laid[later], head, tolerance_mm
            ):
                yield f"the beam of the head would touch {done} while it prints {name}"


def swept_by_head(shape: shapely.Geometry, head: Head) -> shapely.Geometry:
    """Return all that the head may be over while a shape is printed: a Minkowski sum.

    A sum with a rectangle is one with its two sides, one after the other.
    """
    along = _swept(shape, (-head.left_mm, 0.0), (head.right_mm, 0.0))
    return _swept(along, (0.0, -head.front_mm), (0.0, head.back_mm))


def _swept(
    shape: shapely.Geometry, start: tuple[float, float], end: tuple[float, float]
) -> shapely.Geometry:
    """Return what a shape covers on its straight way: both ends, and what each edge sweeps."""
    ends = [affinity.translate(shape, *start), affinity.translate(shape, *end)]
    quads = []
    for polygon in shapely.get_parts(shape):
        for ring in (polygon.exterior, *polygon.interiors):
            points = shapely.get_coordinates(ring)
            low, high = points + np.array(start), points + np.array(end)
            quads.append(np.stack([low[:-1], low[1:], high[1:], high[:-1]], axis=1))
    swept = shapely.polygons(np.concatenate(quads))
    return shapely.union_all([*ends, *swept[shapely.area(swept) > 0]])


def _meet(swept: shapely.Geometry, done: shapely.Geometry, tolerance_mm: float) -> bool:
    film = tolerance_mm * min(swept.length, done.length)
    return bool(swept.intersection(done).area > film)


def _in_strip(
    done: shapely.Geometry, printed: shapely.Geometry, head: Head, tolerance_mm: float
) -> bool:
    low, high = printed.bounds[1] - head.front_mm, printed.bounds[3] + head.back_mm
    return bool(min(high, done.bounds[3]) - max(low, done.bounds[1]) > tolerance_mm)
