"""Walls of a region that is too thin for them somewhere: fewer lines there, or one line.

A place under 1.5 spacings wide gets one line of its own width instead of two, and one under
half a spacing between two walls none: its plastic goes to the neighbours. Only places longer
than a few widths count; tips and corners keep the parallels of the outline. A single line is
drawn along one side of its place: as long as its middle, but half a width off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from manifold3d import CrossSection

from planner.layers.region import NOTHING, grown, lost, without
from planner.layers.rings import Rings, lengths_mm, per_owner, per_ring, rings_of
from planner.layers.strokes import INNER, OUTER, Strokes, closed, joined, laid_but_last

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.layers.bead import Line

    Floats = NDArray[np.float64]

_ONE, _NO = 1.5, 0.5
"""Widths, in spacings, under which one line is drawn and under which none is."""

_LONG = 3.0
"""A place this many times as long as `_ONE` spacings is a wall; shorter ones are tips."""

_EVEN = 3e-3


def pinched(
    regions: Sequence[CrossSection],
    lines: Sequence[Line],
    inside: Sequence[CrossSection],
    *,
    count: int,
    owners: Sequence[int],
) -> Strokes:
    """Draw `count` walls in each region, for its owner; `inside` is what they leave."""
    insets = [
        [grown(region, -(line.edge_mm + wall * line.spacing_mm)) for wall in range(count)] + [rest]
        for region, line, rest in zip(regions, lines, inside, strict=True)
    ]
    bands = [
        _Band(
            region=inset[wall],
            area_mm2=inset[wall].area() - inset[wall + 1].area(),
            step_mm=line.spacing_mm,
            code=OUTER if wall == 0 else INNER,
            owner=owner,
        )
        for inset, line, owner in zip(insets, lines, owners, strict=True)
        for wall in range(count)
        if not inset[wall].is_empty()
    ]
    return _drawn(bands)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Band:
    """One wall of one region: the region it runs in, its area and its spacing."""

    region: CrossSection
    area_mm2: float
    step_mm: float
    code: int
    owner: int

    def loops(self, but: CrossSection = NOTHING) -> CrossSection:
        """Middle of the band, but for some places."""
        return grown(without(self.region, but), -self.step_mm / 2.0)


def _drawn(bands: Sequence[_Band]) -> Strokes:
    """Draw loops in the middle of every band; where they miss its area, look for thin places."""
    loops = [band.loops() for band in bands]
    rings = rings_of(loops)
    length = per_owner(per_ring(lengths_mm(rings), rings), rings, len(bands))
    step = np.array([band.step_mm for band in bands])
    area = np.array([band.area_mm2 for band in bands])
    missed = np.flatnonzero(abs(length * step - area) > _EVEN * area).tolist()
    singles: list[Strokes] = []
    for which, places in zip(missed, _thin([bands[n] for n in missed]), strict=True):
        if places:
            loops[which] = bands[which].loops(CrossSection.compose([p for p, _ in places]))
            singles += _singles(bands[which], places)
    rings = rings_of(loops)
    owner = np.array([band.owner for band in bands], dtype=np.int64)
    code = np.array([band.code for band in bands], dtype=np.int64)
    return joined([closed(rings, owner[rings.owner], code[rings.owner]), *singles])


def _singles(band: _Band, places: Sequence[tuple[CrossSection, float]]) -> list[Strokes]:
    """Draw one line in each place that its neighbours do not fill anyway."""
    return [
        _single(place, band.code, band.owner)
        for place, width_mm in places
        if band.code == OUTER or width_mm >= _NO * band.step_mm
    ]


def _thin(bands: Sequence[_Band]) -> list[list[tuple[CrossSection, float]]]:
    """Return the long places of each band's region under 1.5 spacings wide, and their widths.

    The width is the mean one of a long place: twice its area over its outline.
    """
    gone = [lost(band.region, _ONE * band.step_mm).decompose() for band in bands]
    places = [place for own in gone for place in own]
    band_of = np.repeat(np.arange(len(bands)), [len(own) for own in gone])
    rings = rings_of(places)
    length = per_owner(per_ring(lengths_mm(rings), rings), rings, len(places))
    widest = _ONE * np.array([band.step_mm for band in bands])[band_of]
    found: list[list[tuple[CrossSection, float]]] = [[] for _ in bands]
    for n in np.flatnonzero(length > 2.0 * _LONG * widest).tolist():
        width_mm = 2.0 * float(places[n].area()) / float(length[n])
        found[int(band_of[n])].append((places[n], width_mm))
    return found


def _single(place: CrossSection, code: int, owner: int) -> Strokes:
    """Draw one line through a place: round it if it has a hole, else along one side."""
    rings = sorted(place.to_polygons(), key=len, reverse=True)
    if len(rings) > 1:
        ring = Rings(points_mm=rings[0], size=np.array([len(rings[0])]), owner=np.array([owner]))
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
