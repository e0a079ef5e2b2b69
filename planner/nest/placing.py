"""Where parts lie on a plate once it is settled what lies on it.

One part after the other is taken off and laid again where it is better placed; the place it
had is always free, so no plate is ever lost.  Every step asks the plate what is free, so all
that holds for the search holds here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.nest.build import Layout
from planner.nest.plate import Spot
from planner.nest.rough import new_plate

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from planner.nest.build import Task
    from planner.nest.model import Placing
    from planner.nest.plate import Plate
    from planner.nest.table import Table

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Badness = Callable[[Plate, Floats], Floats]

ROUNDS = {"centre": 4, "spread": 6}
SHIFTS = (1.0, 0.75, 0.5, 0.25)
POSITIONS_MOST = 4000
"""Of more free positions only so many, evenly chosen, are looked at."""
_BETTER = 1e-6


def placed(task: Task, layout: Layout, placing: Placing) -> Layout:
    """Return the same plates with their parts placed as wished."""
    if placing == "compact":
        return layout
    badness = _far_from_point if placing == "centre" else _close_to_others
    plates = []
    for bed, spots in layout.plates:
        plate = _anew(task.table, bed, spots) if placing == "centre" else None
        plate = plate or new_plate(task.table, bed, spots)
        for _ in range(ROUNDS[placing]):
            if placing == "centre":
                plate = _shifted(plate)
            plate, moved = _round(plate, badness)
            if not moved:
                break
        plates.append((bed, tuple(plate.spots)))
    return Layout(tuple(plates), layout.left)


def _anew(table: Table, bed: int, spots: Sequence[Spot]) -> Plate | None:
    """Lay all parts again on an empty plate, the largest first; None if one finds no place."""
    plate = new_plate(table, bed)
    for spot in sorted(spots, key=lambda spot: (-table.area_mm2[spot.item], spot.item)):
        best = _best(plate, spot.item, _far_from_point)
        if best is None:
            return None
        plate.place(best[1])
    return plate


def _shifted(plate: Plate) -> Plate:
    """Move all parts at once so that their mean middle comes as near to the point as it can."""
    table, bed = plate.table, plate.bed
    if not plate.spots:
        return plate
    boxes = np.concatenate([_boxes(table, s.option.shape, _at(s)) for s in plate.spots])
    away = _point(plate) - (boxes[:, :2] + boxes[:, 2:]).mean(axis=0) / 2
    for share in SHIFTS:
        dx, dy = np.rint(share * away / table.step_mm).astype(np.int64).tolist()
        moved = [Spot(s.item, s.option, s.x + dx, s.y + dy) for s in plate.spots]
        if (dx or dy) and all(_lies_free(table, bed, spot) for spot in moved):
            return new_plate(table, bed, tuple(moved))
    return plate


def _lies_free(table: Table, bed: int, spot: Spot) -> bool:
    """Say whether a spot has a place on the bed but for the other movable parts."""
    stride = table.stride(0)
    if min(spot.x, spot.y) < 0 or spot.x >= stride:
        return False
    return bool(table.inner(bed, spot.option.shape, 0) >> (spot.y * stride + spot.x) & 1)


def _round(plate: Plate, badness: Badness) -> tuple[Plate, bool]:
    """Take each part off once and lay it where it is better placed; say whether any moved."""
    moved = False
    for spot in _worst_first(plate, badness):
        place = plate.spots.index(spot)
        rest = plate.without(frozenset({place}))
        now = float(badness(rest, _boxes(plate.table, spot.option.shape, _at(spot)))[0])
        best = _best(rest, spot.item, badness)
        if best is not None and best[0] < now - _BETTER:
            rest.place(best[1])
            moved = True
        else:
            rest.place(spot)
        plate = rest
    return plate, moved


def _worst_first(plate: Plate, badness: Badness) -> list[Spot]:
    """Return the spots, those that are placed worst first; for the centre the nearest first."""
    sign = 1.0 if badness is _far_from_point else -1.0
    rated = []
    for place, spot in enumerate(plate.spots):
        rest = plate.without(frozenset({place}))
        bad = float(badness(rest, _boxes(plate.table, spot.option.shape, _at(spot)))[0])
        rated.append((sign * round(bad, 6), place))
    return [plate.spots[place] for _, place in sorted(rated)]


def _best(plate: Plate, item: int, badness: Badness) -> tuple[float, Spot] | None:
    """Return the best of the free positions of an item, over its turns."""
    best: tuple[float, Spot] | None = None
    for option in plate.table.turns(plate.bed, item):
        at = _positions(plate, option.shape)
        if not len(at):
            continue
        bad = badness(plate, _boxes(plate.table, option.shape, at)).round(6)
        least = int(np.argmin(bad))
        if best is None or bad[least] < best[0]:
            best = float(bad[least]), Spot(item, option, int(at[least, 0]), int(at[least, 1]))
    return best


def _positions(plate: Plate, shape: int) -> Ints:
    """Return free positions (n, 2) in grid steps, at most `POSITIONS_MOST`."""
    free = plate.free(shape)
    octets = np.frombuffer(free.to_bytes((free.bit_length() + 7) // 8, "little"), dtype=np.uint8)
    bits = np.flatnonzero(np.unpackbits(octets, bitorder="little"))
    if len(bits) > POSITIONS_MOST:
        bits = bits[np.linspace(0, len(bits) - 1, POSITIONS_MOST).astype(np.int64)]
    v, u = np.divmod(bits, plate.table.stride(plate.layout))
    return np.column_stack([u, v] if plate.layout == 0 else [v, u]).astype(np.int64)


def _at(spot: Spot) -> Ints:
    return np.array([[spot.x, spot.y]], dtype=np.int64)


def _boxes(table: Table, shape: int, at: Ints) -> Floats:
    """Return the frames (n, 4) of a shape at positions: low x, low y, high x, high y in mm."""
    shift = table.edge_mm - table.clearance_mm / 2
    low = at * table.step_mm + shift
    size = np.array([table.shapes[shape].width_mm, table.shapes[shape].depth_mm])
    boxes: Floats = np.column_stack([low, low + size])
    return boxes


def _far_from_point(plate: Plate, boxes: Floats) -> Floats:
    """Rate by the squared distance of a part's middle from the preferred point, in mm2."""
    middle = (boxes[:, :2] + boxes[:, 2:]) / 2
    far: Floats = ((middle - _point(plate)) ** 2).sum(axis=1)
    return far


