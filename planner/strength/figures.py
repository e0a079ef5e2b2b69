"""The figures of build directions from stress fields, and of the chosen ones once more.

All directions are ranked on the field of the part printed as given. Printed another way up its
walls and solid layers lie elsewhere, so what is recommended is solved again as it would be.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.strength.choose import best_first, practical
from planner.strength.field import fields_for
from planner.strength.layers import pulled

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from planner.strength.field import StressField, Survey
    from planner.strength.material import Printed
    from planner.strength.model import Direction

    Floats = NDArray[np.float64]

MOST_CONFIRMED = 2
"""Directions solved once more, at most: each costs as much as the ranking of all."""


def figures(
    fields: Sequence[StressField], ups: Floats, material: Printed
) -> Iterator[dict[str, Any]]:
    """Yield, for each of (k, 3) build directions, the fields of `Direction` that tell strength."""
    judged = [pulled(field, ups, material) for field in fields]
    places = [field.points_mm[field.counts] for field in fields]
    for number in range(len(ups)):
        worst = min(range(len(judged)), key=lambda case: judged[case].factors[0, number])
        low, high = (min(float(one.factors[end, number]) for one in judged) for end in (1, 2))
        x, y, z = (float(at) for at in places[worst][judged[worst].weakest[number]])
        yield {
            "layer_tension_mpa": max(float(one.tension_mpa[number]) for one in judged),
            "layer_shear_mpa": max(float(one.shear_mpa[number]) for one in judged),
            "safety_factor": float(judged[worst].factors[0, number]),
            "safety_range": (low, high),
            "governed_by": "across layers" if judged[worst].across[number] else "along layers",
            "weakest_mm": (x, y, z),
        }


def confirmed(
    found: Sequence[Direction], survey: Survey, material: Printed, volume_mm3: float
) -> list[Direction]:
    """Solve what would be recommended as it would be printed; the first found is as given.

    A direction that loses by it may hand its place to another, which is solved in turn.
    """
    kept = list(found)
    sure = {kept[0].up}
    if material.infill >= 1.0:  # solid all through, whichever way up
        return kept
    for _ in range(MOST_CONFIRMED):
        ordered = best_first(kept, kept[0])
        chosen = (ordered[0], practical(ordered, kept[0], volume_mm3))
        unsure = next((one for one in chosen if one.up not in sure), None)
        if unsure is None:
            break
        sure.add(unsure.up)
        fields = fields_for(survey, unsure.up)
        (told,) = figures(fields, np.array([unsure.up]), material)
        kept[kept.index(unsure)] = replace(unsure, **told)
    return kept
