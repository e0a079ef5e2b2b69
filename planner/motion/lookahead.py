"""Look-ahead: the quickest run along a path that never breaks a limit, move by move.

A move may enter only as fast as it can still slow down for what follows, and leave only as
fast as it could speed up from what came before. In squares of speed, u = v^2, both are linear
in the path (u changes by at most 2 a d over a move of length d), so with S the running sum of
2 a d the two passes are running minima:

    backward  B_i = min over j >= i of (J_j + S_j), less S_i
    forward   F_i = min over j <= i of (B_j - S_j), plus S_i

J being the limit at each corner. This is what a planner that walks the path backward and then
forward finds (the reverse and the forward pass of open CNC motion planners), without walking.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.motion.legs import legs_of

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from planner.motion.legs import Legs
    from planner.motion.limits import Limits

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

_BLOCK = 64
"""Moves per running sum: few, so that the sum stays small and keeps its digits."""
_CHUNK = 1 << 14
"""Moves worked on at a time, so that their arrays stay in a processor's cache."""


def move_seconds(
    vectors_mm: ArrayLike,
    *,
    speed_mm_s: ArrayLike,
    acceleration_mm_s2: ArrayLike,
    limits: Limits,
    strand_mm: ArrayLike | None = None,
    chain: ArrayLike | None = None,
) -> Floats:
    """Time of each move of one or many paths, in s, shape (n,).

    `vectors_mm` is (n, 2) or (n, 3): how far each move goes along x, y (and z). Speed and
    acceleration are what is asked for, scalar or (n,); `limits` (plain numbers) caps both.
    `strand_mm`, (n,), is the filament each move feeds, negative for a retraction: the strand's
    limits and the flow cap then hold too, and a move of the strand alone starts and ends at
    rest. `chain`, (n,), numbers independent paths: where it changes, the head rests. Moves of
    no length take no time and do not interrupt a path.

    Raises ValueError for shapes that do not fit, for lengths that are not finite, and for
    speeds and accelerations that are not finite or not above 0.
    """
    travel = _by_axis(np.asarray(vectors_mm, dtype=np.float64), strand_mm)
    count = travel.shape[1]
    speed = _positive("speed_mm_s", speed_mm_s, count)
    gain = _positive("acceleration_mm_s2", acceleration_mm_s2, count)
    chains = None if chain is None else np.broadcast_to(np.asarray(chain), count)
    moving = travel.any(axis=0)
    if not moving.all():
        result = np.zeros(count)
        rests = None if chains is None else _changes(chains[moving])
        result[moving] = _seconds(travel[:, moving], speed[moving], gain[moving], limits, rests)
        return result
    rests = None if chains is None else _changes(chains)
    return _seconds(travel, speed, gain, limits, rests)


def _seconds(
    travel: Floats, speed: Floats, gain: Floats, limits: Limits, rests: Bools | None
) -> Floats:
    return run(
        legs_of(travel, speed_mm_s=speed, acceleration_mm_s2=gain, limits=limits, rests=rests)
    )


def run(legs: Legs) -> Floats:
    """Time of each move of a path that ends at rest, in s, shape (n,)."""
    seconds = np.empty(len(legs))
    start, size = 0, _CHUNK
    arrival = float(legs.corner_squared[0]) if len(legs) else 0.0
    while start < len(legs):
        stop = start + size
        done, arrival = settle(legs.part(start, stop), arrival, more=stop < len(legs))
        seconds[start : start + len(done)] = done
        start += len(done)
        size = _CHUNK if len(done) else 2 * size
    return seconds


