"""Seconds of a plate's moves by the plain planner: an outside check of measured times."""

from __future__ import annotations

import math
from itertools import pairwise

from tests.motion import sequential


def plain_seconds(moves, *, speed, gain, corner):
    """Add up the moves (see `Truth.moves`) under a printer's limits."""
    flat, chain = [], 0
    for _, start, end, strand, feed, arc in moves:
        if start == end and not arc and strand == 0:
            continue
        asked = min(feed, speed)
        if start == end and not arc:
            flat.append(((abs(strand), 0.0, 0.0), asked, gain, chain + 1))
            chain += 2
            continue
        corners = [start, *(_round(start, end, arc) if arc else ()), end]
        for a, b in pairwise(corners):
            vector = tuple(q - p for p, q in zip(a, b, strict=True))
            flat.append((vector, asked, gain, chain))
    free = {"speed": (1e9,) * 3, "acceleration": (1e9,) * 3}
    return sum(sequential.times(flat, free, corner=sequential.right_angle_corner(corner)))


def _round(start, end, arc):
    """Points on an arc every 0.02 rad, its ends left out."""
    (x, y), clockwise = arc
    radius = math.hypot(start[0] - x, start[1] - y)
    first = math.atan2(start[1] - y, start[0] - x)
    sweep = (math.atan2(end[1] - y, end[0] - x) - first) % (2 * math.pi)
    if clockwise:
        sweep -= 2 * math.pi
    count = math.ceil(abs(sweep) / 0.02)
    for k in range(1, count):
        angle = first + sweep * k / count
        yield x + radius * math.cos(angle), y + radius * math.sin(angle), start[2]
