"""Patterns of sparse fill: the directions of their lines in a layer.

A pattern of several directions in every layer spaces each of them so much wider that all
together lay the wanted share. A wavy pattern has longer lines, so they lie further apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi, sin

FIRST_RAD = pi / 4.0
"""Lines run aslant to the usual bed axes, layer about layer the other way: common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Directions in even and in odd layers; how high waves are, in wave lengths over 2 pi."""

    even_rad: tuple[float, ...]
    odd_rad: tuple[float, ...]
    wave: float = 0.0

    def directions(self, *, odd: bool) -> tuple[float, ...]:
        """Directions of the lines in a layer."""
        return self.odd_rad if odd else self.even_rad


_CROSS = (FIRST_RAD, FIRST_RAD + pi / 2.0)
_THREE = (FIRST_RAD, FIRST_RAD + pi / 3.0, FIRST_RAD + 2.0 * pi / 3.0)
LINES = Pattern(even_rad=_CROSS[:1], odd_rad=_CROSS[1:])
GRID = Pattern(even_rad=_CROSS, odd_rad=_CROSS)
TRIANGLES = Pattern(even_rad=_THREE, odd_rad=tuple(angle + pi / 2.0 for angle in _THREE))
WAVES = Pattern(even_rad=_CROSS[:1], odd_rad=_CROSS[1:], wave=1.0)

_BY_WORD = {"line": LINES, "grid": GRID, "triang": TRIANGLES, "gyroid": WAVES, "wav": WAVES}

CHORDS = 8
"""Straight moves per wave."""


def pattern_of(word: str) -> tuple[Pattern, bool]:
    """Return the pattern that a word of the settings names, and whether it is known.

    What is not known is drawn as a grid.

    >>> pattern_of("Lines")[0] is LINES
    True
    """
    for known, pattern in _BY_WORD.items():
        if known in word.lower():
            return pattern, True
    return GRID, False


def stretch(wave: float) -> float:
    """How much longer a wavy line is than a straight one, as drawn in `CHORDS` chords.

    >>> stretch(0.0)
    1.0
    """
    step = 2.0 * pi / CHORDS
    rises = [wave * (sin((k + 1) * step) - sin(k * step)) for k in range(CHORDS)]
    return sum(hypot(step, rise) for rise in rises) / (2.0 * pi)
