"""Time of a stream of moves under the file's own limits, never above those of the printer.

The look-ahead keeps back the moves whose speed may still be changed by what follows; a piece
that ends anywhere therefore takes exactly what it takes in one run. The flow cap of the
printer is left out: a machine runs a file as fast as it says, melting or not.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.corner import CornerSpeed, JunctionDeviation, SpeedStep, Strictest
from planner.motion.legs import Legs, legs_of
from planner.motion.limits import Limits
from planner.motion.lookahead import settle
from planner.motion.toolpath.model import Kind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.model import Moves, OwnLimits
    from planner.motion.toolpath.register import Held

    Floats = NDArray[np.float64]
    Bytes = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """What a printer allows along its path: speed, acceleration; and through a right angle.

    The limits by axis (x, y, z, strand) hold besides; a deviation, where known, counts in
    place of the corner speed.
    """

    speed_mm_s: float
    acceleration_mm_s2: float
    corner_mm_s: float
    speed_by_axis_mm_s: tuple[float, float, float, float] = (inf, inf, inf, inf)
    gain_by_axis_mm_s2: tuple[float, float, float, float] = (inf, inf, inf, inf)
    deviation_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Last:
    """The last move that came in: its travel (4, 1), speed and limits, for the next corner."""

    travel_mm: Floats
    speed_mm_s: float
    own: OwnLimits


def _no_legs() -> Legs:
    return Legs(
        **dict.fromkeys(("length_mm", "speed_mm_s", "acceleration_mm_s2"), np.empty(0)),
        corner_squared=np.empty(0),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clock:
    """Seconds so far by kind of move, (3,), and the moves that are kept back."""

    machine: Machine
    seconds: Floats = field(default_factory=lambda: np.zeros(len(Kind)))
    arrival_squared: float = 0.0
    waiting: Legs = field(default_factory=_no_legs)
    waiting_kind: Bytes = field(default_factory=lambda: np.empty(0, dtype=np.uint8))
    last: _Last | None = None

    def advance(self, moves: Moves) -> Clock:
        """Return the clock after more moves."""
        if not len(moves):
            return self
        legs, last = self._legs(moves)
        return self._settle(
            self.waiting.then(legs), np.append(self.waiting_kind, moves.kind), last, more=True
        )

    def finish(self) -> Clock:
        """Return the clock after the last move has come to rest."""
        return self._settle(self.waiting, self.waiting_kind, self.last, more=False)

    def _legs(self, moves: Moves) -> tuple[Legs, _Last]:
        travel = _travel(moves)
        speed, own, rests = moves.speed_mm_s, moves.own, moves.rests
        before = self.last
        if before is not None:
            own = own.after(before.own, len(moves))
            travel = np.concatenate([before.travel_mm, travel], axis=1)
            speed = np.append(before.speed_mm_s, speed)
            rests = np.append(False, rests)
        legs = legs_of(
            travel,
            speed_mm_s=np.minimum(speed, self.machine.speed_mm_s),
            acceleration_mm_s2=np.broadcast_to(
                _lower(self.machine.acceleration_mm_s2, own.gain_mm_s2), len(speed)
            ),
            limits=limits_under(self.machine, own),
            rests=rests,
        )
        last = _Last(travel_mm=travel[:, -1:], speed_mm_s=float(speed[-1]), own=own.last())
        return (legs if before is None else legs.part(1)), last

    def _settle(self, legs: Legs, kind: Bytes, last: _Last | None, *, more: bool) -> Clock:
        done, arrival = settle(legs, self.arrival_squared, more=more)
        count = len(done)
        return Clock(
            machine=self.machine,
            seconds=self.seconds + np.bincount(kind[:count], done, minlength=len(Kind)),
            arrival_squared=arrival,
            waiting=legs.part(count),
            waiting_kind=kind[count:],
            last=last,
        )


def limits_under(machine: Machine, own: OwnLimits) -> Limits:
    """Limits that a file sets by axis and at corners, these never above the machine's."""
    corners: list[CornerSpeed | JunctionDeviation | SpeedStep] = [
        CornerSpeed(speed_mm_s=machine.corner_mm_s)
        if machine.deviation_mm is None
        else JunctionDeviation(deviation_mm=machine.deviation_mm)
    ]
    if any(_limits(step) for step in own.step_mm_s):
        corners.append(SpeedStep(step_mm_s=own.step_mm_s))
    if _limits(own.deviation_mm):
        corners.append(JunctionDeviation(deviation_mm=own.deviation_mm))
    speed_x, speed_y, speed_z, speed_strand = map(
        _lower, machine.speed_by_axis_mm_s, own.speed_by_axis_mm_s
    )
    gain_x, gain_y, gain_z, gain_strand = map(
        _lower, machine.gain_by_axis_mm_s2, own.gain_by_axis_mm_s2
    )
    return Limits(
        speed_mm_s=(speed_x, speed_y, speed_z),
        acceleration_mm_s2=(gain_x, gain_y, gain_z),
        corner=corners[0] if len(corners) == 1 else Strictest(models=tuple(corners)),
        strand_speed_mm_s=speed_strand,
        strand_acceleration_mm_s2=gain_strand,
    )


def _travel(moves: Moves) -> Floats:
    """Travel by axis, (4, n); chords are stretched to the length of their arc."""
    travel = np.empty((4, len(moves)))
    np.subtract(moves.end_mm, moves.start_mm, out=travel[:3])
    straight = np.sqrt(np.square(travel[:3]).sum(axis=0))
    bent = moves.length_mm != straight
    if bent.any():
        travel[:3, bent] *= moves.length_mm[bent] / straight[bent]
    travel[3] = moves.strand_mm
    return travel


def _limits(held: Held) -> bool:
    return bool(np.isfinite(held).any())


def _lower(most: float, held: Held) -> Held:
    if isinstance(held, np.ndarray):
        return np.minimum(most, held)
    return min(most, held)
