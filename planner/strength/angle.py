"""How a load pulls at the layers, judged by angles alone until stresses are computed.

Layers part most easily when pulled straight off each other. A stress along a direction d
puts (d . n)^2 of itself across the layers of normal n (n . sigma . n for uniaxial stress:
Cauchy's relation, any textbook of mechanics). Two stresses are looked at:

- bending: at the root of a lever it runs along the lever (beam theory);
- direct pull: it runs along the force, and counts as far as it pulls the faces apart.

They are weighed by their size in a rectangular bar of thickness t and width b: bending
6 M / (b t^2) against F cos(angle to the lever) / (b t), hence 6 arm / t against the cosine,
with t the least extent of the part. A push takes as much off the pull that bending makes; a
moment adds to that of the force, and what of it twists the lever is not looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, degrees
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.faces import AXES, centroid_mm, select
from planner.strength.faults import check_force

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.job.model import LoadCase
    from planner.solid.model import Solid

    Floats = NDArray[np.float64]

ASSUMPTIONS = (
    "the lever runs straight from the middle of the held face to the middle of the loaded one",
    "the part is taken as a bar as thick as its least extent; its real shape is not looked at",
    "angles only: no stress was computed and nothing is said about how much the part holds",
)

MUCH, SOME = 0.6, 0.25
"""Shares of the pull that cross layers, for the verdict: our judgement, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerPull:
    """How one load pulls at the layers of one build direction.

    Angles are to the layer plane, 0 to 90 degrees; a force or lever at 90 runs along the
    build direction. `crossing` is the share (0 to 1) of the pull that acts across layers.
    `better_up` is the one of the six axes with the least share, `better_crossing`.
    """

    load_angle_deg: float
    lever_angle_deg: float
    lever_mm: float
    crossing: float
    better_up: str
    better_crossing: float
    verdict: str
    assumptions: tuple[str, ...] = ASSUMPTIONS


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pull:
    """Unit directions of force and lever, and the share of the load that pulls along each."""

    force: Floats
    lever: Floats
    lever_mm: float
    bending: float
    direct: float

    def crossing(self, up: Floats) -> float:
        return float(self.bending * (self.lever @ up) ** 2 + self.direct * (self.force @ up) ** 2)


def against_load(solid: Solid, load: LoadCase, up: tuple[float, float, float]) -> LayerPull:
    """Judge the build direction `up` (unit vector, part frame) against one load.

    Where both faces have one middle there is no lever, and the whole force counts as pull.
    Raises InputError if a face takes no surface or force and moment are nothing or not finite.
    """
    pull = _pull(solid, load)
    own = np.array(up) / np.linalg.norm(up)
    crossing = pull.crossing(own)
    better_up, better_crossing = _best_axis(pull, own)
    return LayerPull(
        load_angle_deg=_to_plane_deg(pull.force, own),
        lever_angle_deg=_to_plane_deg(pull.lever, own),
        lever_mm=pull.lever_mm,
        crossing=crossing,
        better_up=better_up,
        better_crossing=better_crossing,
        verdict=_verdict(crossing),
    )


def _pull(solid: Solid, load: LoadCase) -> _Pull:
    check_force(solid, load)
    force, moment = np.array(load.force_n), np.array(load.moment_nmm)
    loaded, held = (
        centroid_mm(solid, select(solid, face, where=load.where)) for face in (load.on, load.held)
    )
    lever = loaded - held
    lever_mm = float(np.linalg.norm(lever))
    straight = lever / lever_mm if lever_mm > 0.0 else np.zeros(3)
    root_nmm = np.cross(lever, force) + moment
    bend_nmm = float(np.linalg.norm(root_nmm - (root_nmm @ straight) * straight))
    bend_n = 6.0 * bend_nmm / float((solid.bounds_mm[1] - solid.bounds_mm[0]).min())
    size_n = float(np.linalg.norm(force))
    along = force / size_n if size_n > 0.0 else np.zeros(3)
    apart_n = float(straight @ force) if lever_mm > 0.0 else size_n
    whole_n = bend_n + abs(apart_n) or 1.0  # pure torsion: nothing of what is looked at
    return _Pull(
        force=along,
        lever=straight,
        lever_mm=lever_mm,
        bending=max(0.0, bend_n + min(0.0, apart_n)) / whole_n,
        direct=max(0.0, apart_n) / whole_n,
    )


def _best_axis(pull: _Pull, own: Floats) -> tuple[str, float]:
    """Return the axis with the least crossing; the own direction wins ties, then the order."""
    shares = {
        name: (round(pull.crossing(np.array(axis)), 9), -float(np.array(axis) @ own))
        for name, axis in AXES.items()
    }
    best = min(shares, key=lambda name: shares[name])
    return best, pull.crossing(np.array(AXES[best]))


def _to_plane_deg(direction: Floats, up: Floats) -> float:
    return degrees(asin(min(1.0, abs(float(direction @ up)))))


def _verdict(crossing: float) -> str:
    if crossing >= MUCH:
        return "the load pulls the layers off each other"
    if crossing >= SOME:
        return "the load pulls partly across the layers"
    return "the load runs along the layers"
