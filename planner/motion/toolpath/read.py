"""One toolpath file on one printer: time, filament, extents, and what was assumed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error
from planner.motion.toolpath import notes
from planner.motion.toolpath.clock import Clock, Machine
from planner.motion.toolpath.model import Facts, Kind, ToolpathEstimate
from planner.motion.toolpath.state import State
from planner.motion.toolpath.stream import PIECE_BYTES, stream
from planner.progress import silent

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from planner.motion.toolpath.model import Moves
    from planner.progress import Progress
    from planner.settings.model import Filament, Printer

    Floats = NDArray[np.float64]

_STRAND_MM = 1.75
"""Diameter of a strand where no filament is given: the commonest; common practice, no source."""
_GAIN_FACTOR = 2.0
"""How far a printer's real acceleration may lie from its profile's, either way; from memory."""
_CORNER_FACTORS = (0.5, 1.58)
"""Likewise corner speed: rounding by 0.005 to 0.05 mm where the profile means 0.02, as sqrt."""
_LEVEL_MM = 1e-3
"""Heights nearer than this are one level."""
_MOST_LEVELS = 100_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sum:
    """Sums over the moves so far; extents as (3,) lowest and highest, levels in 1/1000 mm."""

    moves: int = 0
    deposit_mm: float = 0.0
    laid_mm: float = 0.0
    travel_mm: float = 0.0
    retractions: int = 0
    dwell_s: float = 0.0
    lowest_mm: Floats
    highest_mm: Floats
    levels: frozenset[int] = frozenset()


def read_toolpath(
    path: Path,
    printer: Printer,
    filament: Filament | None = None,
    *,
    volumetric: bool = False,
    progress: Progress = silent,
    piece_bytes: int = PIECE_BYTES,
) -> ToolpathEstimate:
    """Estimate a toolpath file (G-code) on a printer.

    `volumetric` says that E words are mm3 rather than mm of filament (M200 in the file does
    too). Limits that the file sets hold, but never above the printer's own; the printer's
    speed, acceleration and corner speed hold where the file is silent.

    Raises InputError, with the line, for a file that cannot be read or followed, and for one
    that has no moves or breaks off.
    """
    area_mm2 = np.pi * _STRAND_MM**2 / 4.0 if filament is None else filament.area_mm2
    start = State()
    if volumetric:
        start = State(registers={**start.registers, "strand unit": 1.0 / area_mm2})
    state, total = start, _Sum(lowest_mm=np.full(3, np.inf), highest_mm=np.full(3, -np.inf))
    clocks = [Clock(machine=machine) for machine in _machines(printer)]
    pieces = max(1, -(-_size(path) // piece_bytes))
    for done, (moves, after) in enumerate(stream(path, start=start, piece_bytes=piece_bytes)):
        progress("toolpath", min(done, pieces), pieces, note=path.name)
        state, total = after, _added(total, moves)
        clocks = [clock.advance(moves) for clock in clocks]
    _refuse_incomplete(path, state, total)
    seconds = [clock.finish().seconds for clock in clocks]
    return _estimate(
        path, state, total, seconds, printer=printer, filament=filament, area_mm2=area_mm2
    )


def machine_of(printer: Printer) -> Machine:
    """Return a printer as its profile says; limits that it does not state are none."""
    return Machine(
        speed_mm_s=printer.speed_max_mm_s,
        acceleration_mm_s2=printer.acceleration_max_mm_s2,
        corner_mm_s=printer.corner_speed_mm_s,
        speed_by_axis_mm_s=(
            *(printer.axis_speed_mm_s or (inf, inf, inf)),
            printer.strand_speed_mm_s or inf,
        ),
        gain_by_axis_mm_s2=(
            *(printer.axis_acceleration_mm_s2 or (inf, inf, inf)),
            printer.strand_acceleration_mm_s2 or inf,
        ),
        deviation_mm=printer.corner_deviation_mm,
    )


def _machines(printer: Printer) -> tuple[Machine, Machine, Machine]:
    """Return the printer as its profile says, then as slow and as quick as it may really be."""
    middle = machine_of(printer)
    slow, quick = (
        replace(
            middle,
            acceleration_mm_s2=middle.acceleration_mm_s2 * gain,
            corner_mm_s=middle.corner_mm_s * corner,
            gain_by_axis_mm_s2=_scaled(middle.gain_by_axis_mm_s2, gain),
            # the speed goes with the root of acceleration times deviation
            deviation_mm=middle.deviation_mm and middle.deviation_mm * corner**2 / gain,
        )
        for gain, corner in zip((1 / _GAIN_FACTOR, _GAIN_FACTOR), _CORNER_FACTORS, strict=True)
    )
    return middle, slow, quick


def _scaled(
    values: tuple[float, float, float, float], factor: float
) -> tuple[float, float, float, float]:
    x, y, z, strand = values
    return x * factor, y * factor, z * factor, strand * factor


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0  # the reader says what is wrong


def _added(total: _Sum, moves: Moves) -> _Sum:
    lays = moves.kind == Kind.LAY
    travels = moves.kind == Kind.TRAVEL
    ends = (moves.start_mm[:, lays], moves.end_mm[:, lays])
    levels = np.unique(np.rint(ends[1][2] / _LEVEL_MM).astype(np.int64))
    known = total.levels
    if len(known) < _MOST_LEVELS:
        known = known.union(levels.tolist())
    pulls = (moves.kind == Kind.STRAND) & (moves.strand_mm < 0.0)
    return _Sum(
        moves=total.moves + len(moves),
        deposit_mm=total.deposit_mm + float(moves.deposit_mm.sum()),
        laid_mm=total.laid_mm + float(moves.length_mm[lays].sum()),
        travel_mm=total.travel_mm + float(moves.length_mm[travels].sum()),
        retractions=total.retractions + int(pulls.sum()),
        dwell_s=total.dwell_s + moves.dwell_s,
        lowest_mm=np.minimum(total.lowest_mm, _extreme(np.min, ends, np.inf)),
        highest_mm=np.maximum(total.highest_mm, _extreme(np.max, ends, -np.inf)),
        levels=known,
    )


def _extreme(pick: Callable[..., Floats], ends: tuple[Floats, Floats], nothing: float) -> Floats:
    """Lowest or highest x, y, z of both ends, (3,)."""
    return pick([pick(end, axis=1, initial=nothing) for end in ends], axis=0)


def _refuse_incomplete(path: Path, state: State, total: _Sum) -> None:
    lines = int(state.facts["lines"])
    if not total.moves:
        raise input_error(
            path,
            found=f"no moves in {lines} lines",
            expected="lines of G-code, such as G1 X10 Y10 E0.5 F1800",
            remedy="check that this is a toolpath file",
        )
    if state.facts["unfinished"] and state.facts.get("nozzle now", 0.0) > 0.0:
        raise input_error(
            path,
            line=lines,
            found="the end of the file in an unfinished line, with the nozzle still heated",
            expected="a complete file that turns the nozzle off",
            remedy="the file is cut off: copy or export it again",
        )


def _estimate(
    path: Path,
    state: State,
    total: _Sum,
    seconds: list[Floats],
    *,
    printer: Printer,
    filament: Filament | None,
    area_mm2: float,
) -> ToolpathEstimate:
    middle_s, slow_s, quick_s = (float(each.sum()) for each in seconds)
    facts = facts_of(state)
    starts = facts.heats or facts.homes or facts.levels
    start_s = printer.start_for(facts.nozzle_c or 0.0, facts.bed_c or 0.0) if starts else 0.0
    fixed_s = total.dwell_s + start_s
    volume_mm3 = total.deposit_mm * area_mm2
    return ToolpathEstimate(
        path=path,
        printer=printer.name,
        moves=total.moves,
        time_s=fixed_s + middle_s,
        range_s=(fixed_s + quick_s, fixed_s + slow_s),
        reasons=_reasons(facts, start_s),
        moves_s=middle_s,
        dwell_s=total.dwell_s,
        start_s=start_s,
        by_kind_s=tuple((kind.name.lower(), float(seconds[0][kind])) for kind in Kind),
        filament_mm=total.deposit_mm,
        filament_mm3=volume_mm3,
        filament_g=None if filament is None else filament.mass_g(volume_mm3),
        laid_mm=total.laid_mm,
        travel_mm=total.travel_mm,
        retractions=total.retractions,
        extents_mm=_extents(total),
        levels=len(total.levels),
        facts=facts,
    )


def _extents(
    total: _Sum,
) -> tuple[tuple[float, float, float], tuple[float, float, float]] | None:
    if not np.isfinite(total.lowest_mm).all():
        return None
    (a, b, c), (d, e, f) = total.lowest_mm.tolist(), total.highest_mm.tolist()
    return (a, b, c), (d, e, f)


def facts_of(state: State) -> Facts:
    """Return what a file says beside its moves, from the state at its end."""
    found = state.facts
    still_hot = found.get("nozzle now", 0.0) > 0.0
    said = dict(state.notes)
    if found["unfinished"]:
        said[notes.UNFINISHED] = int(found["lines"])
    if still_hot:
        said[notes.STILL_HOT] = int(found["lines"])
    return Facts(
        lines=int(found["lines"]),
        nozzle_c=found.get("nozzle"),
        bed_c=found.get("bed"),
        fan=found.get("fan"),
        still_hot=still_hot,
        homes="homes" in found,
        heats=found.get("nozzle", 0.0) > 0.0 or found.get("bed", 0.0) > 0.0,
        levels="levels" in found,
        pauses=int(found.get("pauses", 0)),
        tools=tuple(sorted(state.tools)),
        checksums=int(found["checksums"]),
        own_acceleration="gain" in found,
        own_corners="step" in found or bool(np.isfinite(state.registers["deviation"])),
        not_understood=tuple(sorted((word, *count) for word, count in state.tally.items())),
        assumptions=tuple(f"{text} (line {line})" for text, line in sorted(said.items())),
    )


def _reasons(facts: Facts, start_s: float) -> tuple[str, ...]:
    """Why the time is a range, and what stands outside it."""
    reasons = []
    if facts.own_acceleration:
        reasons.append("the printer may gain speed less quickly than the file asks")
    else:
        reasons.append("the file sets no acceleration: the profile's, halved and doubled")
    if not facts.own_corners:
        reasons.append("the file sets no corner speed: the profile's, 0.5 to 1.58 times")
    if start_s:
        reasons.append("heating, homing and levelling are the profile's guess")
    if facts.pauses:
        reasons.append(f"{facts.pauses} pauses for a person are not counted")
    if len(facts.tools) > 1:
        reasons.append("changes of tool are not counted")
    return tuple(reasons)
