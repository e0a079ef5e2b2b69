"""What keeps a shape from lying somewhere on a bed that holds nothing movable yet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from planner.nest import nofit, sequence
from planner.nest.shape import SLABS, grown_region, joined, outer_runs

if TYPE_CHECKING:
    from planner.nest.model import Bed
    from planner.nest.nofit import Bits
    from planner.nest.shape import Bands, Region
    from planner.nest.table import Table


def keep_out_regions(bed: Bed) -> tuple[Region, ...]:
    """Return the places on a bed where no part may lie, in mm from its front left."""
    boxes = [
        shapely.box(area.x_min_mm, area.y_min_mm, area.x_max_mm, area.y_max_mm)
        for area in bed.keep_out
    ]
    return (*boxes, *(shapely.Polygon(patch.points_mm) for patch in bed.keep_out_patches))


def is_clear(table: Table, bed: int) -> bool:
    """Say whether a bed is an empty rectangle."""
    kind = table.beds[bed]
    return not (kind.keep_out or kind.keep_out_patches or table.terms.standing.get(bed))


def blocked(table: Table, bed: int, shape: int, size: tuple[int, int]) -> Bits:
    """Return a bitmap (size[1] rows, size[0] columns) of positions that are no place for a shape.

    A keep-out is forbidden to the part itself; a pinned copy has its clearance around it, and
    the head's room if parts are printed one after the other.
    """
    turned = table.shapes[shape]
    bits = np.zeros((size[1], size[0]), dtype=bool)
    for bands, own in (
        (_keep_outs(table, bed), turned.bare or turned.grown),  # which covers it
        (_standing(table, bed), turned.grown),
    ):
        if bands is not None:
            bits |= nofit.forbidden(bands, own, step_mm=table.step_mm, low=(0, 0), size=size)
    return bits | sequence.blocked_by_standing(table, bed, shape, size)


def in_frame(table: Table, region: Region) -> Bands:
    """Return a region of a bed as bands in the frame of positions."""
    shift = table.clearance_mm / 2 - table.edge_mm
    return outer_runs(affinity.translate(region, shift, shift), table.step_mm / SLABS).bands()


def _keep_outs(table: Table, bed: int) -> Bands | None:
    if ("keep-out", bed) not in table.closed:
        regions = keep_out_regions(table.beds[bed])
        table.closed["keep-out", bed] = (
            joined([in_frame(table, region) for region in regions]) if regions else None
        )
    return table.closed["keep-out", bed]


def _standing(table: Table, bed: int) -> Bands | None:
    if ("standing", bed) not in table.closed:
        copies = table.terms.standing.get(bed, ())
        grown = [grown_region(copy.region, table.clearance_mm / 2) for copy in copies]
        table.closed["standing", bed] = (
            joined([in_frame(table, region) for region in grown]) if grown else None
        )
    return table.closed["standing", bed]
