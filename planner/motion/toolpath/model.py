"""What a toolpath file turns into: moves in arrays, piece by piece, and the sum of the whole."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath.said import Said

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Held = float | Floats
    FourHeld = tuple[Held, Held, Held, Held]


class Kind(IntEnum):
    """What a move does: lays plastic on its way, travels, or moves the strand alone."""

    LAY = 0
    TRAVEL = 1
    STRAND = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OwnLimits:
    """Limits that the file itself sets, one number or one per move; infinite where it is silent.

    Tuples are per axis: x, y, z and the strand (mm/s, mm/s2). `gain_mm_s2` is the acceleration
    asked for each move's kind; `step_mm_s` and `deviation_mm` are corner limits.
    """

    gain_mm_s2: Held
    gain_by_axis_mm_s2: FourHeld
    speed_by_axis_mm_s: FourHeld
    step_mm_s: FourHeld
    deviation_mm: Held

    def last(self) -> OwnLimits:
        """Limits of the last move, as numbers."""
        return OwnLimits(
            gain_mm_s2=_last(self.gain_mm_s2),
            gain_by_axis_mm_s2=_each(_last, self.gain_by_axis_mm_s2),
            speed_by_axis_mm_s=_each(_last, self.speed_by_axis_mm_s),
            step_mm_s=_each(_last, self.step_mm_s),
            deviation_mm=_last(self.deviation_mm),
        )

    def after(self, one: OwnLimits, count: int) -> OwnLimits:
        """Limits of `count` moves behind one more, whose limits are numbers."""

        def join(first: Held, rest: Held) -> Held:
            if not isinstance(rest, np.ndarray) and first == rest:
                return rest
            return np.append(first, np.broadcast_to(rest, count))

        return OwnLimits(
            gain_mm_s2=join(one.gain_mm_s2, self.gain_mm_s2),
            gain_by_axis_mm_s2=_each(join, one.gain_by_axis_mm_s2, self.gain_by_axis_mm_s2),
            speed_by_axis_mm_s=_each(join, one.speed_by_axis_mm_s, self.speed_by_axis_mm_s),
            step_mm_s=_each(join, one.step_mm_s, self.step_mm_s),
            deviation_mm=join(one.deviation_mm, self.deviation_mm),
        )


def _last(held: Held) -> Held:
    return float(held[-1]) if isinstance(held, np.ndarray) else held


def _each(function: Callable[..., Held], *axes: FourHeld) -> FourHeld:
    """Apply a function axis by axis."""
    x, y, z, strand = (function(*values) for values in zip(*axes, strict=True))
    return x, y, z, strand


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moves:
    """Moves of one piece, in order: arrays (n,), positions (3, n); arcs are cut into chords.

    `line` counts from 1 in the file. Positions are in mm from where the machine homes,
    `length_mm` is along the path (along the arc, for chords). `strand_mm` is what the drive
    feeds (negative: pulls back), `deposit_mm` the part of it that is new: beyond the furthest
    the strand has ever been fed. `speed_mm_s` is the feed asked for, infinite where a rapid
    move has none; `rests` marks moves that start from standstill. `dwell_s` is waited in this
    piece; `said` is what it asks of heaters and fan.
    """

    line: Ints
    kind: NDArray[np.uint8]
    start_mm: Floats
    end_mm: Floats
    length_mm: Floats
    strand_mm: Floats
    deposit_mm: Floats
    speed_mm_s: Floats
    rests: NDArray[np.bool_]
    own: OwnLimits
    dwell_s: float
    said: Said = field(default_factory=Said)

    def __len__(self) -> int:
        return len(self.line)


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What a file says beside its moves.

    Temperatures are the highest set, in degrees C, None where never set; `fan` is the highest
    share, 0 to 1. `still_hot` is the nozzle's temperature at the end. `not_understood` lists
    words with their count and first line; `assumptions` say how ambiguous words were read.
    """

    lines: int
    nozzle_c: float | None
    bed_c: float | None
    fan: float | None
    still_hot: bool
    homes: bool
    heats: bool
    levels: bool
    pauses: int
    tools: tuple[int, ...]
    checksums: int
    own_acceleration: bool
    own_corners: bool
    not_understood: tuple[tuple[str, int, int], ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolpathEstimate:
    """Time, filament and extents of one toolpath file on one printer.

    `time_s` is the sum of `moves_s`, `dwell_s` and `start_s`; `range_s` brackets it and
    `reasons` say why it is wide. `start_s` is the profile's time for heating, homing and
    levelling, counted where the file does any of them (no file says how long they take), else
    0. `filament_g` is None without a filament; `extents_mm` holds the lowest and the highest
    x, y, z of laid plastic, None where none is laid. `levels` is the number of heights at which
    plastic is laid. `by_kind_s` adds up to `moves_s`.
    """

    path: Path
    printer: str
    moves: int
    time_s: float
    range_s: tuple[float, float]
    reasons: tuple[str, ...]
    moves_s: float
    dwell_s: float
    start_s: float
    by_kind_s: tuple[tuple[str, float], ...]
    filament_mm: float
    filament_mm3: float
    filament_g: float | None
    laid_mm: float
    travel_mm: float
    retractions: int
    extents_mm: tuple[tuple[float, float, float], tuple[float, float, float]] | None
    levels: int
    facts: Facts
