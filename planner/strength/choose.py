"""Which of the directions is best: strength first, then footing, support, looks and time."""

from __future__ import annotations

from dataclasses import replace
from math import log
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.strength.model import Direction

CLOSE = 0.9
"""Directions that reach this share of the best factor are as good; the rest decides then."""

LITTLE = 0.02
"""Support up to this share of the part's volume is hardly any: bridges count in it too
(invented)."""


def costs(one: Direction) -> tuple[float, ...]:
    """Return what a direction costs besides strength, the gravest first, to the size that counts.

    Not fitting a bed, not standing, support to 10 mm3, overhang in sight to a mm2, time to a
    tenth of itself (that is as far as it is known), height to a tenth of a mm.
    """
    time = 0 if one.time_s is None else round(log(max(one.time_s, 1.0)) / log(1.1))
    return (
        float(not one.fits),
        float(not one.stable),
        round(one.support_mm3 / 10.0),
        round(one.visible_overhang_mm2),
        time,
        round(one.height_mm, 1),
    )


def with_pareto(found: Sequence[Direction]) -> list[Direction]:
    """Mark the directions that no other matches in every respect and beats in one."""
    table = np.array([[-round(one.safety_factor, 6), *costs(one)] for one in found])
    beaten = [
        bool((np.all(table <= own, axis=1) & np.any(table < own, axis=1)).any()) for own in table
    ]
    return [replace(one, pareto=not lost) for one, lost in zip(found, beaten, strict=True)]


def best_first(found: Sequence[Direction], given: Direction) -> list[Direction]:
    """Order: those near the best factor by what they cost; then the others by factor.

    The first is never beaten in every respect. Of equals the one as given comes first.
    """
    enough = CLOSE * max(one.safety_factor for one in found)

    def key(one: Direction) -> tuple[float, ...]:
        if one.safety_factor >= enough:
            return (0.0, *costs(one), -round(one.safety_factor, 6), one != given)
        return (1.0, -one.safety_factor)

    return sorted(found, key=lambda one: (*key(one), one.name))


def practical(ordered: Sequence[Direction], given: Direction, volume_mm3: float) -> Direction:
    """Return the best that fits, stands and needs hardly more support than the one given.

    The one as given where none is, or where it bears as much with as little support.
    """
    little_mm3 = LITTLE * volume_mm3
    most_mm3 = max(given.support_mm3, little_mm3)
    fit = [one for one in ordered if one.fits and one.stable and one.support_mm3 <= most_mm3]
    if not fit:
        return given
    best = best_first(fit, given)[0]
    as_good = given.safety_factor >= CLOSE * max(one.safety_factor for one in fit)
    if given in fit and as_good and given.support_mm3 <= best.support_mm3 + little_mm3:
        return given
    return best


def reason_of(ordered: Sequence[Direction], given: Direction, in_practice: Direction) -> str:
    """Say in a sentence why the first is recommended, and what stands against it."""
    best = ordered[0]
    top = max(one.safety_factor for one in ordered)
    bears = f"{best.name} up bears {best.safety_factor:.2g} times the load"
    short = round(100 * (1 - best.safety_factor / top)) if top > 0 else 0
    if short:
        bears += f" (within {short} % of the best direction)"
    parts = [f"{bears}, {_and(_upsides(best))}"]
    if in_practice not in (best, given):
        stands = f"{in_practice.name} up, the best that stands with little support"
        parts.append(f"{stands}, bears {in_practice.safety_factor:.2g} times")
    lost = best.safety_factor / given.safety_factor
    if given.name != best.name and lost > 1.05:
        parts.append(f"{given.name} up bears {lost:.1f} times less")
    return "; ".join(parts)


def _upsides(one: Direction) -> list[str]:
    said = [] if one.fits else ["fits no bed"]
    said += [
        "stands by itself" if one.stable else "does not stand by itself",
        f"needs {one.support_mm3 / 1000:.2g} cm3 of support"
        if one.support_mm3 > 1.0
        else "needs no support",
    ]
    if one.support_mm3 > 1.0 and one.visible_overhang_mm2 < 1.0:
        said.append("shows no overhang")
    return said


def _and(parts: Sequence[str]) -> str:
    return f"{', '.join(parts[:-1])} and {parts[-1]}"
