"""What is said of build directions: how the layers are pulled, and which way up is best."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from planner.strength.field import StressField

    Singles = NDArray[np.float32]

ASSUMPTIONS = (
    "linear elasticity, the same in all directions; filling stiff and strong by its share",
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
    `support_mm3` is the volume of columns straight down to the plate, `visible_overhang_mm2`
    surface in sight that leans out more than 45 degrees; what lies on the plate is in neither.
    `time_s` is a rule of thumb, support included; None where nothing is known of the printer.
    `fits`: on a bed that was named, at a quarter turn or none. `pareto`: none other is at
    least as good in every respect and better in one.
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
    fits: bool = True
    visible_overhang_mm2: float = 0.0
    time_s: float | None = None
    pareto: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """How finely was worked: see `planner.strength.field.StressField`."""

    brick_mm: float
    wall_mm: float
    averaged_mm: float
    bricks: int
    under_resolved: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Painted:
    """The surface cut up for a picture: (f, 3, 3) facets, part frame, and (f,) tension.

    Tension across the layers in MPa, of the load case that pulls them most, as given and in
    the practical direction.
    """

    facets_mm: Singles
    given_mpa: Singles
    practical_mpa: Singles


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Orientation:
    """Directions best first; the first is the recommendation, with its reason.

    `as_given` is the direction that was asked about; `lost` how many times more the
    recommendation bears. `practical` is the best direction that stands by itself with hardly
    more support than the one as given needs, and the one as given where that is as good;
    `cost` is how many times more it bears. `section` is the second opinion on `as_given`.
    `moves_mm` is how far the part gives way, per load case. `fields` are the stresses, one per
    load case; empty in what was kept on disk.
    """

    directions: tuple[Direction, ...]
    as_given: Direction
    lost: float
    practical: Direction
    cost: float
    reason: str
    section: SectionCheck
    warnings: tuple[str, ...]
    resolution: Resolution
    moves_mm: tuple[float, ...]
    painted: Painted
    fields: tuple[StressField, ...] = ()
    assumptions: tuple[str, ...] = ASSUMPTIONS
    caution: str = CAUTION
