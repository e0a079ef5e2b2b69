"""Connected components of a graph, in numpy alone: scipy takes longer to load than a mesh."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from planner.solid.model import Indices


def components(count: int, one: Indices, other: Indices) -> Indices:
    """Return the lowest node of each node's component, shape (count,); edges link `one`, `other`.

    Roots of higher number are hung under the lowest that they are linked to, then all paths
    are shortened by jumping, until no link joins two roots (after Shiloach and Vishkin, "An
    O(log n) parallel connectivity algorithm", J. Algorithms 3 (1982) 57-67).

    >>> components(5, np.array([3, 1]), np.array([4, 3])).tolist()
    [0, 1, 2, 1, 1]
    """
    root = np.arange(count)
    while True:
        low, high = np.minimum(root[one], root[other]), np.maximum(root[one], root[other])
        apart = low != high
        if not apart.any():
            return root
        one, other = one[apart], other[apart]
        np.minimum.at(root, high[apart], low[apart])
        while not np.array_equal(onward := root[root], root):
            root = onward
