"""A part's own weight, brick by brick."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.errors import input_error
from planner.job.model import GRAVITY_N_KG
from planner.strength.brick import CORNERS, shape

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner.job.model import LoadCase
    from planner.solid.model import Solid
    from planner.strength.case import Filled
    from planner.strength.material import Printed

    Floats = NDArray[np.float64]


def weight_n(
    solid: Solid, case: LoadCase, filled: Filled, wall: Floats, material: Printed
) -> Floats:
    """Return the weight (nodes, 3) in N that each node bears, in the grid frame.

    wall: (n, 8) share of wall per octant; the rest is filled to the infill's share. Raises
    InputError for a material whose density is not known.
    """
    if material.density_g_cm3 is None:
        raise input_error(
            case.where or solid.name,
            found=f"own weight wanted of {material.material}, whose density is not known",
            expected="a filament profile with density_g_cm3",
            remedy="add the key, or leave out down",
        )
    lattice = filled.lattice
    octant_mm3 = lattice.sizes_mm.prod(axis=1, keepdims=True) / 8.0
    plastic_mm3 = octant_mm3 * filled.fill * (wall + (1.0 - wall) * material.infill)
    newtons = plastic_mm3 * (material.density_g_cm3 * 1e-6 * GRAVITY_N_KG)  # g/cm3 = 1e-6 kg/mm3
    to_corners = shape(0.25 + 0.5 * CORNERS)  # (octant, corner)
    down = filled.turn @ np.array(case.down)
    forces = np.zeros((lattice.node_count, 3))
    np.add.at(forces, lattice.nodes, (newtons @ to_corners)[:, :, None] * down)
    return forces
