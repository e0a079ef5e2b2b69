"""Faults that show move by move, watched for while a file is read; the first line of each."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath.model import Kind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.model import Moves
    from planner.settings.model import Printer

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

COLD_C = 150.0
"""No filament of the trade flows below this; firmware refuses to push below 150-170 (memory)."""
FARTHEST_MM = 1000.0
"""Beyond this from the origin no desktop printer goes: our choice."""
SLACK_MM = 0.01
LARGEST_LUMP_MM2 = 30.0
"""Strand length per way, times 2.4 mm2, that no nozzle under 3 mm lays: our choice, as below."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Where the head may go; without a printer only what no printer can do is a fault."""

    printer: Printer | None = None


@dataclass(slots=True)
class Watch:
    """First line and number of moves of every fault; filled in while the file is read."""

    limits: Limits
    nozzle_c: float = float("nan")
    waited: bool = False
    faults: dict[str, tuple[int, int, float]] = field(default_factory=dict)
    """Kind of fault -> first line, number of moves, the worst value met."""

    @classmethod
    def start(cls, limits: Limits) -> Watch:
        """Return a watch that has seen nothing."""
        return cls(limits=limits)

    def look(self, moves: Moves) -> None:
        """Take note of a piece's faults."""
        if len(moves):
            self._heat(moves)
            self._places(moves)
            self._lumps(moves)
        if len(moves.said.nozzle[0]):
            self.nozzle_c = float(moves.said.nozzle[1][-1])
        self.waited |= bool(len(moves.said.nozzle_waits))

    def _note(self, fault: str, moves: Moves, bad: Bools, values: Floats) -> None:
        index = np.flatnonzero(bad)
        if not len(index):
            return
        worst = values[index]
        worst_value = float(worst[np.argmax(np.abs(worst))])
        line, count, before = self.faults.get(fault, (int(moves.line[index[0]]), 0, worst_value))
        kept = worst_value if abs(worst_value) > abs(before) else before
        self.faults[fault] = (line, count + len(index), kept)

    def _heat(self, moves: Moves) -> None:
        lines, values = moves.said.nozzle
        place = np.searchsorted(lines, moves.line)
        target = np.append(self.nozzle_c, values)[place]
        feeds = moves.deposit_mm > 1e-4
        with np.errstate(invalid="ignore"):
            self._note("cold", moves, feeds & (target < COLD_C), target)
        self._note("never heated", moves, feeds & np.isnan(target), np.nan_to_num(target))
        if not self.waited:
            waits = moves.said.nozzle_waits
            first = waits[0] if len(waits) else np.inf
            self._note(
                "not waited", moves, feeds & (moves.line < first) & (target >= COLD_C), target
            )

    def _places(self, moves: Moves) -> None:
        x, y, z = moves.end_mm
        self._note("under z 0", moves, z < -SLACK_MM, z)
        reach = np.maximum(np.maximum(np.abs(x), np.abs(y)), np.abs(z))
        self._note("jump", moves, reach > FARTHEST_MM, reach)
        printer = self.limits.printer
        if printer is None:
            return
        beyond = np.maximum(
            np.maximum(-x, x - printer.bed_width_mm), np.maximum(-y, y - printer.bed_depth_mm)
        )
        lays = moves.kind == Kind.LAY
        self._note("laid outside", moves, lays & (beyond > SLACK_MM), beyond)
        self._note("goes outside", moves, ~lays & (beyond > SLACK_MM), beyond)
        self._note("too high", moves, z > printer.height_mm + SLACK_MM, z)
        for i, spot in enumerate(printer.keep_out):
            inside = (x > spot.x_min_mm) & (x < spot.x_max_mm)
            inside &= (y > spot.y_min_mm) & (y < spot.y_max_mm)
            self._note(f"keep-out {i}", moves, lays & inside, z)

    def _lumps(self, moves: Moves) -> None:
        lays = moves.kind == Kind.LAY
        section = np.zeros(len(moves))
        # a short start after a pull may catch up; what counts is more than a few mm of strand
        np.divide(moves.deposit_mm, moves.length_mm, out=section, where=lays)
        lump = lays & (section * 2.4 > LARGEST_LUMP_MM2) & (moves.deposit_mm > 5.0)
        self._note("lump", moves, lump, moves.deposit_mm)
