"""Which way up a part bears its loads best, and what that costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.strength.choose import best_first, practical, reason_of, with_pareto
from planner.strength.directions import candidates, footings, in_sight
from planner.strength.faces import AXES
from planner.strength.field import MOST_BRICKS, fields_for, survey
from planner.strength.figures import confirmed, figures
from planner.strength.hours import rough_seconds
from planner.strength.material import ROOM_C
from planner.strength.model import ASSUMPTIONS, Direction, Orientation, Resolution
from planner.strength.painted import painted
from planner.strength.section import section_check

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.model import Face, LoadCase
    from planner.solid.model import Solid
    from planner.strength.directions import Footing, Room
    from planner.strength.field import StressField
    from planner.strength.hours import Pace
    from planner.strength.material import Printed
    from planner.strength.model import SectionCheck

    Floats = NDArray[np.float64]

DIFFERS = 1.5
"""Two methods farther apart than this factor are said to differ (invented)."""


def orient(
    solid: Solid,
    cases: Sequence[LoadCase],
    material: Printed,
    *,
    up: tuple[float, float, float] = (0.0, 0.0, 1.0),
    visible: Sequence[Face] = (),
    pace: Pace | None = None,
    rooms: Sequence[Room] = (),
    most_bricks: int = MOST_BRICKS,
) -> Orientation:
    """Rank build directions under all load cases together; `up` is the one as given.

    `visible` are the faces in sight; without a `pace` no hours are given; `rooms` are the beds
    that it may lie on. Raises InputError for a part or a load that cannot be worked out,
    ValueError for no case.
    """
    if not cases:
        raise ValueError("no load case")
    seen = in_sight(solid, visible, cases)
    looked = survey(solid, cases, material, most_bricks=most_bricks)
    fields = fields_for(looked, up)
    ups = candidates(solid, up)
    stands = footings(solid, ups, seen, rooms=rooms)
    ranked = _directions(fields, ups, material, stands, hours=_hours(solid, ups, stands, pace))
    found = with_pareto(confirmed(ranked, looked, material, solid.volume_mm3))
    given = found[0]
    ordered = best_first(found, given)
    in_practice = practical(ordered, given, solid.volume_mm3)
    section = section_check(solid, cases, up)
    return Orientation(
        directions=tuple(ordered),
        as_given=given,
        lost=ordered[0].safety_factor / given.safety_factor,
        practical=in_practice,
        cost=in_practice.safety_factor / given.safety_factor,
        reason=reason_of(ordered, given, in_practice),
        section=section,
        warnings=tuple(_warnings(fields, given, section)),
        resolution=_resolution(fields[0]),
        moves_mm=tuple(field.moves_mm for field in fields),
        painted=painted(solid, fields, given, in_practice),
        fields=fields,
        assumptions=(
            *ASSUMPTIONS,
            _warmth(cases, material),
        ),
    )


def _warmth(cases: Sequence[LoadCase], material: Printed) -> str:
    warmest = max(ROOM_C if case.warm_c is None else case.warm_c for case in cases)
    return (
        f"it never gets warmer than {warmest:g} degrees C under load (warm_c says what it gets; "
        f"{material.material} is good for {material.service_c:g})"
    )


def _hours(
    solid: Solid, ups: Floats, stands: Sequence[Footing], pace: Pace | None
) -> Sequence[float | None]:
    if pace is None:
        return [None] * len(ups)
    support_mm3 = np.array([footing.support_mm3 for footing in stands])
    seconds: list[float | None] = rough_seconds(solid, ups, support_mm3, pace).tolist()
    return seconds


def _resolution(field: StressField) -> Resolution:
    return Resolution(
        brick_mm=field.brick_mm,
        wall_mm=field.wall_mm,
        averaged_mm=field.averaged_mm,
        bricks=field.bricks,
        under_resolved=field.under_resolved,
    )


def _directions(
    fields: Sequence[StressField],
    ups: Floats,
    material: Printed,
    stands: Sequence[Footing],
    *,
    hours: Sequence[float | None],
) -> list[Direction]:
    return [
        Direction(
            name=name_of(up),
            up=_triple(up),
            support_mm3=footing.support_mm3,
            height_mm=footing.height_mm,
            contact_mm2=footing.contact_mm2,
            stable=footing.stable,
            fits=footing.fits,
            visible_overhang_mm2=footing.visible_overhang_mm2,
            time_s=seconds,
            **told,
        )
        for up, footing, seconds, told in zip(
            ups, stands, hours, figures(fields, ups, material), strict=True
        )
    ]


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
