"""Where no screw may go: too near an edge or a cut-out, or where cables and pipes may run.

Cables in a wall may run straight up, down and sideways from a socket or switch, and within
150 mm of the wall's top and of corners between walls: BS 7671 regulation 522.6.202 (formerly
522.6.101), as told by bepractical.co.uk and commercial-electrical-testing.co.uk. Those are
British rules for new work: elsewhere, and in old houses, cables may run anywhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from planner.job.layout.model import CutOut, Side, WallShape
    from planner.wall.mounting.places import Places

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]

CABLES = (
    "BS 7671 reg. 522.6.202, as told by bepractical.co.uk and commercial-electrical-testing.co.uk"
)
ROOM_EDGE_MM = 150.0
"""Width of the strip along a wall's top and in corners; source in the module's docstring."""

LONG = 2.0
"""A pipe's cut-out this many times longer than wide shows which way it runs (invented)."""

HAIR_MM = 1e-6

RUN_THERE = "may run there"


def reasons(where: Places, wall: WallShape, *, edge_mm: float, band_mm: float) -> list[str]:
    """Say for each junction why no screw may go there; "" where one may.

    A place exactly at the least distance is fine; one on the rim of a strip is not.
    """
    found = np.zeros(len(where), dtype=np.int64)
    told = [""]
    for inside, why in _zones(where, wall, edge_mm, band_mm):
        found[inside & (found == 0)] = len(told)
        told.append(why)
    return [told[number] for number in found]


def by_room_edges(where: Places, wall: WallShape, sides: tuple[Side, ...]) -> Bools:
    """Mark what lies in the strips along a ceiling or a room's corner on these sides."""
    marked = np.zeros(len(where), dtype=bool)
    for side in sides:
        marked |= _from_side(where, wall, side) <= ROOM_EDGE_MM + HAIR_MM
    return marked


def may_run(why: str) -> bool:
    """Tell reasons of cables and pipes from those of edges and cut-outs."""
    return why.endswith(RUN_THERE)


def _zones(
    where: Places, wall: WallShape, edge_mm: float, band_mm: float
) -> Iterator[tuple[Bools, str]]:
    rim = np.minimum.reduce(
        [_from_side(where, wall, side) for side in ("left", "right", "top", "bottom")]
    )
    yield rim < edge_mm - HAIR_MM, f"less than {edge_mm:g} mm from the wall's edge"
    for cut in wall.cut_outs:
        gap = _from_cut_out(where, cut)
        yield gap <= HAIR_MM, f"in {_named(cut)}"
        yield gap < edge_mm - HAIR_MM, f"less than {edge_mm:g} mm from {_named(cut)}"
    for cut in wall.cut_outs:
        yield from _strips(where, cut, band_mm)
    for side in wall.meets:
        if side != "bottom":  # no cable zone runs along the floor
            which = "top" if side == "top" else f"{side} corner"
            near = by_room_edges(where, wall, (side,))
            yield near, f"within {ROOM_EDGE_MM:g} mm of the wall's {which}: cables {RUN_THERE}"


def _strips(where: Places, cut: CutOut, band_mm: float) -> Iterator[tuple[Bools, str]]:
    """Straight up, down and sideways across the whole wall, as wide as the cut-out at least."""
    if cut.kind not in {"socket", "switch", "pipe"}:
        return
    what = "pipes" if cut.kind == "pipe" else "cables"
    half_x_mm, half_y_mm = max(band_mm, cut.width_mm / 2), max(band_mm, cut.height_mm / 2)
    upright = np.abs(where.x_mm - cut.x_mm - cut.width_mm / 2) <= half_x_mm + HAIR_MM
    level = np.abs(where.y_mm - cut.y_mm - cut.height_mm / 2) <= half_y_mm + HAIR_MM
    if not _runs(cut, cut.width_mm, cut.height_mm):
        yield upright, f"straight above or below {_named(cut)}: {what} {RUN_THERE}"
    if not _runs(cut, cut.height_mm, cut.width_mm):
        yield level, f"straight beside {_named(cut)}: {what} {RUN_THERE}"


def _runs(cut: CutOut, along_mm: float, across_mm: float) -> bool:
    """Tell whether a pipe plainly runs one way, so that none need branch off the other."""
    return cut.kind == "pipe" and along_mm >= LONG * across_mm


def _from_side(where: Places, wall: WallShape, side: Side) -> Floats:
    if side == "left":
        return where.x_mm
    if side == "right":
        return wall.width_mm - where.x_mm
    return where.y_mm if side == "bottom" else wall.height_mm - where.y_mm


def _from_cut_out(where: Places, cut: CutOut) -> Floats:
    """Distance from a rectangle, 0 inside it."""
    left, below = cut.x_mm - where.x_mm, cut.y_mm - where.y_mm
    beside = np.maximum(np.maximum(left, -left - cut.width_mm), 0.0)
    above = np.maximum(np.maximum(below, -below - cut.height_mm), 0.0)
    return np.hypot(beside, above)


def _named(cut: CutOut) -> str:
    return f"{cut.kind} '{cut.name}'"
