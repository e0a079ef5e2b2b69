"""Some kinds of layer that stand for all, to try what other limits would change.

Doubts about a profile move all layers alike, so their effect is taken from a spread-out
sample where timing all paths again and again would take long.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.model import Paths
from planner.layers.rings import ranges

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

MOST_POINTS = 3_000
"""Paths with fewer points are looked at as a whole."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sample:
    """Paths of a few kinds of layer; `layers` says how many layers each stands for."""

    paths: Paths
    layers: Ints
    kinds: Ints | None

    def gain(self, known_s: Floats, guess_s: Floats) -> Floats:
        """By how much the seconds of each layer and feature grow, to multiply [layer, feature].

        A whole sample answers for each layer by itself, a part of one for all layers alike.
        """
        if self.kinds is None:
            return _quotient(guess_s, known_s, 1.0)[self.paths.kind]
        before, after = self.layers @ known_s, self.layers @ guess_s
        return _quotient(after, before, float(after.sum() / before.sum()))[None]


def sample(paths: Paths) -> Sample:
    """Pick every n-th kind so that about `MOST_POINTS` points are left."""
    layers = np.bincount(paths.kind, minlength=len(paths.section_mm2))
    every = -(-len(paths.code) // MOST_POINTS)
    if every <= 1 or len(layers) < 2 * every:
        return Sample(paths=paths, layers=layers, kinds=None)
    kinds = np.arange(every // 2, len(layers), every)
    return Sample(paths=_some(paths, kinds), layers=layers[kinds], kinds=kinds)


def _some(paths: Paths, kinds: Ints) -> Paths:
    """Keep the paths of some kinds; they are the kinds of as many layers."""
    size = np.diff(paths.start)[kinds]
    point = ranges(paths.start[kinds], size)
    return Paths(
        points_mm=paths.points_mm[point],
        code=paths.code[point],
        rests=paths.rests[point],
        start=np.append(0, np.cumsum(size)),
        kind=np.arange(len(kinds)),
        section_mm2=paths.section_mm2[kinds],
    )


def _quotient(above: Floats, below: Floats, otherwise: float) -> Floats:
    return np.divide(above, below, out=np.full_like(above, otherwise), where=below > 0.0)
