"""Strokes of the fill of every kind of layer: solid, bridges, sparse and support."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.layers.hatch import Hatch, hatched
from planner.layers.pattern import CHORDS, FIRST_RAD, pattern_of, stretch
from planner.layers.rings import ranges, rings_of
from planner.layers.strokes import BRIDGE, SOLID, SPARSE, SUPPORT, Strokes, joined
from planner.layers.support import DENSITY
from planner.layers.wave import waved

if TYPE_CHECKING:
    from collections.abc import Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    from planner.layers.areas import Inside
    from planner.layers.kinds import Kinds
    from planner.settings.model import Settings

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]


_LEAST = 1e-6
"""Shares of filling under this are drawn as this: no line of it meets a part."""


def fills(within: Inside, found: Kinds, settings: Settings, spacing_mm: Floats) -> Strokes:
    """Hatch what the walls leave, and the support; owners are kinds, `spacing_mm` is theirs."""
    parts = [
        _parallel(within.solid, found.cell, found.odd, spacing_mm, SOLID),
        _parallel(within.bridge, found.cell, found.odd, spacing_mm, BRIDGE),
        _parallel(found.columns, found.held, found.odd, spacing_mm / DENSITY, SUPPORT),
    ]
    if settings.infill > 0.0:
        parts += _sparse(within.sparse, found, settings, spacing_mm)
    return joined(parts)


def _parallel(
    regions: Sequence[CrossSection], which: Ints, odd: Ints, spacing_mm: Floats, code: int
) -> Strokes:
    """Hatch to and fro, layer about layer across."""
    angle = np.where(odd == 1, FIRST_RAD + np.pi / 2.0, FIRST_RAD)
    return _hatch(regions, which, odd, angle_rad=angle, spacing_mm=spacing_mm, code=code)


def _sparse(
    regions: Sequence[CrossSection], found: Kinds, settings: Settings, spacing_mm: Floats
) -> list[Strokes]:
    """Hatch in every direction of the pattern, so far apart that all together lay the share."""
    pattern, _ = pattern_of(settings.infill_pattern)
    ways = len(pattern.even_rad)
    longer = ways * stretch(pattern.wave) / max(settings.infill, _LEAST)
    apart = spacing_mm * longer
    directions = zip(pattern.directions(odd=False), pattern.directions(odd=True), strict=True)
    parts = []
    for even, odd in directions:
        angle = np.where(found.odd == 1, odd, even)
        strokes = _hatch(
            regions, found.cell, found.odd, angle_rad=angle, spacing_mm=apart, code=SPARSE
        )
        parts.append(waved(strokes, angle, apart, pattern.wave, CHORDS))
    return parts


def _hatch(
    regions: Sequence[CrossSection],
    which: Ints,
    odd: Ints,
    *,
    angle_rad: Floats,
    spacing_mm: Floats,
    code: int,
) -> Strokes:
    """Hatch region `which[k]` for every kind k; equal kinds of hatching are made once."""
    wanted = np.array([w >= 0 and not regions[w].is_empty() for w in which.tolist()], dtype=bool)
    keys = np.stack([which, odd, np.round(spacing_mm * 1e9)], axis=1)[wanted]
    if not len(keys):
        return joined([])
    _, first, same = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    kind = np.flatnonzero(wanted)[first]
    line = code in (SOLID, BRIDGE, SUPPORT)
    strokes = hatched(
        rings_of([regions[w] for w in which[kind].tolist()]),
        Hatch(
            angle_rad=angle_rad[kind],
            spacing_mm=spacing_mm[kind],
            inset_mm=spacing_mm[kind] / 2.0 if line else 0.0 * spacing_mm[kind],
            turns=np.full(len(kind), line),
            code=np.full(len(kind), code),
        ),
    )
    return picked(strokes, same.ravel(), np.flatnonzero(wanted))


def picked(strokes: Strokes, source: Ints, owner: Ints) -> Strokes:
    """Hand the strokes of owner `source[k]` to owner `owner[k]`, for every k; -1 is none."""
    some = source >= 0
    low = np.searchsorted(strokes.owner, source[some])
    count = np.searchsorted(strokes.owner, source[some], side="right") - low
    index = ranges(low, count)
    size = strokes.size[index]
    points = ranges(strokes.start[index], size)
    return Strokes(
        points_mm=strokes.points_mm[points],
        size=size,
        owner=np.repeat(owner[some], count),
        code=strokes.code[index],
        lays=strokes.lays[points],
    )
