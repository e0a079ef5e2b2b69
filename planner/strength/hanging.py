"""What the screws of one part bear under its load cases; see `planner.strength.fixings`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error
from planner.strength.faces import centroid_mm, select
from planner.strength.fixings import Fixing, Hung, wall_load

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner.job.model import LoadCase, Screwed
    from planner.solid.model import Solid
    from planner.strength.fixings import WallLoad

    Floats = NDArray[np.float64]

TOUCHES_MM = 0.2
"""Corners this near to the side towards the wall lie against it (invented)."""

ASSUMPTIONS = (
    "the part is rigid and turns about the lower edge of what lies against the wall",
    "a push towards the wall takes nothing off; a sideways turn of the part is left out",
    "all screws are alike and share the weight evenly",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hanging:
    """The screws of a part under the load case that asks most of them.

    `at_mm` are the places in the part's frame, in the order of `load.loads` (worst first);
    `needed` is the most over all cases.
    """

    screwed: Screwed
    load: WallLoad
    at_mm: tuple[tuple[float, float, float], ...]
    needed: int
    case: LoadCase
    assumptions: tuple[str, ...] = ASSUMPTIONS

    @property
    def used(self) -> float:
        """Share of what it may bear that the worst screw bears."""
        return self.load.loads[0].used


def hanging(solid: Solid, cases: Sequence[LoadCase], screwed: Screwed) -> Hanging | None:
    """Share the loads over the screws, each case by itself; None if no case pulls at them.

    Down is where the force points along the wall. Raises InputError if a face takes nothing
    or no screw sits above the edge that the part turns about.
    """
    found = [one for case in cases if (one := _one_case(solid, case, screwed)) is not None]
    if not found:
        return None
    worst = max(found, key=lambda one: one.used)
    return replace(worst, needed=max(one.needed for one in found))


def _one_case(solid: Solid, case: LoadCase, screwed: Screwed) -> Hanging | None:
    out = -np.array(screwed.wall)
    force = np.array(case.force_n)
    outward_n = max(0.0, float(force @ out))
    along = force - (force @ out) * out
    weight_n = float(np.linalg.norm(along))
    middle = centroid_mm(solid, select(solid, case.on, where=case.where))
    if weight_n > 1e-9 * np.linalg.norm(force):
        return _cantilevered(solid, case, screwed, middle, along / weight_n)
    return _straight(case, screwed, outward_n) if outward_n > 0.0 else None


def _cantilevered(
    solid: Solid, case: LoadCase, screwed: Screwed, middle: Floats, down: Floats
) -> Hanging:
    """Hang a weight; what pulls outwards or turns the part lengthens its lever."""
    out = -np.array(screwed.wall)
    side = np.cross(out, down)
    reach = solid.vertices_mm @ out
    touching = solid.vertices_mm[reach <= reach.min() + TOUCHES_MM]
    edge_mm = float((touching @ -down).min())
    force = np.array(case.force_n)
    weight_n = float(force @ down)
    outward_nmm = max(0.0, float(force @ out)) * (float(middle @ -down) - edge_mm)
    twist_nmm = float(np.array(case.moment_nmm) @ side)
    out_mm = float(middle @ out - reach.min()) + (outward_nmm + twist_nmm) / weight_n
    places = [np.array(at) for at in screwed.at_mm]
    fixings = [Fixing(x_mm=float(at @ side), y_mm=float(at @ -down)) for at in places]
    if not any(fixing.y_mm > edge_mm for fixing in fixings):
        raise input_error(
            screwed.where,
            place="fixings.at",
            found=f"{len(fixings)} screws, none above the part's lower edge on the wall",
            expected="a screw above the edge that the part turns about",
            remedy="check the places and wall: both are in the axes of the part's drawing",
        )
    hung = Hung(force_n=weight_n, out_mm=max(0.0, out_mm))
    found = wall_load(
        fixings, [hung], edge_mm=edge_mm, breaking_n=screwed.rated_n, factor=screwed.factor
    )
    return _told(screwed, case, found, fixings)


def _straight(case: LoadCase, screwed: Screwed, outward_n: float) -> Hanging:
    """Share a pull straight off the wall, or from a ceiling, evenly; there is no shear."""
    fixings = [Fixing(x_mm=0.0, y_mm=1.0 + number) for number in range(len(screwed.at_mm))]
    hung = Hung(force_n=outward_n, out_mm=0.0)
    found = wall_load(
        fixings, [hung], edge_mm=0.0, breaking_n=screwed.rated_n, factor=screwed.factor
    )
    pulls = tuple(replace(one, shear_n=0.0, pull_n=one.shear_n) for one in found.loads)
    return _told(screwed, case, replace(found, loads=pulls), fixings)


def _told(screwed: Screwed, case: LoadCase, found: WallLoad, fixings: Sequence[Fixing]) -> Hanging:
    place = {id(fixing): at for fixing, at in zip(fixings, screwed.at_mm, strict=True)}
    return Hanging(
        screwed=screwed,
        load=found,
        at_mm=tuple(place[id(one.fixing)] for one in found.loads),
        needed=found.needed,
        case=case,
    )
