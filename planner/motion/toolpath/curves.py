"""Arcs from the words of a file, checked: by centre or radius, flat, both ends on the circle."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath.arcs import MOST_CHORDS, Arcs, by_centre, centre_of
from planner.motion.toolpath.modes import by_line

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.motion.toolpath.modes import Modes
    from planner.motion.toolpath.page import Page
    from planner.motion.toolpath.rows import Rows

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

_OFF_MM, _OFF_SHARE = 0.05, 0.01
"""How far apart the radii at both ends may be: coordinates are written with few digits. Our
choice; NISTIR 6556 asks for 0.002 mm, which files of the trade with three digits often miss."""

_REMEDY = "export the toolpath again, if need be without arcs"


def curves(page: Page, modes: Modes, rows: Rows, clockwise: Bools) -> Arcs:
    """Return the arcs of rows that are all G2 or G3.

    Raises InputError for another plane, for an arc without a centre or a radius, with ends that
    do not fit it, or too large for any printer.
    """
    line = rows.line
    _refuse(
        page,
        line,
        by_line(modes.plane, line) != 17.0,
        found="an arc in another plane (G18 or G19)",
        expected="arcs in the xy plane",
    )
    offset, radius = _centres(page, modes, line)
    by_radius = ~np.isnan(radius)
    start, end = rows.start_mm[:2], rows.end_mm[:2]
    beside = centre_of(
        start[:, by_radius], end[:, by_radius], radius[by_radius], clockwise[by_radius]
    )
    offset[:, by_radius] = beside
    _refuse(
        page,
        line,
        np.asarray(~np.isfinite(offset).all(axis=0)),
        found="an arc whose radius R does not reach from its start to its end",
        expected="ends that are apart, by no more than twice the radius",
    )
    arcs = by_centre(start, end, offset, clockwise)
    off = np.abs(arcs.end_radius_mm - arcs.radius_mm)
    _refuse(
        page,
        line,
        (off > _OFF_MM + _OFF_SHARE * arcs.radius_mm) | (arcs.radius_mm == 0.0),
        found="an arc whose start and end are not equally far from its centre",
        expected=f"equal radii within {_OFF_MM:g} mm and {_OFF_SHARE:.0%}",
    )
    _refuse(
        page,
        line,
        arcs.chords > MOST_CHORDS,
        found="an arc longer than any printer is wide",
        expected="a radius under 4 m",
    )
    return arcs


def _centres(page: Page, modes: Modes, line: Ints) -> tuple[Floats, Floats]:
    """Offsets of centres (2, n) by I and J, and radii (n,) by R (NaN where not given), in mm."""
    i, j, radius = (page.sheet.at(letter, line) * by_line(modes.unit, line) for letter in "IJR")
    centred = ~(np.isnan(i) & np.isnan(j))
    _refuse(
        page,
        line,
        ~centred & np.isnan(radius),
        found="an arc without a centre or a radius",
        expected="I and J, or R",
    )
    _refuse(
        page,
        line,
        centred & ~np.isnan(radius),
        found="an arc with both a centre and a radius",
        expected="I and J, or R",
    )
    return np.nan_to_num(np.stack([i, j])), radius


def _refuse(page: Page, line: Ints, bad: Bools, *, found: str, expected: str) -> None:
    for place in np.flatnonzero(bad)[:1]:
        page.sheet.refuse(line[place], found=found, expected=expected, remedy=_REMEDY)
