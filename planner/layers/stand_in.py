"""Which kinds of layer are drawn at all, where drawing every one would take very long.

Meshes such as lattices have thousands of corners in each of hundreds of distinct layers that
change little from one to the next. Some of them are then drawn, and each other one takes the
paths of the nearest that is; areas and filament stay those of every single layer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Ints = NDArray[np.int64]

MOST_CORNERS = 150_000
"""Corners of cuts, over all kinds of layer, up to which every kind is drawn: about a second."""


def stand_ins(corners: Ints) -> Ints:
    """Return for each kind of layer the kind whose paths it takes: its own if it is drawn.

    `corners` counts those of each kind's cut; kinds are in order of height, and of the first
    layer none but itself is drawn. Every n-th is drawn, n odd, so that both ways of the
    lines are among them.

    >>> stand_ins(np.array([4, 4, 4])).tolist()
    [0, 1, 2]
    """
    stand = np.arange(len(corners))
    every = -(-int(corners.sum()) // MOST_CORNERS)
    every += 1 - every % 2
    full = np.flatnonzero(corners[1:] > 0) + 1
    if every > 1 and len(full) > every:
        drawn = full[every // 2 :: every]
        nearest = np.clip((np.arange(len(full)) // every), 0, len(drawn) - 1)
        stand[full] = drawn[nearest]
    return stand
