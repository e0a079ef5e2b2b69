"""Parallel lines through many regions at once, joined to strokes that run to and fro.

Lines lie at whole multiples of their spacing (and a half) from the origin, the middle of
the part, so that those of equal layers lie on each other. Where a stretch of one line faces
exactly one stretch of the next and the other way round, the head goes on from it to that
one; so a stroke fills a region without forks (a cellular decomposition, as in mowing).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.layers.rings import following, ranges
from planner.layers.strokes import NONE, Strokes, laid_but_last

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.layers.rings import Rings

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

_LONG_TURN = 3.0
"""Turns over this many spacings lay nothing: the border runs nearly along the lines there."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hatch:
    """How each owner of some rings is hatched: arrays of one entry per owner.

    angle_rad is the direction of the lines; ends stay `inset_mm` inside the region; turns lay
    plastic where `turns` is set; the codes are those of the strokes.
    """

    angle_rad: Floats
    spacing_mm: Floats
    inset_mm: Floats
    turns: Bools
    code: Ints


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stretches:
    """Stretches inside the regions, sorted by line and along it.

    Lines are numbered apart for every owner: those of different owners are no neighbours.
    """

    line: Ints
    low: Floats
    high: Floats


def hatched(rings: Rings, how: Hatch) -> Strokes:
    """Hatch the regions that the rings bound, each owner in its own way."""
    if not len(rings.size):
        return NONE
    turned = _turned(rings.points_mm, -how.angle_rad[_owner_of_point(rings)])
    spacing = how.spacing_mm[_owner_of_point(rings)]
    rows = turned[:, 1] / spacing - 0.5
    shift = _shift(rings, rows, len(how.code))
    found = _stretches(turned[:, 0], rows + shift[_owner_of_point(rings)], following(rings))
    if not len(found.line):
        return NONE
    owner = np.searchsorted(_first_line(shift, rows, rings), found.line, side="right") - 1
    return _strokes(found, owner, shift, how)


def _owner_of_point(rings: Rings) -> Ints:
    return np.repeat(rings.owner, rings.size)


def _turned(points: Floats, angle: Floats) -> Floats:
    cosine, sine = np.cos(angle), np.sin(angle)
    x, y = points.T
    return np.stack([x * cosine - y * sine, x * sine + y * cosine], axis=1)


def _shift(rings: Rings, rows: Floats, owners: int) -> Floats:
    """Whole number that each owner's rows are moved by, so that all rows lie apart."""
    low = np.full(owners, np.inf)
    high = np.full(owners, -np.inf)
    np.minimum.at(low, _owner_of_point(rings), rows)
    np.maximum.at(high, _owner_of_point(rings), rows)
    used = np.isfinite(low)
    low, high = np.where(used, np.floor(low), 0.0), np.where(used, np.ceil(high), 0.0)
    room = high - low + 3.0
    first: Floats = np.cumsum(room) - room - low
    return first


def _first_line(shift: Floats, rows: Floats, rings: Rings) -> Floats:
    """First line that may belong to each owner; owners without rings share their next one's."""
    low = np.full(len(shift), np.inf)
    np.minimum.at(low, _owner_of_point(rings), rows)
    first: Floats = np.where(np.isfinite(low), np.floor(low), 0.0) + shift
    return first


def _stretches(along: Floats, rows: Floats, after: Ints) -> _Stretches:
    """Cross every edge with the whole-numbered rows it spans and pair the crossings up."""
    down, up = np.minimum(rows, rows[after]), np.maximum(rows, rows[after])
    first = np.ceil(down).astype(np.int64)
    count = np.ceil(up).astype(np.int64) - first  # half open: shared ends count once
    line = ranges(first, count)
    edge = np.repeat(np.arange(len(rows)), count)
    share = (line - rows[edge]) / (rows[after][edge] - rows[edge])
    where = along[edge] + share * (along[after][edge] - along[edge])
    order = np.argsort(_keys(line, where, along), kind="stable")
    where, line = where[order], line[order]
    return _Stretches(line=line[0::2], low=where[0::2], high=where[1::2])


def _keys(line: Ints, where: Floats, along: Floats) -> Floats:
    """One number that sorts by line first and then along it."""
    low, high = float(along.min()), float(along.max())
    keys: Floats = line + 0.98 * (where - low) / (high - low + 1.0) + 0.01
    return keys


def _strokes(found: _Stretches, owner: Ints, shift: Floats, how: Hatch) -> Strokes:
    """Join neighbouring stretches to strokes and turn them back into the part's frame."""
    head, rank = _chains(found)
    order = np.lexsort((rank, head))
    line, low, high = found.line[order], found.low[order], found.high[order]
    owner, rank, head = owner[order], rank[order], head[order]
    inset = np.minimum(how.inset_mm[owner], (high - low) / 4.0)
    low, high = low + inset, high - inset
    ends = np.where((rank % 2 == 0)[:, None], np.stack([low, high], 1), np.stack([high, low], 1))
    level = (line - shift[owner] + 0.5) * how.spacing_mm[owner]
    turned = np.stack([ends.ravel(), np.repeat(level, 2)], axis=1)
    size = 2 * np.diff(np.append(np.flatnonzero(np.diff(head, prepend=-1)), len(head)))
    first = np.cumsum(size) - size
    return Strokes(
        points_mm=_turned(turned, np.repeat(how.angle_rad[owner], 2)),
        size=size,
        owner=owner[first // 2],
        code=how.code[owner[first // 2]],
        lays=_lays(turned, size, np.repeat(owner, 2), how),
    )


def _lays(turned: Floats, size: Ints, owner: Ints, how: Hatch) -> Bools:
    """Lines lay; turns lay if they are wanted and short."""
    lays = laid_but_last(size)
    turn = np.flatnonzero(lays[1::2]) * 2 + 1
    jump = np.hypot(*(turned[turn + 1] - turned[turn]).T)
    short = jump <= _LONG_TURN * how.spacing_mm[owner[turn]]
    lays[turn] = short & how.turns[owner[turn]]
    return lays


def _chains(found: _Stretches) -> tuple[Ints, Ints]:
    """Head of the chain that each stretch belongs to, and its place in it."""
    before = _before(found)
    head = before
    while True:
        onward = head[head]
        if np.array_equal(onward, head):
            break
        head = onward
    return head, found.line - found.line[head]


def _before(found: _Stretches) -> Ints:
    """Return the one stretch before each on the line before, itself where there is none."""
    every = np.arange(len(found.line))
    along = np.concatenate([found.low, found.high])
    low = _keys(found.line, found.low, along)
    high = _keys(found.line, found.high, along)
    next_from = np.searchsorted(high, low + 1.0, side="right")
    next_to = np.searchsorted(low, high + 1.0, side="left")
    one_next = next_to - next_from == 1
    faced = np.searchsorted(low, high - 1.0, side="left") - np.searchsorted(
        high, low - 1.0, side="right"
    )
    target = np.where(one_next, next_from, 0)
    linked = one_next & (faced[target] == 1)
    before = every.copy()
    before[target[linked]] = every[linked]
    return before
