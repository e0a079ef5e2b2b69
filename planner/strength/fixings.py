"""What each fixing of a wall bears under loads that stick out from it: shear and pull-out.

The wall part is taken as rigid and turns about its lower edge, against which it is pressed.
Every load shears all fixings alike and pulls them in proportion to their height above that
edge, so that pulls and loads balance in moment (the usual hand calculation for brackets, e.g.
bolts in tension under an eccentric load in Shigley's Mechanical Engineering Design, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, hypot, isfinite
from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

FACTOR = 4.0
"""Breaking load per working load of general fasteners ("one-fourth the maximum load"), Los
Angeles Times, 20 March 1999; a maker's rated load may hold a factor already."""

CAUTIONS = (
    "the anchor maker's instructions, local codes and licensed practice come before this figure",
    (
        "plastic anchors are for several fixings that can take over from one that slips: never "
        "hang a load on one (ETAG 020 part 5, foreword)"
    ),
    "try an unknown wall on site; look for cables and pipes before you drill",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixing:
    """A screw into the wall, at a place on it; y upwards."""

    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hung:
    """A weight on the wall: how far it sticks out, and its height on the wall."""

    force_n: float
    out_mm: float
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FixingLoad:
    """What one fixing bears. `used` is the share of what it may bear, shear and pull together."""

    fixing: Fixing
    shear_n: float
    pull_n: float
    used: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WallLoad:
    """Loads of all fixings, worst first, and how many alike would be needed.

    `needed` is a count for fixings spread as these are: at least two.
    """

    loads: tuple[FixingLoad, ...]
    needed: int
    factor: float
    cautions: tuple[str, ...] = CAUTIONS


def wall_load(
    fixings: Sequence[Fixing],
    hung: Sequence[Hung],
    *,
    edge_mm: float,
    breaking_n: float,
    factor: float = FACTOR,
) -> WallLoad:
    """Share hung weights over fixings; `edge_mm` is the height of the edge turned about.

    breaking_n: what one anchor breaks at in this wall; it may bear breaking_n / factor in
    shear and pull added up in one (hypotenuse). Raises InputError for no fixing above the
    edge, or for numbers that are none.
    """
    _check(fixings, hung, edge_mm, breaking_n, factor)
    shear_n = sum(each.force_n for each in hung) / len(fixings)
    moment_nmm = sum(each.force_n * each.out_mm for each in hung)
    pulls = pulls_n(np.array([fixing.y_mm for fixing in fixings]) - edge_mm, moment_nmm)
    loads = []
    for fixing, pull_n in zip(fixings, pulls.tolist(), strict=True):
        used = hypot(shear_n, pull_n) * factor / breaking_n
        loads.append(FixingLoad(fixing=fixing, shear_n=shear_n, pull_n=pull_n, used=used))
    loads.sort(key=lambda load: (-load.used, load.fixing.y_mm, load.fixing.x_mm))
    needed = needed_alike(len(fixings), loads[0].used)
    return WallLoad(loads=tuple(loads), needed=needed, factor=factor)


def pulls_n(arms_mm: Floats, moment_nmm: float) -> Floats:
    """Pull of each fixing (n,) by its height over the edge turned about; one must be above.

    The pulls grow with the arms and their moments add up to `moment_nmm`.

    >>> pulls_n(np.array([100.0, 0.0, 200.0]), 5e4)
    array([100.,   0., 200.])
    """
    arms = np.maximum(arms_mm, 0.0)
    pulls: Floats = moment_nmm * arms / float(arms @ arms)
    return pulls


def needed_alike(count: int, used: float) -> int:
    """How many fixings, spread as `count` are, so that the worst bears no more than it may."""
    return max(2, ceil(count * used - 1e-9))


def _check(
    fixings: Sequence[Fixing],
    hung: Sequence[Hung],
    edge_mm: float,
    breaking_n: float,
    factor: float,
) -> None:
    numbers = [edge_mm, breaking_n, factor]
    numbers += [value for each in hung for value in (each.force_n, each.out_mm)]
    numbers += [value for each in fixings for value in (each.x_mm, each.y_mm)]
    positive = [breaking_n, factor, *(each.force_n for each in hung)]
    if not (all(isfinite(value) for value in numbers) and all(value > 0 for value in positive)):
        raise input_error(
            "wall load",
            found="a weight, anchor load or factor that is no finite number above 0",
            expected="newtons above 0, and places in mm",
            remedy="weigh what hangs there (1 kg weighs 9.8 N) and read the anchor's data sheet",
        )
    if not any(fixing.y_mm > edge_mm for fixing in fixings) or not hung:
        raise input_error(
            "wall load",
            found=f"{len(fixings)} fixings, none above the lower edge, or nothing hung",
            expected="at least one fixing above the edge at which the wall presses back",
            remedy="add fixings further up",
        )
