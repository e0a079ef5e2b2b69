"""What a printed material holds: in plane, across layers, for long, behind walls and fill."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.errors import input_error

if TYPE_CHECKING:
    from planner.settings.model import Filament

Range = tuple[float, float]

SHEAR_SHARE = 0.58
"""Shear strength per tensile strength of a layer joint: 1 / sqrt 3, von Mises' criterion."""

LOOSEST, DENSEST = 0.05, 0.3
"""The law of cellular solids is used between these relative densities; it does not fit over
the whole range (Zimmerman et al. 2026, abstract)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A material as printed. Each range is (low, high), from the sources in its profile.

    bond: strength across layers as a share of that in plane; sustained: share that is left
    under a load that stays on. `shell_mm` is how deep the walls reach, `infill` the share of
    filling behind them.
    """

    material: str
    modulus_mpa: Range
    tensile_mpa: Range
    bond: Range
    sustained: Range
    service_c: float
    shell_mm: float
    infill: float
    bead_mm: float

    def across_mpa(self, *, sustained: bool) -> tuple[float, float, float]:
        """Strength across layers: middle of the ranges, all low, all high."""
        return _product(self.tensile_mpa, self.bond, *self._lasting(sustained))

    def in_plane_mpa(self, *, sustained: bool) -> tuple[float, float, float]:
        """Strength in the plane of the layers: middle of the ranges, all low, all high."""
        return _product(self.tensile_mpa, *self._lasting(sustained))

    def _lasting(self, sustained: bool) -> tuple[Range, ...]:  # noqa: FBT001  a plain passing on
        return (self.sustained,) if sustained else ()

    @property
    def core_stiffness(self) -> float:
        """Stiffness of the filled inside per that of the solid; see `cellular_stiffness`."""
        return cellular_stiffness(self.infill)


def cellular_stiffness(density: float) -> float:
    """Return the stiffness of sparse filling per that of the solid: density squared.

    Open-cell law E / Es = (rho / rhos)^2, Gibson and Ashby, Cellular Solids, 2nd ed. (1997),
    exponent from memory: the low end of what is measured, so the walls are given the load.
    Up to `DENSEST` it is the law, and from there a straight line to the solid's 1.

    >>> cellular_stiffness(1.0), round(cellular_stiffness(0.2), 3)
    (1.0, 0.04)
    """
    if density <= DENSEST:
        return max(density, LOOSEST) ** 2
    return DENSEST**2 + (1.0 - DENSEST**2) * (density - DENSEST) / (1.0 - DENSEST)


def printed(filament: Filament, *, walls: int, infill: float, line_width_mm: float) -> Printed:
    """Return the material of a part printed with these walls and this filling.

    Raises InputError if the filament's profile says nothing of strength.
    """
    wanted = ("tensile_mpa", "modulus_mpa", "layer_bond", "sustained_share", "service_c_max")
    missing = [key for key in wanted if getattr(filament, key) is None]
    if missing:
        raise input_error(
            f"filament {filament.name}",
            found=f"no {', '.join(missing)}",
            expected="the strength of the material",
            remedy="add the keys to its profile, or choose a filament that has them",
        )
    assert filament.tensile_mpa is not None
    assert filament.modulus_mpa is not None
    assert filament.layer_bond is not None
    assert filament.sustained_share is not None
    assert filament.service_c_max is not None
    return Printed(
        material=filament.material,
        modulus_mpa=filament.modulus_mpa,
        tensile_mpa=filament.tensile_mpa,
        bond=filament.layer_bond,
        sustained=filament.sustained_share,
        service_c=filament.service_c_max,
        shell_mm=walls * line_width_mm,
        infill=infill,
        bead_mm=line_width_mm,
    )


def _product(*ranges: Range) -> tuple[float, float, float]:
    middle = low = high = 1.0
    for least, most in ranges:
        middle, low, high = middle * (least + most) / 2.0, low * least, high * most
    return middle, low, high
