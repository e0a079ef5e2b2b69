"""How far off a time may be: it is taken again with what profiles often have wrong.

The factors are our own judgement of how well such values are known: acceleration within
a factor of 2, corner speed within 2, melt flow within 1.5. Each moves the time by
itself; independent errors are joined as the root of their squares, together with
`OTHER`, the difference that another program's choice of paths and order makes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.layers.limits import Limits

OTHER = 0.05
"""Share by which paths drawn by another program may differ: our judgement, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Something unknown, with the limits that make a print quicker and slower."""

    words: str
    quicker: Limits
    slower: Limits


def spread(
    middle_s: float, unknown: Sequence[Doubt], total_s: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], tuple[str, ...]]:
    """Return (lowest, highest) seconds around `middle_s`, and the reasons in words.

    `total_s` is the time under the quicker and the slower limits of each doubt.
    """
    off = [(quicker - middle_s, slower - middle_s) for quicker, slower in total_s]
    low_s = hypot(OTHER * middle_s, *(quicker for quicker, _ in off))
    high_s = hypot(OTHER * middle_s, *(slower for _, slower in off))
    reasons = [
        f"{doubt.words}: {_percent(quicker, middle_s)} to {_percent(slower, middle_s)}"
        for doubt, (quicker, slower) in zip(unknown, off, strict=True)
    ]
    other = f"another program draws other paths: -{OTHER:.0%} to +{OTHER:.0%}"
    return (max(0.0, middle_s - low_s), middle_s + high_s), (other, *reasons)


def doubts(known: Limits) -> list[Doubt]:
    """List each unknown with the limits that make it quicker and slower."""
    flow = known.flow_mm3_s
    return [
        Doubt(
            words="acceleration of the machine known within a factor of 2",
            quicker=_sped_up(known, 2.0),
            slower=_sped_up(known, 0.5),
        ),
        Doubt(
            words="speed at corners known within a factor of 2",
            quicker=_rounded(known, 2.0),
            slower=_rounded(known, 0.5),
        ),
        Doubt(
            words="melt flow known within a factor of 1.5",
            quicker=replace(known, flow_mm3_s=flow * 1.5),
            slower=replace(known, flow_mm3_s=flow / 1.5),
        ),
    ]


def _sped_up(known: Limits, factor: float) -> Limits:
    x, y = known.axis_acceleration_mm_s2
    return replace(
        known,
        acceleration_mm_s2=tuple(gain * factor for gain in known.acceleration_mm_s2),
        axis_acceleration_mm_s2=(x * factor, y * factor),
        strand_mm3_s2=known.strand_mm3_s2 * factor,
    )


def _rounded(known: Limits, factor: float) -> Limits:
    """Corners at `factor` times their speed, which goes with the root of the deviation."""
    deviation = known.deviation_mm
    return replace(
        known,
        corner_mm_s=known.corner_mm_s * factor,
        deviation_mm=None if deviation is None else deviation * factor**2,
    )


def _percent(difference_s: float, middle_s: float) -> str:
    return f"{difference_s / middle_s:+.0%}" if middle_s > 0.0 else "+0%"
