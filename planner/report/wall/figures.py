"""Figures of filled walls that every report tells in the same way."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from planner.report.words import number
from planner.wall.rules import SHAPES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner.wall.model import Panelling

SIDES = ("left", "right", "bottom", "top")


def by_panels(panellings: Iterable[Panelling]) -> dict[int, int]:
    """Return how many junctions there are where 4, 3, 2 and 1 panels meet."""
    found = Counter(each.panels for panelling in panellings for each in panelling.junctions)
    return {panels: found[panels] for panels in (4, 3, 2, 1)}


def by_shape(panellings: Iterable[Panelling]) -> dict[str, int]:
    """Return how many junctions there are of every shape."""
    found = Counter(each.shape for panelling in panellings for each in panelling.junctions)
    return {shape: found[shape] for shape in SHAPES}


def edges(panellings: Iterable[Panelling], *, shared: bool) -> int:
    """Return how many edges there are between two cells, or at one alone."""
    return sum(edge.shared == shared for panelling in panellings for edge in panelling.edges)


def strips(panelling: Panelling) -> tuple[tuple[str, float, float], ...]:
    """Return what is left over at the margins: side, width and height in mm.

    Those at the sides are as high as the wall; those above and below lie between them.
    """
    wall = panelling.wall
    left, right, bottom, top = panelling.margins_mm
    between = wall.width_mm - left - right
    found = (
        ("left", left, wall.height_mm),
        ("right", right, wall.height_mm),
        ("bottom", between, bottom),
        ("top", between, top),
    )
    return tuple(
        (side, number(wide), number(high)) for side, wide, high in found if min(wide, high) > 0
    )
