"""Figures of parts, from their sampled layers."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

from planner.audit.measure.model import Figure, Status, unknown
from planner.audit.measure.skins import floor_of, skins_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.audit.measure.layer import PartLayer
    from planner.audit.measure.skins import Columns

    Floats = NDArray[np.float64]

LEAST_SHARE = 0.2
"""Share of a layer's walls, by length, that must show a count for it to be taken."""
LIKE = 0.6
"""Share of columns that must agree on the solid layers."""
LEAST_LAYERS = 4
"""Layers with room for sparse fill that a density needs."""
UNSTEADY = 0.12
"""Layers whose shares differ by more hold more than fill, such as a merged support: our choice."""
LEAST_ROOM_MM2 = 60.0
"""Room inside the walls, on average, that a density needs: our choice."""
SKINS_ALONE = 12
"""Layers that bottom and top may fill without any infill between them: our choice."""
SKINS_MEET = "solid all through, and so thin that bottom and top alone may be all of it"


def walls_figure(layers: Sequence[PartLayer], *, spiral: bool) -> Figure:
    """Return the number of walls: the largest with its share per layer, then the commonest."""
    if spiral:
        return Figure(value=1, evidence="one line that climbs without a stop")
    counts = [count for layer in layers if (count := _count(layer.votes)) is not None]
    seen = "faced fill"
    if len(counts) < 0.3 * len(layers) or not counts:
        hollow = [count for layer in layers if (count := _count(layer.hollow)) is not None]
        if len(hollow) > len(counts):
            counts, seen = hollow, "face a room between floor and roof"
    if not counts:
        return _bounded(layers)
    values, times = np.unique(counts, return_counts=True)
    best = int(values[np.argmax(times)])
    evidence = f"{int(times.max())} of {len(counts)} layers looked at: inmost loops {seen}"
    both = _alternating(values.tolist(), times.tolist())
    if both:
        best, evidence = both[0], f"{both[0]} and {both[1]} in turn, by layer"
    firm = both is not None or times.max() >= 0.6 * len(counts)
    return Figure(
        value=best,
        evidence=evidence,
        status=Status.FIRM if firm else Status.AMBIGUOUS,
        spread=(int(values.min()), int(values.max())),
    )


def _count(votes: Sequence[tuple[int, float]]) -> int | None:
    if not votes:
        return None
    lengths: dict[int, float] = defaultdict(float)
    for depth, length in votes:
        lengths[depth] += length
    total = sum(lengths.values())
    return max(depth for depth, length in lengths.items() if length >= LEAST_SHARE * total)


def _alternating(values: Sequence[int], times: Sequence[int]) -> tuple[int, int] | None:
    common = sorted(zip(times, values, strict=True), reverse=True)[:2]
    if len(common) < 2 or common[1][0] < 0.35 * sum(times):
        return None
    low, high = sorted((common[0][1], common[1][1]))
    return (low, high) if high - low == 1 else None


def _bounded(layers: Sequence[PartLayer]) -> Figure:
    bounds = [(depth, length) for layer in layers for depth, length in layer.bounds]
    if not bounds:
        return unknown("no closed loops with air beside them were found")
    lengths: dict[int, float] = defaultdict(float)
    for depth, length in bounds:
        lengths[depth] += length
    total = sum(lengths.values())
    best = max(d for d, length in lengths.items() if length >= LEAST_SHARE * total)
    return Figure(
        value=best,
        evidence="walls from both sides meet: there is room for no more",
        status=Status.AT_LEAST,
    )


def skin_figure(columns: Columns, part: int, *, of_top: bool, spiral: bool = False) -> Figure:
    """Return the solid layers at the top or the bottom."""
    if spiral and of_top:
        return unknown("a spiral has no top")
    value, share, count = (
        floor_of(columns, part) if spiral else skins_of(columns, part, of_top=of_top)
    )
    if value is None:
        return unknown("nowhere sparse between top and bottom, or too narrow to tell")
    return Figure(
        value=value,
        evidence=f"{100 * share:.0f} % of {count} columns of 1 mm",
        status=Status.FIRM if share >= LIKE else Status.AMBIGUOUS,
    )


def infill_figure(
    layers: Sequence[PartLayer], heights: Floats, *, walls: Figure, full: float
) -> Figure:
    """Return laid volume over room; `full` is the strand that fills 1 mm3.

    Only layers that show the part's number of walls count: in others a concentric fill may
    have been taken for walls, or walls for fill.
    """
    if walls.status is Status.FIRM and walls.spread is not None:
        low, high = walls.value, walls.spread[1] if "in turn" in walls.evidence else walls.value
        layers = [layer for layer in layers if _shown(layer) in (low, high)]
    found = [
        (layer.level, layer.sparse_mm / full, room)
        for layer in layers
        if (room := _sparse_room(layer, heights, full)) > 0
    ]
    if not found:
        return _no_infill(layers, heights, full)
    laid, rooms = np.array([pair[1:] for pair in found]).T
    odd = np.array([level % 2 for level, _, _ in found], bool)
    # fill of every second layer: both kinds of layers count alike
    halves = [laid[kind].sum() / rooms[kind].sum() for kind in (odd, ~odd) if kind.any()]
    area = rooms.sum() / float(sum(heights[level] for level, _, _ in found))
    shares = laid / rooms
    firm = area >= LEAST_ROOM_MM2 and len(found) >= LEAST_LAYERS and laid.sum() > 0
    firm = firm and all(_steady(laid[kind] / rooms[kind]) for kind in (odd, ~odd) if kind.any())
    return Figure(
        value=float(np.mean(halves)),
        evidence=f"laid volume over room inside the walls, {len(found)} layers, {area:.0f} mm²",
        status=Status.FIRM if firm else Status.AMBIGUOUS,
        spread=(float(shares.min()), float(shares.max())),
    )


def is_solid(infill: Figure) -> bool:
    """Tell whether a part was found solid, so that bottom and top have no end."""
    return infill.evidence == SKINS_MEET or (infill.status is Status.FIRM and infill.value == 1.0)


def _steady(shares: Floats) -> bool:
    """Tell whether most layers lay about the same; else something else is among the fill."""
    low, high = np.quantile(shares, (0.1, 0.9))
    return bool(high - low < UNSTEADY)


def _shown(layer: PartLayer) -> int | None:
    """Return the number of walls that a layer shows."""
    return _count(layer.votes or layer.hollow)


def _sparse_room(layer: PartLayer, heights: Floats, full: float) -> float:
    """Volume inside the walls of a layer that is not solid; 0 where that is little of it."""
    whole = layer.room_mm2 * float(heights[layer.level])
    room = whole - layer.solid_mm / full
    return room if layer.room_mm2 > 0 and room >= 0.25 * whole else 0.0


def _no_infill(layers: Sequence[PartLayer], heights: Floats, full: float) -> Figure:
    room = sum(layer.room_mm2 * float(heights[layer.level]) for layer in layers)
    solid = sum(layer.solid_mm for layer in layers)
    area = room / max(float(sum(heights[layer.level] for layer in layers)), 1e-9)
    if layers and area >= LEAST_ROOM_MM2 and solid > 0.85 * full * room:
        seen = [layer.level for layer in layers]
        if max(seen) - min(seen) < SKINS_ALONE:
            return unknown(SKINS_MEET)
        return Figure(value=1.0, evidence=f"solid in all {len(layers)} layers looked at")
    return unknown("no layer with room for sparse fill was found")
