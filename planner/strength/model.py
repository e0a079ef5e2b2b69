"""What is said of build directions: how the layers are pulled, and which way up is best."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner.strength.field import StressField

ASSUMPTIONS = (
    "linear elasticity, the same in all directions; walls as deep all round, filling by its share",
    "layers part by tension and shear together (quadratic rule); pressure is no help",
    "stress is fitted over a bead or a brick: a peak in a sharp inner corner is rounded off",
    "1 mm around what is held is left out: how it is really held decides there",
    "strengths are ranges of published printed bars, not of your printer",
)

CAUTION = "a computed factor is no promise: test one to failure before you trust it overhead"


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionCheck:
    """The weakest layer by the formula for bars: F / A + M c / I on each layer plane.

    height_mm is along the build direction in the part's own frame (dot product with `up`).
    `planes` is how many planes part the load from what is held; 0 where the method cannot speak.
    """

    tension_mpa: float
    height_mm: float
    planes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """One build direction. `up` is a unit vector in the part's frame, `name` how it is written.

    Tension and shear are the worst over all load cases; the factor takes both, and the
    strength along the layers, and is the smallest. `safety_range` has all strengths low, and
    all high. `governed_by` is "across layers" or "along layers"; `weakest_mm` is the place.
    `support_mm3` is the volume of columns straight down to the plate.
    """

    name: str
    up: tuple[float, float, float]
    layer_tension_mpa: float
    layer_shear_mpa: float
    safety_factor: float
    safety_range: tuple[float, float]
    governed_by: str
    weakest_mm: tuple[float, float, float]
    support_mm3: float
    height_mm: float
    contact_mm2: float
    stable: bool
    pareto: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Orientation:
    """Directions best first; the first is the recommendation, with its reason.

    `as_given` is the direction that was asked about; `lost` how many times more the
    recommendation bears. `section` is the second opinion on `as_given`. `fields` are the
    stresses, one per load case.
    """

    directions: tuple[Direction, ...]
    as_given: Direction
    lost: float
    reason: str
    section: SectionCheck
    warnings: tuple[str, ...]
    fields: tuple[StressField, ...]
    assumptions: tuple[str, ...] = ASSUMPTIONS
    caution: str = CAUTION
