"""Which way up a part bears its loads best, and what that costs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.directions import candidates, footings
from planner.strength.faces import AXES
from planner.strength.field import MOST_BRICKS, stress_fields
from planner.strength.layers import pulled
from planner.strength.model import ASSUMPTIONS, Direction, Orientation
from planner.strength.section import section_check

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.model import LoadCase
    from planner.solid.model import Solid
    from planner.strength.field import StressField
    from planner.strength.material import Printed
    from planner.strength.model import SectionCheck

    Floats = NDArray[np.float64]

CLOSE = 0.9
"""Directions that reach this share of the best factor are as good; support decides then."""

DIFFERS = 1.5
"""Two methods farther apart than this factor are said to differ (invented)."""


def orient(
    solid: Solid,
    cases: Sequence[LoadCase],
    material: Printed,
    *,
    up: tuple[float, float, float] = (0.0, 0.0, 1.0),
    most_bricks: int = MOST_BRICKS,
) -> Orientation:
    """Rank build directions under all load cases together; `up` is the one as given.

    Raises InputError for a part or a load that cannot be worked out, ValueError for no case.
    """
    if not cases:
        raise ValueError("no load case")
    fields = stress_fields(solid, cases, material, most_bricks=most_bricks)
    ups = candidates(solid, up)
    found = _with_pareto(_directions(solid, fields, ups, material))
    given = found[0]
    ordered = _best_first(found)
    section = section_check(solid, cases, up)
    return Orientation(
        directions=tuple(ordered),
        as_given=given,
        lost=ordered[0].safety_factor / given.safety_factor,
        reason=_reason(ordered, given),
        section=section,
        warnings=tuple(_warnings(fields, given, section)),
        fields=fields,
        assumptions=(
            *ASSUMPTIONS,
            f"it never gets warmer than {material.service_c:g} degrees C where it is used",
        ),
    )


def _directions(
    solid: Solid, fields: Sequence[StressField], ups: Floats, material: Printed
) -> list[Direction]:
    judged = [pulled(field, ups, material) for field in fields]
    places = [field.points_mm[field.counts] for field in fields]
    made = []
    for number, footing in enumerate(footings(solid, ups)):
        worst = min(range(len(judged)), key=lambda case: judged[case].factors[0, number])
        low, high = (min(float(one.factors[end, number]) for one in judged) for end in (1, 2))
        weakest = places[worst][judged[worst].weakest[number]]
        made.append(
            Direction(
                name=name_of(ups[number]),
                up=_triple(ups[number]),
                layer_tension_mpa=max(float(one.tension_mpa[number]) for one in judged),
                layer_shear_mpa=max(float(one.shear_mpa[number]) for one in judged),
                safety_factor=float(judged[worst].factors[0, number]),
                safety_range=(low, high),
                governed_by="across layers" if judged[worst].across[number] else "along layers",
                weakest_mm=_triple(weakest),
                support_mm3=footing.support_mm3,
                height_mm=footing.height_mm,
                contact_mm2=footing.contact_mm2,
                stable=footing.stable,
            )
        )
    return made


def name_of(up: Floats) -> str:
    """Return a direction as it is written: +z, or [0.6, 0, 0.8].

    >>> name_of(np.array([0.0, 0.0, -1.0])), name_of(np.array([0.6, 0.0, 0.8]))
    ('-z', '[0.6, 0, 0.8]')
    """
    for name, axis in AXES.items():
        if np.allclose(up, axis, atol=1e-9):
            return name
    return "[" + ", ".join(f"{round(float(x), 2) + 0.0:g}" for x in up) + "]"


def _triple(values: Floats) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z


def _with_pareto(found: Sequence[Direction]) -> list[Direction]:
    """Mark the directions that no other beats in factor, support, height and standing at once."""
    costs = np.array(
        [
            [-round(one.safety_factor, 6), one.support_mm3, one.height_mm, not one.stable]
            for one in found
        ],
        dtype=np.float64,
    )
    beaten = [
        bool((np.all(costs <= own, axis=1) & np.any(costs < own, axis=1)).any()) for own in costs
    ]
    return [replace(one, pareto=not lost) for one, lost in zip(found, beaten, strict=True)]


def _best_first(found: Sequence[Direction]) -> list[Direction]:
    """Order: those near the best factor by standing, support and height; then by factor."""
    enough = CLOSE * max(one.safety_factor for one in found)

    def key(one: Direction) -> tuple[float, ...]:
        if one.safety_factor >= enough:
            return (0, not one.stable, round(one.support_mm3, 1), round(one.height_mm, 3))
        return (1, -one.safety_factor)

    return sorted(found, key=lambda one: (*key(one), one.name))


def _reason(ordered: Sequence[Direction], given: Direction) -> str:
    best = ordered[0]
    top = max(one.safety_factor for one in ordered)
    parts = [f"{best.name} up bears {best.safety_factor:.2g} times the load"]
    if best.safety_factor < 0.999 * top:
        parts.append(f"within {100 * (1 - best.safety_factor / top):.0f} % of the best direction")
    stands = "stands by itself" if best.stable else "does not stand by itself"
    needs = (
        f"needs {best.support_mm3 / 1000:.2g} cm3 of support"
        if best.support_mm3 > 1
        else ("needs no support")
    )
    parts.append(f"{stands} and {needs}")
    standing = [one for one in ordered if one.stable]
    if standing and not best.stable:
        other = max(standing, key=lambda one: (round(one.safety_factor, 3), -one.support_mm3))
        parts.append(f"of those that stand {other.name} is best, {other.safety_factor:.2g} times")
    lost = best.safety_factor / given.safety_factor
    if given.name != best.name and lost > 1.05:
        parts.append(f"{given.name} up bears {lost:.1f} times less")
    return "; ".join(parts)


def _warnings(fields: Sequence[StressField], given: Direction, section: SectionCheck) -> list[str]:
    said = []
    if any(field.under_resolved for field in fields):
        field = max(fields, key=lambda one: one.brick_mm / max(one.wall_mm, 1e-9))
        said.append(
            f"only {field.wall_mm / field.brick_mm:.1f} bricks go through the thin walls "
            f"({field.wall_mm:.2g} mm): the order of directions is sounder than the figures"
        )
    if any(field.steps < 0 for field in fields):
        said.append("the equations were not solved to the wanted accuracy: take no figure as true")
    if section.planes and section.tension_mpa > 0.0:
        ratio = given.layer_tension_mpa / section.tension_mpa
        if not 1 / DIFFERS <= ratio <= DIFFERS:
            said.append(
                f"the formula for bars finds {section.tension_mpa:.3g} MPa across the layers of "
                f"{given.name}, this finds {given.layer_tension_mpa:.3g} MPa: it sees no inner "
                "corners and no thin walls, so look at the place before you trust either"
            )
    return said
