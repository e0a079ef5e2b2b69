"""Drift of a board from the error of its first panel and of the spirit level.

Joints keep the panels of a board in one straight line, so a first panel out of level tilts
all of it. Nothing shows until the board meets something set by itself: another row levelled
on its own, the far side of a window, a second place of beginning. There the two are apart by
tilt times distance: at column c by error x c x pitch. While that is within the play of a joint
the panels still go together.

A level's usual error is 0.5 to 1.0 mm per metre (0.0286 and 0.0573 degrees: sourcebyspec.com,
tradejapanese.com; degrees computed).
"""

from __future__ import annotations

from math import atan, degrees, floor, hypot
from typing import TYPE_CHECKING

from planner.wall.model import Drift

if TYPE_CHECKING:
    from planner.job.layout.model import Levelling, PanelSystem
    from planner.wall.model import Counted, Panelling

ASSUMPTIONS = (
    (
        "the worst adds the errors of first panel and level straight, the typical one as root of "
        "squares, for they are independent (propagation of uncertainty, JCGM 100:2008, from memory)"
    ),
    (
        "joints keep a board straight: their play takes up the drift where two courses meet, and "
        "does not add to it"
    ),
    "where it exceeds the play is counted from where the board begins, bottom left",
)

HOW = (
    "at each check lay the level on, turn it end for end and take the middle of both readings: "
    "that takes out the level's own error (common practice, no source)"
)


def drifts(counted: Counted) -> tuple[Drift, ...]:
    """Tell for each wall how far it runs off, where that exceeds the play, where to check.

    Widths and heights are those of the cells, from the first column or row to the last.
    """
    walls = counted.walls
    return tuple(_drift(each, walls.system, walls.levelling) for each in counted.panellings)


def tilt_deg(error_mm_m: float) -> float:
    """Angle of so many mm per metre.

    >>> round(tilt_deg(0.5), 4)
    0.0286
    """
    return degrees(atan(error_mm_m / 1000.0))


def _drift(panelling: Panelling, system: PanelSystem, levelling: Levelling) -> Drift:
    columns = _span([cell.column for cell in panelling.cells])
    rows = _span([cell.row for cell in panelling.cells])
    pitch_x_mm, pitch_y_mm = system.pitch_mm
    worst = (levelling.first_panel_mm_m + levelling.level_mm_m) / 1000.0
    typical = hypot(levelling.first_panel_mm_m, levelling.level_mm_m) / 1000.0
    across = _within_play(worst * pitch_x_mm, system.joint_play_mm, len(columns))
    upwards = _within_play(worst * pitch_y_mm, system.joint_play_mm, len(rows))
    return Drift(
        wall=panelling.wall.name,
        worst_mm=worst * pitch_x_mm * len(columns),
        typical_mm=typical * pitch_x_mm * len(columns),
        worst_up_mm=worst * pitch_y_mm * len(rows),
        row=rows[upwards] if upwards < len(rows) else None,
        column=columns[across] if across < len(columns) else None,
        check_at=_checks(columns, across),
    )


def _span(numbers: list[int]) -> range:
    """From the first to the last column or row, gaps included."""
    return range(min(numbers), max(numbers) + 1) if numbers else range(0)


def _within_play(step_mm: float, play_mm: float, most: int) -> int:
    """How many panels in line, of `most`, drift by no more than the play of a joint."""
    if step_mm * most <= play_mm * (1 + 1e-9):
        return most
    return floor(play_mm / step_mm + 1e-9)


def _checks(columns: range, within: int) -> tuple[int, ...]:
    """Columns at whose far side to check, so that no stretch drifts by more than the play.

    Where one panel alone exceeds it, all of them: that is all that checking can do.
    """
    if within >= len(columns):
        return ()
    step = max(1, within)
    return tuple(columns[step - 1 :: step])
