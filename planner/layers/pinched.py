"""Walls of a region that is too thin for them somewhere: fewer lines there, or one line.

A place under 1.5 spacings wide gets one line of its own width instead of two, and one under
half a spacing between two walls none: its plastic goes to the neighbours. Only places longer
than a few widths count; tips and corners keep the parallels of the outline. A single line is
drawn along one side of its place: as long as its middle, but half a width off.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.layers.region import grown, lost, outline, without
from planner.layers.rings import Rings, rings_of
from planner.layers.strokes import INNER, OUTER, Strokes, closed, joined, laid_but_last

if TYPE_CHECKING:
    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from planner.layers.bead import Line

    Floats = NDArray[np.float64]

_ONE, _NO = 1.5, 0.5
"""Widths, in spacings, under which one line is drawn and under which none is."""

_LONG = 3.0
"""A place this many times as long as `_ONE` spacings is a wall; shorter ones are tips."""

_EVEN = 3e-3


def pinched(
    region: CrossSection, line: Line, count: int, *, owner: int
) -> tuple[float, Strokes]:
    """Return the area inside the outer wall and the strokes of `count` walls."""
    step_mm = line.spacing_mm
    insets = [grown(region, -(line.edge_mm + wall * step_mm)) for wall in range(count + 1)]
    strokes: list[Strokes] = []
    for wall in range(count):
        if insets[wall].is_empty():
            break
        band_mm2 = insets[wall].area() - insets[wall + 1].area()
        strokes += _wall(insets[wall], step_mm, band_mm2, wall=wall, owner=owner)
    return insets[1].area(), joined(strokes)


def _wall(
    region: CrossSection, step_mm: float, band_mm2: float, *, wall: int, owner: int
) -> list[Strokes]:
    """Draw the wall along the outline of `region`: loops, and single lines where it is thin."""
    code = OUTER if wall == 0 else INNER
    loops = grown(region, -step_mm / 2.0)
    singles: list[Strokes] = []
    if abs(outline(loops).length_mm * step_mm - band_mm2) > _EVEN * band_mm2:
        thin = _thin(region, step_mm)
        for place in thin:
            region = without(region, place)
            if wall == 0 or _width_mm(place) >= _NO * step_mm:
                singles.append(_single(place, code, owner))
        loops = grown(region, -step_mm / 2.0) if thin else loops
    rings = rings_of([loops])
    return [closed(rings, np.full(len(rings.size), owner), code), *singles]


def _thin(region: CrossSection, step_mm: float) -> list[CrossSection]:
    """Return the long places of a region that are under 1.5 spacings wide."""
    widest_mm = _ONE * step_mm
    gone = lost(region, widest_mm)
    if gone.is_empty():
        return []
    return [
        place
        for place in gone.decompose()
        if place.area() > _LONG * widest_mm * _width_mm(place)
    ]


def _width_mm(place: CrossSection) -> float:
    """Mean width of a long place: twice its area over its outline."""
    length_mm = outline(place).length_mm
    return 2.0 * place.area() / length_mm if length_mm > 0.0 else 0.0


def _single(place: CrossSection, code: int, owner: int) -> Strokes:
    """Draw one line through a place: round it if it has a hole, else along one side."""
    rings = sorted(place.to_polygons(), key=len, reverse=True)
    if len(rings) > 1:
        ring = Rings(
            points_mm=rings[0], size=np.array([len(rings[0])]), owner=np.array([owner])
        )
        return closed(ring, ring.owner, code)
    points = _half(rings[0])
    size = np.array([len(points)])
    return Strokes(
        points_mm=points,
        size=size,
        owner=np.array([owner]),
        code=np.array([code]),
        lays=laid_but_last(size),
    )


def _half(ring: Floats) -> Floats:
    """Return half of a ring's length, from its point farthest from the middle."""
    far = int(np.argmax(np.square(ring - ring.mean(axis=0)).sum(axis=1)))
    turned = np.roll(ring, -far, axis=0)
    closed_ring = np.concatenate([turned, turned[:1]])
    travelled = np.append(0.0, np.cumsum(np.hypot(*np.diff(closed_ring, axis=0).T)))
    half_mm = travelled[-1] / 2.0
    last = int(np.searchsorted(travelled, half_mm))
    share = (half_mm - travelled[last - 1]) / (travelled[last] - travelled[last - 1])
    end = closed_ring[last - 1] + share * (closed_ring[last] - closed_ring[last - 1])
    return np.concatenate([closed_ring[:last], end[None]])


