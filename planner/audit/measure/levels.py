"""Heights at which plastic is laid: layers, runs of layers, and spirals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.audit.measure.harvest import Lines

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

SAME_MM = 0.004
"""Heights nearer than this are one: files are written to 0.001 mm, or 0.0001 inch."""
SPIRAL_SHARE = 0.5
"""A spiral climbs on more than half of what is laid from its beginning on, by length."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Levels:
    """Layers of a file, numbered upward run by run.

    A run goes from the plate up; parts printed one after another have one run each.
    `of_line`, (n,), is the layer of each line; `z_mm`, `run`, `start`, `stop` are per layer
    (k,): `order[start:stop]` are its lines in order of printing. `spiral` tells that the
    head climbs while it lays; its layers are turns.
    """

    of_line: Ints
    order: Ints
    start: Ints
    stop: Ints
    z_mm: Floats
    run: Ints
    spiral: bool

    def __len__(self) -> int:
        return len(self.z_mm)

    def lines_of(self, level: int) -> Ints:
        """Return the indices of the lines of a layer, in order of printing."""
        return self.order[self.start[level] : self.stop[level]]

    def heights_mm(self) -> Floats:
        """Rise from the layer below in the same run; of a first layer, its own height."""
        below = np.append(0.0, self.z_mm[:-1])
        below[np.append(True, np.diff(self.run) != 0)] = 0.0
        heights: Floats = self.z_mm - below
        return heights


def levels_of(lines: Lines) -> Levels:
    """Sort lines into layers."""
    rising = lines.rise_mm > 1e-5
    climbing = _climbing(lines, rising)
    spiral = _is_spiral(lines, climbing)
    z = lines.z_mm.astype(np.float64)
    if spiral:
        z = _turns(lines, climbing, z)
    ids, heights = _clusters(z)
    run = _runs(ids, heights)
    key = run * len(heights) + ids
    used, of_line = np.unique(key, return_inverse=True)
    of_line = of_line.astype(np.int64)
    order = np.argsort(of_line, kind="stable")
    stop = np.cumsum(np.bincount(of_line, minlength=len(used)))
    return Levels(
        of_line=of_line,
        order=order,
        start=np.append(0, stop[:-1]),
        stop=stop,
        z_mm=heights[used % len(heights)],
        run=used // len(heights),
        spiral=spiral,
    )


def _climbing(lines: Lines, rising: Bools) -> Bools:
    """Flag lines that climb gently, as a spiral does: by under 5 % of their length."""
    return rising & (lines.rise_mm < 0.05 * lines.length_mm)


def _is_spiral(lines: Lines, climbing: Bools) -> bool:
    """Tell whether the head climbs on most of what is laid from where it begins to climb."""
    if not climbing.any():
        return False
    begin = float((lines.z_mm - lines.rise_mm)[climbing].min())
    above = lines.length_mm * (lines.z_mm > begin + SAME_MM)
    turns = float(lines.length_mm[climbing].sum())
    return turns > SPIRAL_SHARE * float(above.sum(dtype=np.float64)) and turns > 100.0


def _turns(lines: Lines, climbing: Bools, z: Floats) -> Floats:
    """Give the lines of a spiral the height at the end of their turn; the rest keep theirs."""
    index = np.flatnonzero(climbing)
    pitch = pitch_mm(lines.some(index))
    base = float(z[index[0]] - lines.rise_mm[index[0]])
    turn = np.ceil((z[index] - base) / pitch - 1e-3)
    result = z.copy()
    result[index] = base + np.maximum(turn, 1.0) * pitch
    return result


def pitch_mm(lines: Lines) -> float:
    """Rise per turn: all the rise over all the turning, in full circles."""
    angle = np.arctan2(lines.y1 - lines.y0, lines.x1 - lines.x0).astype(np.float64)
    turning = np.diff(angle)
    turning = (turning + np.pi) % (2 * np.pi) - np.pi
    together = lines.joined[1:]
    turns = abs(float(turning[together].sum())) / (2 * np.pi)
    rise = float(lines.rise_mm[1:][together].sum())
    return rise / turns if turns > 0.5 else max(rise, SAME_MM)


def _clusters(z: Floats) -> tuple[Ints, Floats]:
    """Sort heights into clusters from the lowest up, each with its mean height.

    Heights that differ by less than `SAME_MM` are one.
    """
    rounded = np.rint(z * 1e4).astype(np.int64)
    values, inverse, counts = np.unique(rounded, return_inverse=True, return_counts=True)
    new = np.append(0, np.cumsum(np.diff(values) > SAME_MM * 1e4))
    weight = np.bincount(new, counts)
    heights = np.bincount(new, counts * (values / 1e4)) / weight
    return new[inverse], heights


def _runs(ids: Ints, heights: Floats) -> Ints:
    """Return the number of the run of each line: a new one begins where the head comes down again.

    Down means by more than 2 mm and more than half of the height reached: supports with
    layers of their own may dip a little, other parts begin at the plate.
    """
    changes = np.flatnonzero(np.append(True, np.diff(ids) != 0))
    run, top, result = 0, -np.inf, np.zeros(len(ids), dtype=np.int64)
    starts: list[int] = []
    for place in changes.tolist():
        z = float(heights[ids[place]])
        if z < top - 2.0 and z < 0.5 * top:
            run, top = run + 1, z
            starts.append(place)
        top = max(top, z)
    for place in starts:
        result[place:] += 1
    return result


def sampled(low: int, high: int, groups: int = 3, each: int = 4) -> list[int]:
    """Return groups of neighbouring layers spread over a range [low, high)."""
    count = high - low
    if count <= groups * each:
        return list(range(low, high))
    chosen: set[int] = set()
    for k in range(groups):
        first = low + int((count - each) * (k + 1) / (groups + 1))
        chosen.update(range(first, first + each))
    return sorted(chosen)
