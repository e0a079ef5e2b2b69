"""Ready parts as the packer sees them: a silhouette, brim included, with time and mass."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from planner.nest.model import Item
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from shapely.geometry import Polygon

    from planner.handover.model import ReadyPart


def item_of(ready: ReadyPart, *, quantity: int, seconds: float) -> Item:
    """Return the part as an `Item`; `seconds` is the time of one copy on the bed in mind."""
    return Item(
        id=ready.part.name,
        footprint=widened(ready.posed.footprint, ready.part.settings.brim_mm),
        quantity=quantity,
        seconds=seconds,
        grams=ready.grams,
        height_mm=ready.posed.size_mm[2],
        priority=ready.part.stage,
    )


def widened(footprint: Footprint, margin_mm: float) -> Footprint:
    """Grow a footprint by `margin_mm` all round, in the same frame (a brim lies outside)."""
    if margin_mm <= 0:
        return footprint
    grown = shapely.unary_union(
        [shapely.Polygon(outer, holes) for outer, *holes in footprint.polygons_mm]
    ).buffer(margin_mm, quad_segs=4)
    pieces = sorted(getattr(grown, "geoms", [grown]), key=lambda piece: tuple(piece.bounds))
    return Footprint(polygons_mm=tuple(_rings(shapely.normalize(piece)) for piece in pieces))


def _rings(polygon: Polygon) -> tuple[np.ndarray, ...]:
    turned = orient(polygon, 1.0)
    return tuple(
        np.asarray(ring.coords, dtype=float)[:-1] for ring in (turned.exterior, *turned.interiors)
    )
