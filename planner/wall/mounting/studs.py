"""Screws and the studs behind the wall: which meet one, and where the grid would meet more."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]

STUD_MM = 38.0
"""Width of the narrowest usual stud, of 38 to 45 mm (common practice, no source)."""

REACH_MM = 15.0
"""This near to a stud's middle a screw meets it: 4 mm of a 38 mm stud are left (invented)."""

HAIR_MM = 1e-6


def on_stud(x_mm: Floats, studs_mm: Sequence[float]) -> Bools:
    """Mark the places (n,) within reach of a stud's middle."""
    return _gap(x_mm, studs_mm) <= REACH_MM + HAIR_MM


def best_shift(
    x_mm: Floats, studs_mm: Sequence[float], *, left_mm: float, right_mm: float
) -> tuple[float, int]:
    """Shift of the grid, in mm to the right, at which most places meet a stud, and how many.

    The grid may move `left_mm` to the left and `right_mm` to the right. Among the best the
    one that lies nearest to the studs' middles, then the smallest. The count changes only
    where a place comes within reach or leaves it, so those shifts and the middles are tried.
    """
    columns, counts = np.unique(x_mm, return_counts=True)
    if not len(columns) or not studs_mm:
        return 0.0, 0
    middles = np.subtract.outer(np.array(studs_mm, dtype=float), columns).ravel()
    tries = np.concatenate([[0.0], middles, middles - REACH_MM, middles + REACH_MM])
    tries = np.unique(tries[(tries >= -left_mm - HAIR_MM) & (tries <= right_mm + HAIR_MM)])
    best = min(tries, key=lambda shift: _rank(float(shift), columns, counts, studs_mm))
    return float(best), -_rank(float(best), columns, counts, studs_mm)[0]


def _rank(
    shift_mm: float, columns: Floats, counts: NDArray[np.int64], studs_mm: Sequence[float]
) -> tuple[int, float, float]:
    gap = _gap(columns + shift_mm, studs_mm)
    meets = gap <= REACH_MM + HAIR_MM
    missed_mm = round(float(np.sum((gap * counts)[meets])), 6)
    return -int(np.sum(counts[meets])), missed_mm, abs(shift_mm)


def _gap(x_mm: Floats, studs_mm: Sequence[float]) -> Floats:
    """Distance of each place from the nearest stud."""
    studs = np.sort(np.array(studs_mm, dtype=float))
    after = np.clip(np.searchsorted(studs, x_mm), 0, len(studs) - 1)
    before = np.maximum(after - 1, 0)
    gap: Floats = np.minimum(np.abs(x_mm - studs[after]), np.abs(x_mm - studs[before]))
    return gap
