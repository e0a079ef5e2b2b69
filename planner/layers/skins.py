"""Where a layer is sparse: only under `top` and over `bottom` layers of the same part.

What the layers from i - bottom to i + top all cover is interior; the rest of layer i is
skin. Windows slide upwards over the groups of equal layers, and their intersections are
kept in a queue of two stacks (each region is joined about three times in all).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.layers.region import NOTHING, common

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from manifold3d import CrossSection
    from numpy.typing import NDArray

    Groups = NDArray[np.int64]

OUTSIDE = -1
"""Group of the layers below the first and above the last one."""


def windows(group: Groups, *, top: int, bottom: int) -> Groups:
    """Group at the lower and upper end of each layer's window, shape (layers, 2).

    >>> windows(np.array([0, 0, 1]), top=1, bottom=1)
    array([[-1,  0],
           [ 0,  1],
           [ 0, -1]])
    """
    padded = np.concatenate([np.full(bottom, OUTSIDE), group, np.full(top, OUTSIDE)])
    return np.stack([padded[: len(group)], padded[bottom + top :]], axis=1)


def covers(
    regions: Sequence[CrossSection], spans: Iterable[tuple[int, int]]
) -> Iterator[CrossSection]:
    """Yield the intersection of regions[low..high] for spans that only move upwards.

    A span with an end `OUTSIDE` yields the empty region.
    """
    queue = _Window()
    for low, high in spans:
        if OUTSIDE in (low, high):
            yield NOTHING
            continue
        queue.slide(regions, low, high)
        yield queue.intersection()


class _Window:
    """First-in first-out queue that knows the intersection of all it holds."""

    def __init__(self) -> None:
        self._low = self._high = 0
        self._front: list[CrossSection] = []
        self._back: list[CrossSection] = []
        self._back_all: CrossSection | None = None

    def slide(self, regions: Sequence[CrossSection], low: int, high: int) -> None:
        while self._high <= high:
            self._push(regions[self._high])
        while self._low < low:
            self._pop()

    def intersection(self) -> CrossSection:
        if not self._front:
            assert self._back_all is not None
            return self._back_all
        return (
            self._front[-1] if self._back_all is None else common(self._front[-1], self._back_all)
        )

    def _push(self, region: CrossSection) -> None:
        self._back_all = region if self._back_all is None else common(self._back_all, region)
        self._back.append(region)
        self._high += 1

    def _pop(self) -> None:
        if not self._front:
            self._turn_over()
        self._front.pop()
        self._low += 1

    def _turn_over(self) -> None:
        """Move the back to the front, oldest on top, each joined with those that came after."""
        for region in reversed(self._back):
            self._front.append(common(self._front[-1], region) if self._front else region)
        self._back.clear()
        self._back_all = None
