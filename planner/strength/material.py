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


ROOM_C = 23.0
"""Temperature that strengths are measured at: ISO 291 standard atmosphere 23/50."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A material as printed. Each range is (low, high), from the sources in its profile.

    bond: strength across layers as a share of that in plane; sustained: share that is left
    under a load that stays on. `shell_mm` is how deep the walls reach, `solid_mm` how high
    the solid layers (bottom, top) do, as high as the walls are deep if None; `infill` the
    share of filling behind them. Nothing is left of the strength at `soft_c`; None where
    that is not known, and then half of it is left at `service_c`.
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
    solid_mm: Range | None = None
    density_g_cm3: float | None = None
    soft_c: float | None = None

    def across_mpa(
        self, *, sustained: bool, warm_c: float | None = None
    ) -> tuple[float, float, float]:
        """Strength across layers: middle of the ranges, all low, all high."""
        return _product(self.tensile_mpa, self.bond, *self._lasting(sustained, warm_c))

    def in_plane_mpa(
        self, *, sustained: bool, warm_c: float | None = None
    ) -> tuple[float, float, float]:
        """Strength in the plane of the layers: middle of the ranges, all low, all high."""
        return _product(self.tensile_mpa, *self._lasting(sustained, warm_c))

    def _lasting(self, sustained: bool, warm_c: float | None) -> tuple[Range, ...]:  # noqa: FBT001  a plain passing on
        warm = self.warm_share(ROOM_C if warm_c is None else warm_c)
        return ((warm, warm), *((self.sustained,) if sustained else ()))

    def warm_share(self, warm_c: float) -> float:
        """Return the share of strength that is left in the warmth: 1 in a room and below.

        The yield stress of a glassy polymer falls nearly in a straight line to nothing at its
        glass transition (e.g. Bowden in Haward, The Physics of Glassy Polymers, 1973, from
        memory). For the others half is taken to be left at the service temperature (invented).
        """
        none_left_c = self.soft_c
        if none_left_c is None or none_left_c <= self.service_c:
            none_left_c = 2.0 * self.service_c - ROOM_C
        return min(1.0, max(0.0, (none_left_c - warm_c) / (none_left_c - ROOM_C)))

    @property
    def skins_mm(self) -> Range:
        """How high the solid layers reach at the bottom and the top."""
        return self.solid_mm or (self.shell_mm, self.shell_mm)

    @property
    def core_stiffness(self) -> float:
        """Stiffness of the filled inside per that of the solid; see `cellular_stiffness`."""
        return cellular_stiffness(self.infill)

    @property
    def core_strength(self) -> float:
        """Stress that the plastic may be strained to in the filling, per that in walls.

        Stresses are told as strain times the modulus of the plastic; filling gives way at
        `cellular_strength` of the plastic's strength, and so at this share of that stress.
        """
        return min(1.0, cellular_strength(self.infill) / self.core_stiffness)


def cellular_stiffness(density: float) -> float:
    """Return the stiffness of sparse filling per that of the solid: density^1.5.

    The middle (geometric mean) of what bounds printed patterns: open foams, E / Es = density^2,
    and honeycombs loaded along their cells, E / Es = density (Gibson and Ashby, Cellular
    Solids, 2nd ed. (1997), from memory). It is near a square grid sheared along its cells,
    where half the walls work: density / 2. Up to `DENSEST` it is the law, and from there a
    straight line to the solid's 1.

    >>> cellular_stiffness(1.0), round(cellular_stiffness(0.2), 3)
    (1.0, 0.089)
    """
    return _cellular(density, 1.0, 1.5)


def cellular_strength(density: float) -> float:
    """Return the strength of sparse filling per that of the solid: 0.55 density^1.25.

    The middle (geometric mean) of open foams that give way plastically, 0.3 density^1.5, and
    of honeycombs pulled along their cells, density (Gibson and Ashby as above, from memory).
    Compressed grids, honeycombs and triangles of 20 and 50 % rise by an exponent of 0.8 to 1.1
    (from Aboelella et al., Sci. Rep. 15 (2025) 11759, table 4). Beyond `DENSEST` a line to 1.

    >>> cellular_strength(1.0), round(cellular_strength(0.2), 3)
    (1.0, 0.073)
    """
    return _cellular(density, 0.3**0.5, 1.25)


def _cellular(density: float, share: float, exponent: float) -> float:
    law: float = share * min(max(density, LOOSEST), DENSEST) ** exponent
    return law + (1.0 - law) * max(0.0, density - DENSEST) / (1.0 - DENSEST)


def printed(
    filament: Filament,
    *,
    walls: int,
    infill: float,
    line_width_mm: float,
    solid_mm: Range | None = None,
) -> Printed:
    """Return the material of a part printed with these walls, solid layers and this filling.

    solid_mm: height of the solid layers at the bottom and the top, as high as the walls are
    deep if None.

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
        solid_mm=solid_mm,
        density_g_cm3=filament.density_g_cm3,
        soft_c=filament.glass_transition_c,
    )


def _product(*ranges: Range) -> tuple[float, float, float]:
    middle = low = high = 1.0
    for least, most in ranges:
        middle, low, high = middle * (least + most) / 2.0, low * least, high * most
    return middle, low, high
