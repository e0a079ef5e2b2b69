"""One pass over a toolpath: what every line of plastic needs to be judged by, kept small.

Lines of plastic are kept as single precision (0.03 µm at 300 mm): 44 bytes each, so a file of
50 MB takes some 80 MB.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.audit.measure.watch import Watch
from planner.errors import input_error
from planner.motion.toolpath.clock import Clock
from planner.motion.toolpath.model import Kind
from planner.motion.toolpath.state import State
from planner.motion.toolpath.stream import PIECE_BYTES, stream

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from planner.audit.measure.watch import Limits
    from planner.motion.toolpath.clock import Machine
    from planner.motion.toolpath.model import Moves
    from planner.progress import Progress

    Floats = NDArray[np.floating[Any]]
    Singles = NDArray[np.float32]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]
    Events = tuple[Ints, Floats]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lines:
    """Lines of plastic in order of printing, arrays (n,) in mm and mm/s; z is that of the end.

    `joined` tells that a line goes on where the one before it ended, `rise_mm` is how far it
    climbs, `strand_mm` how much strand it lays, as the file's own words say.
    """

    x0: Singles
    y0: Singles
    x1: Singles
    y1: Singles
    z_mm: Singles
    rise_mm: Singles
    length_mm: Singles
    strand_mm: Singles
    speed_mm_s: Singles
    number: NDArray[np.int32]
    joined: Bools

    def __len__(self) -> int:
        return len(self.number)

    def some(self, index: Ints | Bools | slice) -> Lines:
        """Return chosen lines."""
        return Lines(**{name: getattr(self, name)[index] for name in Lines.__slots__})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Harvest:
    """Everything that one pass over a file gives."""

    lines: Lines
    state: State
    seconds: Floats
    dwell_s: float
    strand_mm: float
    travel_speed_mm_s: float
    nozzle: Events
    bed: Events
    fan: Events
    watch: Watch


@dataclass(slots=True)
class _Basket:
    """Pieces of arrays until the file is read."""

    kept: list[Lines] = field(default_factory=list)
    nozzle: list[Events] = field(default_factory=list)
    bed: list[Events] = field(default_factory=list)
    fan: list[Events] = field(default_factory=list)
    travels: list[tuple[float, float]] = field(default_factory=list)
    dwell_s: float = 0.0
    strand_mm: float = 0.0
    on: bool = False


def harvest(
    path: Path, machine: Machine, limits: Limits, *, strand_unit: float = 1.0, progress: Progress
) -> Harvest:
    """Read a toolpath; `strand_unit` is mm of strand per unit of E, where M200 does not say.

    Raises InputError for what cannot be followed, or has no moves.
    """
    basket, clock, watch = _Basket(), Clock(machine=machine), Watch.start(limits)
    state, moved = State(lenient=True), 0
    state = replace(state, registers={**state.registers, "strand unit": strand_unit})
    pieces = max(1, -(-_size(path) // PIECE_BYTES))
    for done, (moves, after) in enumerate(stream(path, start=state)):
        progress("toolpath", min(done, pieces), pieces, note=path.name)
        state, moved = after, moved + len(moves)
        clock = clock.advance(moves)
        watch.look(moves)
        _keep(basket, moves)
    if not moved:
        raise input_error(
            path,
            found=f"no moves in {int(state.facts['lines'])} lines",
            expected="lines of G-code, such as G1 X10 Y10 E0.5 F1800",
            remedy="check that this is a toolpath file",
        )
    return Harvest(
        lines=_joined(basket.kept),
        state=state,
        seconds=clock.finish().seconds,
        dwell_s=basket.dwell_s,
        strand_mm=basket.strand_mm,
        travel_speed_mm_s=_middle(basket.travels),
        nozzle=_events(basket.nozzle),
        bed=_events(basket.bed),
        fan=_events(basket.fan),
        watch=watch,
    )


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0  # the reader says what is wrong


def _keep(basket: _Basket, moves: Moves) -> None:
    basket.nozzle.append(moves.said.nozzle)
    basket.bed.append(moves.said.bed)
    basket.fan.append(moves.said.fan)
    basket.dwell_s += moves.dwell_s
    basket.strand_mm += float(moves.deposit_mm.sum())
    going = np.flatnonzero(moves.kind != Kind.STRAND)
    lays = moves.kind[going] == Kind.LAY
    joined = np.append(basket.on, lays[:-1]) if len(lays) else lays
    basket.on = bool(lays[-1]) if len(lays) else basket.on
    flat = np.square(moves.end_mm[:2] - moves.start_mm[:2]).sum(axis=0)[going] > 1e-8
    kept = lays & flat
    _travels(basket, moves, going[~lays])
    if kept.any():
        basket.kept.append(_lines(moves, going[kept], joined[kept]))


def _travels(basket: _Basket, moves: Moves, index: Ints) -> None:
    """Keep the middle speed of the ways of a piece, with their length."""
    fast = index[np.isfinite(moves.speed_mm_s[index])]
    if len(fast):
        middle = weighted(moves.speed_mm_s[fast], moves.length_mm[fast], 0.5)
        basket.travels.append((middle, float(moves.length_mm[fast].sum())))


def _lines(moves: Moves, index: Ints, joined: Bools) -> Lines:
    start, end = moves.start_mm[:, index].astype("f4"), moves.end_mm[:, index].astype("f4")
    return Lines(
        x0=start[0],
        y0=start[1],
        x1=end[0],
        y1=end[1],
        z_mm=end[2],
        rise_mm=(moves.end_mm[2, index] - moves.start_mm[2, index]).astype("f4"),
        length_mm=moves.length_mm[index].astype("f4"),
        strand_mm=moves.deposit_mm[index].astype("f4"),
        speed_mm_s=moves.speed_mm_s[index].astype("f4"),
        number=moves.line[index].astype("i4"),
        joined=joined,
    )


def _joined(kept: Sequence[Lines]) -> Lines:
    if not kept:
        none: dict[str, NDArray[np.float32]] = dict.fromkeys(
            Lines.__slots__, np.empty(0, np.float32)
        )
        empty = Lines(**none)  # type: ignore[arg-type]  # dtypes are put right below
        return replace(empty, number=np.empty(0, np.int32), joined=np.empty(0, bool))
    return Lines(
        **{name: np.concatenate([getattr(k, name) for k in kept]) for name in Lines.__slots__}
    )


def _events(pieces: Sequence[Events]) -> Events:
    return (
        np.concatenate([np.empty(0, np.int64), *(lines for lines, _ in pieces)]),
        np.concatenate([np.empty(0), *(values for _, values in pieces)]),
    )


def _middle(pairs: Sequence[tuple[float, float]]) -> float:
    if not pairs:
        return float("nan")
    values, weights = np.array(pairs).T
    return weighted(values, weights, 0.5)


def weighted(values: Floats, weights: Floats, share: float) -> float:
    """Return the value under which a share of the weight lies.

    >>> weighted(np.array([3.0, 1.0, 2.0]), np.array([1.0, 1.0, 5.0]), 0.5)
    2.0
    """
    order = np.argsort(values, kind="stable")
    upto = np.cumsum(np.asarray(weights, dtype=np.float64)[order])
    return float(values[order][np.searchsorted(upto, share * upto[-1])])
