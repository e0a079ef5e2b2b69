"""What a piece asks of heaters and fan, line by line."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath import codes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.sheet import Sheet

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Events = tuple[Ints, Floats]


def _none() -> Events:
    return np.empty(0, dtype=np.int64), np.empty(0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Said:
    """Lines of the file and what they set: targets in degrees C, the fan's share from 0 to 1.

    `nozzle_waits` are the lines at which the machine waits for the nozzle.
    """

    nozzle: Events = field(default_factory=_none)
    bed: Events = field(default_factory=_none)
    fan: Events = field(default_factory=_none)
    nozzle_waits: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))


def said_in(sheet: Sheet) -> Said:
    """Return what the lines of a piece set."""
    if not len(sheet.column("M")[0]):
        return Said()
    return Said(
        nozzle=_targets(sheet, codes.NOZZLE),
        bed=_targets(sheet, codes.BED),
        fan=_fan(sheet),
        nozzle_waits=sheet.lines_of("M", *codes.NOZZLE_WAIT) + sheet.first_line,
    )


def _targets(sheet: Sheet, words: tuple[int, ...]) -> Events:
    lines = sheet.lines_of("M", *words)
    target = sheet.at("S", lines)
    target = np.where(np.isnan(target), sheet.at("R", lines), target)
    given = ~np.isnan(target)
    return lines[given] + sheet.first_line, target[given]


def _fan(sheet: Sheet) -> Events:
    lines = sheet.lines_of("M", codes.FAN_ON, codes.FAN_OFF)
    share = np.clip(np.nan_to_num(sheet.at("S", lines), nan=255.0) / 255.0, 0.0, 1.0)
    share[np.isin(lines, sheet.lines_of("M", codes.FAN_OFF))] = 0.0
    return lines + sheet.first_line, share
