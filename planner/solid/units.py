"""Units of length a mesh may be drawn in, and the remark for a size that looks wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.errors import input_error
from planner.solid.model import Repair
from planner.solid.words import clipped

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MM_PER_UNIT = {
    "micron": 1e-3,
    "mm": 1.0,
    "cm": 10.0,
    "in": 25.4,  # exact: international yard and pound agreement of 1959
    "foot": 304.8,
    "m": 1000.0,
}
"""Names as in the job file; the same six that the 3MF core specification (3.4) knows."""

LONG_NAMES = {"millimeter": "mm", "centimeter": "cm", "meter": "m", "inch": "in"}
"""3MF's own spelling, where it differs."""

SMALL_MM, LARGE_MM = 5.0, 1000.0
"""Outside this range a remark asks whether the unit is right (common practice, no source)."""

LEAST_MM, MOST_MM = 0.01, 100_000.0
"""Outside this range no desktop machine could make the part: refused (no source)."""


def short_unit(unit: str, *, file: object) -> str:
    """Return the job file's name of a unit; InputError for a unit nobody knows."""
    name = LONG_NAMES.get(unit, unit)
    if name not in MM_PER_UNIT:
        raise input_error(
            file,
            found=f"the unit '{clipped(unit)}'",
            expected="one of " + ", ".join(MM_PER_UNIT),
            remedy="correct the unit",
        )
    return name


def scale_remark(size: NDArray[np.float64], *, unit: str, stated: bool) -> Repair | None:
    """Return a remark if the largest extent looks like a wrong unit; nothing is changed.

    `size` is (3,) in the numbers of the file, `unit` how they were read, `stated` whether
    the file or the job said so.
    """
    largest = float(size.max())
    largest_mm = largest * MM_PER_UNIT[unit]
    if SMALL_MM <= largest_mm <= LARGE_MM:
        return None
    readings = ", ".join(
        f"{largest * factor:.4g} mm if drawn in {name}"
        for name, factor in MM_PER_UNIT.items()
        if name in {"mm", "in", "m"} and name != unit
    )
    origin = f"as {unit}" if stated else f"as {unit}, for the file states no unit"
    small_or_large = "small" if largest_mm < SMALL_MM else "large"
    return Repair(
        kind="scale",
        text=f"looks {small_or_large}: the largest extent is {largest_mm:.4g} mm, read "
        f"{origin}; it would be {readings}. Nothing was converted: set `unit` if it is wrong",
    )


def check_size(size_mm: NDArray[np.float64], *, file: object) -> None:
    """Refuse what is flat, smaller than a hundredth of a millimetre or larger than a house."""
    largest = float(size_mm.max())
    if not LEAST_MM <= largest <= MOST_MM:
        raise input_error(
            file,
            found=f"a largest extent of {largest:.4g} mm",
            expected=f"between {LEAST_MM:g} mm and {MOST_MM / 1000:g} m",
            remedy="set the unit the mesh is drawn in",
        )
    if float(size_mm.min()) < 1e-6 * largest:
        raise input_error(
            file,
            found="a flat mesh (" + " x ".join(f"{extent:.4g}" for extent in size_mm) + " mm)",
            expected="a solid with length, width and height",
            remedy="export the solid, not a sketch or a sheet",
        )
