"""Items with copies to lay, and their rasters in every turn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner.nest.bound.form import TURNS_MOST, form_of, turned_about_low
from planner.nest.bound.raster import raster
from planner.nest.shape import turned_region

if TYPE_CHECKING:
    from collections.abc import Hashable

    from planner.nest.bound.form import Form
    from planner.nest.bound.problem import Problem
    from planner.nest.bound.raster import Cell, Raster
    from planner.nest.outline import Outline

_CORNERS = 64


@dataclass(frozen=True, slots=True)
class Kind:
    """An item with copies to lay, and the turns that a person allows (None: any)."""

    outline: Outline
    radius_mm: float
    turns: tuple[float, ...] | None
    copies: int
    beds: frozenset[int]

    @property
    def form(self) -> Form:
        """The item grown and filled up."""
        return form_of(self.outline, self.radius_mm)

    @property
    def key(self) -> tuple[Hashable, ...]:
        """What tells kinds apart."""
        return self.outline.key, self.turns, self.copies, tuple(sorted(self.beds))


def kind_of(problem: Problem, number: int) -> Kind:
    """Return an item of a problem as a kind."""
    turns = problem.items[number].rotations_deg
    fixed = number not in problem.free and len(turns) <= TURNS_MOST
    return Kind(
        problem.solid[number],
        problem.clearance_mm / 2,
        turns if fixed else None,
        problem.items[number].quantity,
        problem.allowed[number],
    )


def relative(
    inner: tuple[float, ...] | None, outer: tuple[float, ...] | None
) -> tuple[float, ...] | None:
    """Return the turns of an item as seen from another that it lies in; None for any."""
    if inner is None or outer is None:
        return None
    turns = sorted({(one - other) % 360.0 for one in inner for other in outer})
    return tuple(turns) if len(turns) <= TURNS_MOST else None


def size_of(form: Form, angle: float, radius_mm: float) -> tuple[float, float]:
    """Return width and depth of a form in a turn, with the growth all around."""
    low_x, low_y, high_x, high_y = turned_region(form.bare, angle).bounds
    return high_x - low_x + 2 * radius_mm, high_y - low_y + 2 * radius_mm


def turned(form: Form, angle: float, radius_mm: float, cell_mm: Cell) -> tuple[Raster, Raster]:
    """Return the rasters of a form in a turn: filled up, and bare."""
    low_x, low_y, _, _ = turned_region(form.bare, angle).bounds
    size = size_of(form, angle, radius_mm)
    filled, bare = (
        raster(
            turned_about_low(form, angle, bare=bare, low_mm=(low_x - radius_mm, low_y - radius_mm)),
            size,
            cell_mm,
        )
        for bare in (False, True)
    )
    return filled, bare


def disc_in(form: Form, cell_mm: Cell) -> tuple[Raster, None]:
    """Return the raster of the circle inside a form."""
    radius = form.disc[2]
    angles = 2 * np.pi * np.arange(_CORNERS) / _CORNERS
    corners = radius * (1 + np.column_stack([np.cos(angles), np.sin(angles)]))
    return raster(shapely.Polygon(corners), (2 * radius, 2 * radius), cell_mm), None
