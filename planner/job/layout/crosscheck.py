"""What only shows when the pieces of a wall are seen together."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from planner.document.wording import shown
from planner.job.layout.shapes import HAIR_MM, fitting, grid_of, size_of

if TYPE_CHECKING:
    from planner.job.faults import Faults
    from planner.job.layout.form import CutOutForm, WallForm, WallsForm

CELLS_MAX = 100_000
"""Cells of all walls together: a thousand square metres at 100 mm. Beyond it, a slip."""
AXES = ("columns", "rows")
SIZES = ("width_mm", "height_mm")


def check_layout(
    form: WallsForm, place: str, pitch_mm: tuple[float, float], faults: Faults
) -> None:
    """Note names told twice, walls too small or too large, and what lies outside of them."""
    _check_names([wall.name for wall in form.walls], f"{place}walls", "walls", faults)
    for index, wall in enumerate(form.walls):
        here = f"{place}walls[{index}]"
        _check_size(wall, here, pitch_mm, faults)
        _check_cut_outs(wall, here, size_of(wall, pitch_mm), faults)
        _check_studs(wall, here, size_of(wall, pitch_mm)[0], faults)
    _check_cells(form, place, pitch_mm, faults)


def _check_names(names: list[str], place: str, noun: str, faults: Faults) -> None:
    for index, name in enumerate(names):
        if name in names[:index]:
            faults.add(
                f"{place}[{index}].name",
                found=f"{shown(name)} a second time",
                expected=f"different names for all {noun}",
                remedy="rename one of the two",
            )


def _check_size(wall: WallForm, place: str, pitch_mm: tuple[float, float], faults: Faults) -> None:
    told, size_mm, start_mm = grid_of(wall), size_of(wall, pitch_mm), wall.offset_mm or (0.0, 0.0)
    for axis, length_mm, pitch, cells, start in zip(
        (0, 1), size_mm, pitch_mm, told, start_mm, strict=True
    ):
        said = wall.columns if axis == 0 else wall.rows
        if wall.mask is not None and said not in (None, cells):
            faults.add(
                f"{place}.{AXES[axis]}",
                found=f"{said} {AXES[axis]}, and a drawing of {cells}",
                expected="the same number",
                remedy="leave one of the two out",
            )
        elif length_mm + HAIR_MM < pitch:
            faults.add(
                f"{place}.{SIZES[axis]}",
                found=f"the wall {shown(wall.name)}, {length_mm:g} mm "
                f"{('wide', 'high')[axis]}, without room for the cell in column 1, row 1",
                expected=f"at least one panel of {pitch_mm[0]:g} x {pitch_mm[1]:g} mm",
                remedy=f"correct {SIZES[axis]}, or the system's pitch_mm",
            )
        elif start < 0 or start + (cells or 1) * pitch > length_mm + HAIR_MM:
            span_mm = (start, start + (cells or 1) * pitch)
            _outgrown(wall, place, axis, (span_mm, length_mm), faults)


def _outgrown(
    wall: WallForm,
    place: str,
    axis: int,
    spans_mm: tuple[tuple[float, float], float],
    faults: Faults,
) -> None:
    """Note a grid that reaches over an end of its wall; spans are the grid's and the wall's."""
    (begin, end), length_mm = spans_mm
    key = "mask" if wall.offset_mm is None else f"offset_mm[{axis}]"
    faults.add(
        f"{place}.{key}",
        found=f"cells from {begin:g} to {end:g} mm on the wall {shown(wall.name)}",
        expected=f"cells within its {('width', 'height')[axis]}, 0 to {length_mm:g} mm",
        remedy=f"correct {key.partition('[')[0]}, or the size of the wall",
    )


def _check_cut_outs(
    wall: WallForm, place: str, size_mm: tuple[float, float], faults: Faults
) -> None:
    _check_names([each.name for each in wall.cut_outs], f"{place}.cut_outs", "cut-outs", faults)
    for index, each in enumerate(wall.cut_outs):
        for (low, high), length_mm, axis in zip(_spans(each), size_mm, (0, 1), strict=True):
            if low < -HAIR_MM or high > length_mm + HAIR_MM:
                faults.add(
                    f"{place}.cut_outs[{index}]",
                    found=f"the cut-out {shown(each.name)} from {low:g} to {high:g} mm "
                    f"{('across', 'up')[axis]}, outside the wall {shown(wall.name)}",
                    expected=f"a cut-out within its {('width', 'height')[axis]}, "
                    f"0 to {length_mm:g} mm",
                    remedy=f"correct {('x_mm or width_mm', 'y_mm or height_mm')[axis]}",
                )
    for (_, one), (index, other) in combinations(enumerate(wall.cut_outs), 2):
        shared = [
            (max(a[0], b[0]), min(a[1], b[1]))
            for a, b in zip(_spans(one), _spans(other), strict=True)
        ]
        if all(high - low > HAIR_MM for low, high in shared):
            (x, _), (y, _) = shared
            faults.add(
                f"{place}.cut_outs[{index}]",
                found=f"the cut-out {shown(other.name)}, which overlaps {shown(one.name)} from "
                f"x {x:g} mm, y {y:g} mm",
                expected="cut-outs that do not overlap (they may touch)",
                remedy="correct one of the two, or make them one",
            )


def _spans(cut_out: CutOutForm) -> tuple[tuple[float, float], tuple[float, float]]:
    return (
        (cut_out.x_mm, cut_out.x_mm + cut_out.width_mm),
        (cut_out.y_mm, cut_out.y_mm + cut_out.height_mm),
    )


def _check_studs(wall: WallForm, place: str, width_mm: float, faults: Faults) -> None:
    for index, x_mm in enumerate(wall.studs_mm):
        if not 0 <= x_mm <= width_mm:
            faults.add(
                f"{place}.studs_mm[{index}]",
                found=f"a stud at {x_mm:g} mm",
                expected=f"studs behind the wall, 0 to {width_mm:g} mm",
                remedy="measure from the wall's left edge, or leave the stud out",
            )


def _check_cells(
    form: WallsForm, place: str, pitch_mm: tuple[float, float], faults: Faults
) -> None:
    total = 0
    for wall in form.walls:
        width_mm, height_mm = size_of(wall, pitch_mm)
        total += fitting(width_mm, pitch_mm[0]) * fitting(height_mm, pitch_mm[1])
    if total > CELLS_MAX:
        faults.add(
            f"{place}walls",
            found=f"room for {total:,} cells".replace(",", " "),
            expected=f"at most {CELLS_MAX:,} on all walls together".replace(",", " "),
            remedy="check the sizes of the walls and the system's pitch_mm, in millimetres",
        )