def settle(legs: Legs, arrival_squared: float, *, more: bool) -> tuple[Floats, float]:
    """Time the first moves of `legs`: those that nothing behind the last one can change.

    `arrival_squared` is the squared speed at the start. Returns the seconds, shape (m,) with
    m <= n, and the squared speed at the end of the m-th move: begin there with what is left and
    what follows. With `more` False the path ends at rest, and m = n.
    """
    corner = np.append(legs.corner_squared, 0.0)
    corner[0] = arrival_squared
    reach = 2.0 * legs.length_mm * legs.acceleration_mm_s2
    count = _settled(corner, reach) if more else len(legs)
    if count == 0:
        return np.empty(0), arrival_squared
    braking = _within_reach(corner, reach)
    squared = _within_reach(braking[::-1], reach[::-1])[::-1][: count + 1]
    return _times(legs.part(0, count), squared), float(squared[-1])


def _settled(corner: Floats, reach: Floats) -> int:
    """Return the last corner that could be taken at its limit even if the path ended in rest."""
    tail = np.cumsum(reach[::-1])[::-1]
    safe = np.flatnonzero(tail >= corner[:-1])
    return int(safe[-1]) if len(safe) else 0


def _within_reach(corner: Floats, reach: Floats) -> Floats:
    """Highest squared speed at each of n + 1 corners from which all later limits can be met.

    `reach`, (n,), is by how much the squared speed may fall over each move. Read backward, the
    same function speeds up. Works in blocks, then on the chain of blocks in the same way.
    """
    count = len(corner)
    blocks = -(-count // _BLOCK)
    limit = np.full((blocks, _BLOCK), np.inf)
    limit.ravel()[:count] = corner
    fall = np.zeros((blocks, _BLOCK))
    np.minimum(reach, corner[:-1], out=fall.ravel()[: count - 1])  # more would change nothing
    before = np.zeros((blocks, _BLOCK))
    np.cumsum(fall[:, :-1], axis=1, out=before[:, 1:])
    limit += before
    own = np.minimum.accumulate(limit[:, ::-1], axis=1)[:, ::-1]
    own -= before
    if blocks > 1:
        whole = before[:, -1] + fall[:, -1]
        later = _within_reach(own[:, 0], whole[:-1])[1:]
        np.minimum(own[:-1], (later + whole[:-1])[:, None] - before[:-1], out=own[:-1])
    return np.minimum(own.ravel()[:count], corner)


def _times(legs: Legs, squared: Floats) -> Floats:
    """Seconds of moves whose squared speeds at both ends are known, shape (n,).

    The peak of a move too short to cruise is where speeding up meets braking: half way between
    the ends in squares of speed, plus a d.
    """
    before, after = squared[:-1], squared[1:]
    mean = 0.5 * (before + after)
    gain, length = legs.acceleration_mm_s2, legs.length_mm
    peak_squared = np.minimum(gain * length + mean, np.square(legs.speed_mm_s))
    peak = np.sqrt(peak_squared)
    ends = np.sqrt(squared)
    ramps_s = (2.0 * peak - ends[:-1] - ends[1:]) / gain
    cruise_mm = np.maximum(length - (peak_squared - mean) / gain, 0.0)
    return ramps_s + cruise_mm / peak


def _by_axis(vectors: Floats, strand_mm: ArrayLike | None) -> Floats:
    """Return the moves by axis, (k, n), with the strand as the fourth row where it is known."""
    if vectors.ndim != 2 or vectors.shape[1] not in {2, 3}:
        raise ValueError(f"vectors_mm has shape {vectors.shape}; expected (n, 2) or (n, 3)")
    travel = np.zeros((vectors.shape[1] if strand_mm is None else 4, len(vectors)))
    travel[: vectors.shape[1]] = vectors.T
    if strand_mm is not None:
        travel[3] = strand_mm
    if not np.isfinite(travel).all():
        raise ValueError("a length is not finite")
    return travel


def _positive(name: str, value: ArrayLike, count: int) -> Floats:
    array = np.broadcast_to(np.asarray(value, dtype=np.float64), count)
    if not np.all((array > 0.0) & (array < np.inf)):
        raise ValueError(f"{name} must be finite and above 0 everywhere")
    return array


def _changes(chain: NDArray[np.generic]) -> Bools:
    return np.append(np.ones(min(len(chain), 1), dtype=bool), chain[1:] != chain[:-1])