def _point(plate: Plate) -> Floats:
    """Return the preferred point of the bed in mm."""
    bed = plate.table.beds[plate.bed]
    return np.array(bed.preferred_mm or (bed.width_mm / 2, bed.depth_mm / 2))


def _close_to_others(plate: Plate, boxes: Floats) -> Floats:
    """Rate by closeness (negative mm): half the least gap to another part, or that to the edge.

    So a part keeps half of what lies between two parts from the edge, as if each had its own
    equal field.  Gaps are those of the frames.
    """
    table, bed = plate.table, plate.table.beds[plate.bed]
    room = np.minimum(boxes[:, :2], np.array([bed.width_mm, bed.depth_mm]) - boxes[:, 2:])
    least = room.min(axis=1)
    others = [_boxes(table, s.option.shape, _at(s))[0] for s in plate.spots]
    shift = table.clearance_mm / 2
    for copy in table.terms.standing.get(plate.bed, ()):
        low_x, low_y, high_x, high_y = copy.region.bounds
        frame = [low_x - shift, low_y - shift, high_x + shift, high_y + shift]
        others.append(np.array(frame))
    for other in others:
        apart = np.maximum(other[:2] - boxes[:, 2:], boxes[:, :2] - other[2:])
        gap = np.hypot(*np.maximum(apart, 0.0).T) + np.minimum(apart.max(axis=1), 0.0)
        least = np.minimum(least, gap / 2)
    closeness: Floats = -least
    return closeness
