"""Ready parts as the packer sees them: a silhouette with its brim, turns, time and mass."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from planner.nest.memory import Store
from planner.nest.model import Item
from planner.nest.outline import outline_of
from planner.nest.shape import grown_region
from planner.nest.turning import turns_tried
from planner.settings.turns import QUARTER_TURNS
from planner.solid.cut import cut
from planner.solid.footprint import as_footprint
from planner.solid.model import Footprint

if TYPE_CHECKING:
    from shapely.geometry import Polygon

    from planner.handover.model import ReadyPart
    from planner.settings.model import Settings
    from planner.solid.model import Posed


_footprints: Store[tuple[str, tuple[float, ...], float, float, bool], Footprint] = Store(16_000_000)


def item_of(ready: ReadyPart, *, quantity: int, seconds: float) -> Item:
    """Return the part as an `Item`; `seconds` is the time of one copy on the bed in mind."""
    footprint = on_plate(ready.posed, ready.part.settings)
    return Item(
        id=ready.part.name,
        footprint=footprint,
        quantity=quantity,
        rotations_deg=turns_tried(footprint, ready.part.turns),
        free_turns=ready.part.turns.free,
        seconds=seconds,
        grams=ready.grams,
        height_mm=ready.posed.size_mm[2],
        priority=ready.part.stage,
    )


def sizes_of(ready: ReadyPart) -> tuple[tuple[float, float, float], ...] | None:
    """Return the boxes (x, y, z) of a part, brim and all, at each turn that it may have.

    None where it may have quarter turns, as parts may of which nothing is said.
    """
    if ready.part.turns == QUARTER_TURNS:
        return None
    item = item_of(ready, quantity=1, seconds=0.0)
    outline, _ = outline_of(item.footprint, 1.0)
    flat = outline.extents_mm(item.rotations_deg).tolist()
    return tuple((wide, deep, ready.posed.size_mm[2]) for wide, deep in flat)


def on_plate(posed: Posed, settings: Settings) -> Footprint:
    """Return all that a part takes up seen from above: silhouette, support and brim.

    Support stands straight under what hangs over, so it is within the silhouette.  The brim is
    laid around what stands on the plate, the part's holes left free: around the first layer, or
    around the whole silhouette where support may stand anywhere in it.
    """
    if settings.brim_mm <= 0:
        return posed.footprint
    key = (
        posed.solid.digest,
        posed.up,
        settings.brim_mm,
        settings.first_layer_mm,
        settings.support,
    )
    found = _footprints.get(key)
    if found is None:
        found = _with_brim(posed, settings)
        points = sum(len(ring) for rings in found.polygons_mm for ring in rings)
        _footprints.put(key, found, 16 * points + 500)
    return found


def _with_brim(posed: Posed, settings: Settings) -> Footprint:
    foot = posed.footprint
    if not settings.support:
        first_mm = min(settings.first_layer_mm, posed.size_mm[2]) / 2
        foot = as_footprint(cut(posed, np.array([first_mm]))[0])
    outside = shapely.union_all([shapely.Polygon(outer) for outer, *_ in foot.polygons_mm])
    brim = grown_region(outside, settings.brim_mm).difference(outside)
    return _footprint(shapely.union_all([_shape(posed.footprint), brim]))


def _shape(footprint: Footprint) -> shapely.Geometry:
    return shapely.union_all(
        [shapely.Polygon(outer, holes) for outer, *holes in footprint.polygons_mm]
    )


def _footprint(shape: shapely.Geometry) -> Footprint:
    pieces = [piece for piece in shapely.get_parts(shape) if piece.area > 0]
    pieces.sort(key=lambda piece: tuple(piece.bounds))
    return Footprint(polygons_mm=tuple(_rings(shapely.normalize(piece)) for piece in pieces))


def _rings(polygon: Polygon) -> tuple[np.ndarray, ...]:
    turned = orient(polygon, 1.0)
    return tuple(
        np.asarray(ring.coords, dtype=float)[:-1] for ring in (turned.exterior, *turned.interiors)
    )
