"""Tension and shear on the layers of any build direction, from one stress field.

The stress on a plane of normal n is sigma . n (Cauchy); n . sigma . n of it is tension, the
rest lies in the plane. Layers are taken to part where (tension / strength)^2 + (shear /
shear strength)^2 reaches 1, the quadratic rule for joints between plies (Brewer and Lagace,
J. Composite Materials 22 (1988) 1141-1155, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.strength.material import SHEAR_SHARE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.strength.field import StressField
    from planner.strength.material import Printed

    Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pulled:
    """Per direction (k,): worst tension and shear, factor at middle, low and high strengths.

    factors: (3, k). across: (k,) True where the joint between layers governs, and not the
    strength along them. weakest: (k,) number of the point, among those that count.
    """

    tension_mpa: Floats
    shear_mpa: Floats
    factors: Floats
    across: NDArray[np.bool_]
    weakest: NDArray[np.int64]


def pulled(field: StressField, ups: Floats, material: Printed) -> Pulled:
    """Judge (k, 3) build directions on one field."""
    tensors, bears = field.tensors, field.bears[field.counts]
    principal_mpa = max(float((np.linalg.eigvalsh(tensors)[:, -1] / bears).max()), 1e-12)
    case = field.case
    across = material.across_mpa(sustained=case.sustained, warm_c=case.warm_c)
    along = material.in_plane_mpa(sustained=case.sustained, warm_c=case.warm_c)
    count = len(ups)
    tension, shear, used = np.empty(count), np.empty(count), np.empty((3, count))
    weakest = np.empty(count, dtype=np.int64)
    for number, up in enumerate(ups):
        stress = tensors @ up
        normal = stress @ up
        sliding = np.sqrt(np.maximum((stress**2).sum(axis=1) - normal**2, 0.0))
        opening = np.maximum(normal, 0.0)
        joint = (
            np.sqrt(opening**2 + (sliding / SHEAR_SHARE) ** 2) / bears
        )  # per strength, all in one
        weakest[number] = int(np.argmax(joint))
        tension[number], shear[number] = opening.max(), sliding.max()
        used[:, number] = joint[weakest[number]]
    joints = used / np.array(across)[:, None]
    layers = principal_mpa / np.array(along)[:, None]
    worst = np.maximum(np.maximum(joints, layers), 1e-12)
    return Pulled(
        tension_mpa=tension,
        shear_mpa=shear,
        factors=1.0 / worst,
        across=joints[0] >= layers[0],
        weakest=weakest,
    )
