"""What can be wrong with a part or a load when strength is asked for, one line each."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

from planner.errors import input_error
from planner.job.load_form import MOST_N, MOST_NMM
from planner.strength.faces import describe

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from planner.errors import InputError
    from planner.job.model import Face, LoadCase
    from planner.solid.model import Solid
    from planner.strength.material import Printed

    Floats = NDArray[np.float64]

MOST_TRIANGLES = 2_000_000
"""More triangles than this are refused: they would take minutes, and say no more than a
coarser mesh would."""


def check_closed(solid: Solid) -> None:
    """Refuse a mesh with no inside, or one too fine to be worked on."""
    if not solid.closed:
        raise input_error(
            solid.name,
            found="an open surface, which has no inside to bear a load",
            expected="a closed mesh",
            remedy="close the model and export it again",
        )
    if len(solid.triangles) > MOST_TRIANGLES:
        raise input_error(
            solid.name,
            found=f"{len(solid.triangles)} triangles",
            expected=f"at most {MOST_TRIANGLES}",
            remedy="export it more coarsely; 0.05 mm of deviation is enough for strength",
        )


def check_force(solid: Solid, case: LoadCase) -> None:
    """Refuse a force and moment of nothing or of no finite size."""
    size_n, size_nmm = hypot(*case.force_n), hypot(*case.moment_nmm)
    if not (size_n <= MOST_N and size_nmm <= MOST_NMM and size_n + size_nmm > 0.0):
        twist = f" and the moment {list(case.moment_nmm)} N mm" if size_nmm != 0.0 else ""
        raise input_error(
            case.where or solid.name,
            found=f"the force {list(case.force_n)} N{twist}",
            expected="a finite force above 0, up to 1 000 000 N, or such a moment",
            remedy="write force_n: [x, y, z] in newtons, in the part's own frame",
        )


def check_warmth(solid: Solid, case: LoadCase, material: Printed) -> None:
    """Refuse a load where it gets warmer than the material is good for."""
    if case.warm_c is not None and case.warm_c > material.service_c:
        raise input_error(
            case.where or solid.name,
            found=f"{material.material} loaded at {case.warm_c:g} degrees C",
            expected=f"at most {material.service_c:g}, where its strength still means something",
            remedy="choose a material that stands the warmth, or hang it where it is cooler",
        )


def turns(solid: Solid, case: LoadCase, area_mm2: float) -> InputError:
    """Return the refusal of a held surface that is a point or a line: the part would turn."""
    return input_error(
        case.where or solid.name,
        found=f"a held {describe(case.held)} of {area_mm2:.3g} mm2 in one line",
        expected="a surface that keeps the part from turning",
        remedy="hold a larger face",
    )


def missed(solid: Solid, case: LoadCase, face: Face) -> InputError:
    """Return the refusal of a face on a feature too thin for the grid."""
    return input_error(
        case.where or solid.name,
        found=f"the {describe(face)} on a feature of {solid.name} too thin to be worked out",
        expected="a face of a wall",
        remedy="thicken the feature, or give another face",
    )


def too_thin(solid: Solid, thick_mm: float, bead_mm: float) -> InputError:
    """Return the refusal of a part that is thinner than the line it is printed with."""
    found = f"walls {thick_mm:.2g} mm thick" if thick_mm > 0.0 else "no wall that can be measured"
    return input_error(
        solid.name,
        found=found,
        expected=f"walls of at least one line, {bead_mm:g} mm",
        remedy="thicken the part, or check the unit of the mesh",
    )


def loose(solid: Solid, case: LoadCase, count: int, middles: Sequence[Floats]) -> InputError:
    """Return the refusal of a part of several bodies of which some hang in the air."""
    shown = "; ".join("[" + ", ".join(f"{x:.4g}" for x in middle) + "]" for middle in middles[:3])
    more = f" and {len(middles) - 3} more" if len(middles) > 3 else ""
    return input_error(
        case.where or solid.name,
        found=f"{solid.name} in {count} bodies, that around {shown} mm{more} not held",
        expected="one body, or every body held",
        remedy="join the bodies in the model, or hold a face of each",
    )
