"""The planner one would write first: one move after the other, backward, then forward.

Written from the definitions with plain floats, on purpose unlike the package: an outside check.
"""

from __future__ import annotations

from math import atan2, cos, inf, pi, sin, sqrt


def times(moves, limits, *, corner):
    """Seconds per move; a move is (vector, speed, acceleration, chain), vectors of any length.

    `limits` has per-axis "speed" and "acceleration"; `corner(before, after, acceleration)` is
    the highest speed between two unit vectors.
    """
    kept = [i for i, move in enumerate(moves) if _norm(move[0]) > 0]
    legs = [_capped(moves[i], limits) for i in kept]
    top = [_top(legs, k, corner) for k in range(len(legs) + 1)]
    for k in range(len(legs) - 1, -1, -1):
        top[k] = min(top[k], sqrt(top[k + 1] ** 2 + 2 * legs[k]["gain"] * legs[k]["length"]))
    for k, leg in enumerate(legs):
        top[k + 1] = min(top[k + 1], sqrt(top[k] ** 2 + 2 * leg["gain"] * leg["length"]))
    seconds = [0.0] * len(moves)
    for k, i in enumerate(kept):
        seconds[i] = trapezoid(legs[k], top[k], top[k + 1])
    return seconds


def trapezoid(leg, start, end):
    """Speed up, cruise if there is room, slow down."""
    length, gain, speed = leg["length"], leg["gain"], leg["speed"]
    up, down = (speed**2 - start**2) / (2 * gain), (speed**2 - end**2) / (2 * gain)
    if up + down <= length:
        return (speed - start) / gain + (length - up - down) / speed + (speed - end) / gain
    peak = sqrt(gain * length + (start**2 + end**2) / 2)
    return (peak - start) / gain + (peak - end) / gain


def deviation_corner(deviation):
    """S. K. Jeon, 24 September 2011: through the angle itself, as the blog derives it."""

    def speed(before, after, gain):
        turn = atan2(
            _norm([q - p for p, q in zip(before, after, strict=True)]),
            _norm([q + p for p, q in zip(before, after, strict=True)]),
        )  # 0: straight on
        half, rest = cos(turn), 2 * sin(turn / 2) ** 2  # sin(t / 2) and 1 - sin(t / 2)
        return inf if rest == 0 else sqrt(gain * deviation * half / rest)

    return speed


def right_angle_corner(right):
    """Size the same circle so that a right angle is taken at `right`."""

    def speed(before, after, gain):
        return deviation_corner(right**2 / gain * (1 - cos(pi / 4)) / cos(pi / 4))(
            before, after, gain
        )

    return speed


def step_corner(steps):
    """No axis changes its speed by more than its step."""

    def speed(before, after, _gain):
        changes = [abs(q - p) for p, q in zip(before, after, strict=True)]
        return min((s / c for s, c in zip(steps, changes, strict=False) if c > 0), default=inf)

    return speed


def _capped(move, limits):
    vector, speed, gain, chain = move
    length = _norm(vector)
    unit = [part / length for part in vector]
    for part, speed_max, gain_max in zip(
        unit, limits["speed"], limits["acceleration"], strict=False
    ):
        if part != 0:
            speed = min(speed, speed_max / abs(part))
            gain = min(gain, gain_max / abs(part))
    return {"length": length, "unit": unit, "speed": speed, "gain": gain, "chain": chain}


def _top(legs, k, corner):
    if k in {0, len(legs)} or legs[k - 1]["chain"] != legs[k]["chain"]:
        return 0.0
    before, after = legs[k - 1], legs[k]
    limit = corner(before["unit"], after["unit"], min(before["gain"], after["gain"]))
    return min(limit, before["speed"], after["speed"])


def _norm(vector):
    return sqrt(sum(part * part for part in vector))
