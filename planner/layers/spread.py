"""How far off a time may be: it is taken again with what profiles often have wrong.

The factors are our own judgement of how well such values are known: acceleration within
a factor of 2, corner speed within 2, melt flow within 1.5. Each moves the time by
itself; independent errors are joined as the root of their squares, together with
`OTHER`, the difference that another program's choice of paths and order makes.
"""

from __future__ import annotations

from dataclasses import replace
from math import hypot
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.layers.limits import Limits

OTHER = 0.05
"""Share by which paths drawn by another program may differ: our judgement, no source."""


def spread(
    middle_s: float, known: Limits, total_s: Callable[[Limits], float]
) -> tuple[tuple[float, float], tuple[str, ...]]:
    """Return (lowest, highest) seconds around `middle_s`, and the reasons in words."""
    doubts = [
        (words, total_s(quicker) - middle_s, total_s(slower) - middle_s)
        for words, quicker, slower in _doubts(known)
    ]
    low_s = hypot(OTHER * middle_s, *(quicker for _, quicker, _ in doubts))
    high_s = hypot(OTHER * middle_s, *(slower for _, _, slower in doubts))
    reasons = [
        f"{words}: {_percent(quicker, middle_s)} to {_percent(slower, middle_s)}"
        for words, quicker, slower in doubts
    ]
    other = f"another program draws other paths: -{OTHER:.0%} to +{OTHER:.0%}"
    return (max(0.0, middle_s - low_s), middle_s + high_s), (other, *reasons)


def _doubts(known: Limits) -> list[tuple[str, Limits, Limits]]:
    """List each unknown with the limits that make it quicker and slower."""
    gain, corner, flow = known.acceleration_mm_s2, known.corner_mm_s, known.flow_mm3_s
    return [
        (
            "acceleration of the machine known within a factor of 2",
            replace(known, acceleration_mm_s2=gain * 2.0),
            replace(known, acceleration_mm_s2=gain / 2.0),
        ),
        (
            "speed at corners known within a factor of 2",
            replace(known, corner_mm_s=corner * 2.0),
            replace(known, corner_mm_s=corner / 2.0),
        ),
        (
            "melt flow known within a factor of 1.5",
            replace(known, flow_mm3_s=flow * 1.5),
            replace(known, flow_mm3_s=flow / 1.5),
        ),
    ]


def _percent(difference_s: float, middle_s: float) -> str:
    return f"{difference_s / middle_s:+.0%}" if middle_s > 0.0 else "+0%"
