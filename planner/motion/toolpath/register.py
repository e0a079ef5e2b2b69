"""Values that hold until they are changed, over all lines of a piece at once.

A value that nothing changes stays a plain number, so that the usual file costs nothing for the
dozens of modes it never touches.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]
    Held = float | Floats


def hold(before: float, lines: Ints, values: Floats, count: int) -> Held:
    """Value in force in each of `count` lines: `values` hold from their `lines` (sorted) on.

    >>> hold(1.0, np.array([2]), np.array([5.0]), 4).tolist()
    [1.0, 1.0, 5.0, 5.0]
    >>> hold(1.0, np.array([], int), np.array([]), 4)
    1.0
    """
    if not len(lines):
        return before
    spans = np.diff(lines, prepend=0, append=count)
    return np.repeat(np.append(before, values), spans)


def follow(before: float, lines: Ints, values: Floats, adds: Bools | None, count: int) -> Held:
    """Like `hold`, but where `adds` is set a value is added to what held before.

    >>> follow(1.0, np.array([0, 1, 3]), np.array([2.0, 5.0, 1.0]), np.array([1, 0, 1], bool), 4)
    array([3., 5., 5., 6.])
    """
    if adds is None or not adds.any():
        return hold(before, lines, values, count)
    total = np.cumsum(np.where(adds, values, 0.0))
    base = np.append(before, np.where(adds, 0.0, values - total))
    last = np.maximum.accumulate(np.where(adds, 0, np.arange(1, len(lines) + 1)))
    return hold(before, lines, base[last] + total, count)


def pick(held: Held, index: Ints | Bools) -> Held:
    """Values at some places; a plain number stays one."""
    return held[index] if isinstance(held, np.ndarray) else held


def last(held: Held) -> float:
    """Value at the end of the piece."""
    return float(held[-1]) if isinstance(held, np.ndarray) else held


def spread(held: Held, count: int) -> Floats:
    """Values as an array in any case."""
    return np.broadcast_to(np.asarray(held, dtype=np.float64), count)
