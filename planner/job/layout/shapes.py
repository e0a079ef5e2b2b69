"""The size of a wall and the grid of its cells, however they were told."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

from planner.job.layout.mask import cells_of, rows_of
from planner.job.layout.model import WallShape

if TYPE_CHECKING:
    from planner.job.layout.form import WallForm
    from planner.job.layout.model import CutOut, Hung, Side

HAIR_MM = 1e-6
"""A nanometre: what rounding in sums of decimals may amount to, and no more."""


def grid_of(form: WallForm) -> tuple[int | None, int | None]:
    """Return the columns and rows that were told or drawn, None for as many as fit."""
    if form.mask is None:
        return form.columns, form.rows
    rows = rows_of(form.mask)
    return len(rows[0]), len(rows)


def size_of(form: WallForm, pitch_mm: tuple[float, float]) -> tuple[float, float]:
    """Return width and height in mm; cells that were told or drawn in place of a size fill it."""
    columns, rows = grid_of(form)
    width_mm = form.width_mm or (form.columns or columns or 0) * pitch_mm[0]
    height_mm = form.height_mm or (form.rows or rows or 0) * pitch_mm[1]
    return width_mm, height_mm


def fitting(length_mm: float, pitch_mm: float) -> int:
    """Return how many whole cells fit.

    >>> fitting(300, 100), fitting(299.9, 100), fitting(0.3, 0.1)
    (3, 2, 3)
    """
    return floor((length_mm + HAIR_MM) / pitch_mm)


def shape_of_wall(
    form: WallForm,
    pitch_mm: tuple[float, float],
    *,
    cut_outs: tuple[CutOut, ...],
    hung: tuple[Hung, ...],
    meets: tuple[Side, ...],
    where: str,
) -> WallShape:
    """Return the wall with its size in mm."""
    width_mm, height_mm = size_of(form, pitch_mm)
    return WallShape(
        name=form.name,
        width_mm=width_mm,
        height_mm=height_mm,
        cut_outs=cut_outs,
        mask=None if form.mask is None else cells_of(form.mask),
        offset_mm=form.offset_mm,
        grid=grid_of(form),
        hung=hung,
        studs_mm=form.studs_mm,
        meets=meets,
        where=where,
    )
