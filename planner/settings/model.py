"""What is wanted of a print, what a printer can do, what a filament is: frozen and checked.

Units are in the names. A `Settings` is always complete: inheritance and overrides were
resolved by the loader, and `origin` remembers where each value was written.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from math import inf, pi
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping


ROOM_C = 20.0
"""Temperature of a cold machine: common practice, no source."""


class Feature(StrEnum):
    """What a stretch of the toolpath is for."""

    OUTER_WALL = "outer wall"
    INNER_WALLS = "inner walls"
    SOLID_FILL = "solid fill"
    SPARSE_FILL = "sparse fill"
    SUPPORT = "support"
    BRIM = "brim"
    TRAVEL = "travel"


class Bead(StrEnum):
    """The section a line of plastic is taken to have."""

    RECTANGLE = "rectangle"
    STADIUM = "stadium"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Everything that decides how a part is laid in layers (see the README for each key).

    `infill` and `fan` run from 0 to 1; `speed_mm_s` has one entry per `Feature`;
    `overhang_deg` is measured from the vertical: steeper surfaces want support.
    `first_layer_width_mm` is the width of a line in the first layer; None means that of all
    others. `lift_mm` is how far the head is raised on a way for which the strand is drawn
    back. `origin` maps a key to "file:line" (or the profile's name) for messages.
    """

    name: str
    material: str
    nozzle_mm: float
    layer_mm: float
    first_layer_mm: float
    line_width_mm: float
    walls: int
    top_layers: int
    bottom_layers: int
    infill: float
    infill_pattern: str
    nozzle_c: float
    bed_c: float
    fan: float
    speed_mm_s: Mapping[Feature, float]
    acceleration_mm_s2: float
    flow_max_mm3_s: float
    layer_time_min_s: float
    retract_mm: float
    support: bool
    overhang_deg: float
    brim_mm: float
    bead: Bead
    first_layer_width_mm: float | None = None
    lift_mm: float = 0.0
    feature_acceleration_mm_s2: Mapping[Feature, float] = field(default_factory=dict)
    """Acceleration of single features, in place of `acceleration_mm_s2`."""
    origin: Mapping[str, str] = field(default_factory=dict, compare=False, hash=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectangle:
    """An axis-parallel rectangle on a bed, corners in mm from the bed's front left."""

    x_min_mm: float
    y_min_mm: float
    x_max_mm: float
    y_max_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """A place on a bed with a simple outline: corners (x, y) in mm from the bed's front left."""

    points_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The room that the print head takes up, for parts printed one after the other.

    Beside the nozzle the head reaches `left_mm` .. `right_mm` along x and `front_mm` ..
    `back_mm` along y, and nothing of it is lower than `tip_mm` above the nozzle's tip.  The
    beam that carries it lies along x over the whole bed, within the same front and back, and
    `gantry_mm` above the tip; infinite if there is no beam.
    """

    left_mm: float
    right_mm: float
    front_mm: float
    back_mm: float
    tip_mm: float
    gantry_mm: float = inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """What one kind of printer can do; `name` is the profile's.

    `keep_out` are places on the bed where nothing may lie (clips, purge strip).
    `corner_speed_mm_s` is the speed at which a right-angled corner is taken.
    `start_s` covers heat-up, homing and levelling; `end_s` cooling until the plate is free.
    """

    name: str
    bed_width_mm: float
    bed_depth_mm: float
    height_mm: float
    nozzle_mm: float
    nozzle_c_max: float
    bed_c_max: float
    enclosed: bool
    speed_max_mm_s: float
    acceleration_max_mm_s2: float
    corner_speed_mm_s: float
    flow_max_mm3_s: float
    power_w: float
    start_s: float
    end_s: float
    keep_out: tuple[Rectangle, ...] = ()
    materials: tuple[str, ...] = ()
    """Materials it is set up for; empty means any that its temperatures allow."""
    axis_speed_mm_s: tuple[float, float, float] | None = None
    """Fastest run of x, y, z by itself; None: only `speed_max_mm_s` holds, along the path."""
    axis_acceleration_mm_s2: tuple[float, float, float] | None = None
    strand_speed_mm_s: float | None = None
    """How fast the filament can be driven, before it melts; None is no limit."""
    strand_acceleration_mm_s2: float | None = None
    corner_deviation_mm: float | None = None
    """How far a rounded corner leaves the true one: in place of the corner speed where given."""
    bed_power_w: float | None = None
    bed_heat_j_per_c: float | None = None
    """Heat that the bed takes up per degree."""
    nozzle_power_w: float | None = None
    nozzle_heat_j_per_c: float | None = None
    homing_s: float | None = None
    levelling_s: float | None = None
    purge_s: float | None = None
    keep_out_patches: tuple[Patch, ...] = ()
    """Places of any outline where nothing may lie (a worn patch), besides `keep_out`."""
    head: Head | None = None
    one_by_one: bool = False
    """Whether parts are printed one after the other, each to its full height; needs `head`."""
    preferred_mm: tuple[float, float] | None = None
    """Where parts should lie if there is a choice; None is the middle of the bed."""

    def start_for(self, nozzle_c: float, bed_c: float) -> float:
        """Seconds from a cold machine to the first line.

        `start_s`, unless the profile gives all that it is made of: then bed and nozzle heat
        up side by side, each for C (T - 20 C) / P by its balance of energy without losses
        (so a little too short for a hot bed), and homing, levelling and purging follow.
        """
        bed_s = _heating_s(bed_c, self.bed_power_w, self.bed_heat_j_per_c)
        nozzle_s = _heating_s(nozzle_c, self.nozzle_power_w, self.nozzle_heat_j_per_c)
        if (
            bed_s is None
            or nozzle_s is None
            or self.homing_s is None
            or self.levelling_s is None
            or self.purge_s is None
        ):
            return self.start_s
        return max(bed_s, nozzle_s) + self.homing_s + self.levelling_s + self.purge_s


def _heating_s(goal_c: float, power_w: float | None, heat_j_per_c: float | None) -> float | None:
    if power_w is None or heat_j_per_c is None:
        return None
    return heat_j_per_c * max(0.0, goal_c - ROOM_C) / power_w


@dataclass(frozen=True, slots=True, kw_only=True)
class Filament:
    """A kind of filament; temperatures are (lowest, highest) recommended."""

    name: str
    material: str
    density_g_cm3: float
    diameter_mm: float
    nozzle_c: tuple[float, float]
    bed_c: tuple[float, float]
    infill: tuple[float, float]
    """The infill share usual for functional parts of this material, lowest and highest."""
    flow_max_mm3_s: float
    glass_transition_c: float
    price_per_kg: float
    needs_enclosure: bool = False
    caution: str = ""
    tensile_mpa: tuple[float, float] | None = None
    """Tensile strength of printed bars in the plane of the layers; None if not known."""
    modulus_mpa: tuple[float, float] | None = None
    layer_bond: tuple[float, float] | None = None
    """Strength across the layers as a share of that in their plane."""
    sustained_share: tuple[float, float] | None = None
    """Share of the strength that is left under a load that stays on for months."""
    service_c_max: float | None = None
    """Warmest place where the strength still means something."""

    @property
    def area_mm2(self) -> float:
        """Cross-section of the strand: pi d^2 / 4."""
        return pi * self.diameter_mm**2 / 4

    def mass_g(self, volume_mm3: float) -> float:
        """Mass of a volume: 1 g/cm3 is 1e-3 g/mm3."""
        return volume_mm3 * self.density_g_cm3 * 1e-3

    def length_m(self, volume_mm3: float) -> float:
        """Length of strand that holds a volume."""
        return volume_mm3 / self.area_mm2 * 1e-3


class Level(StrEnum):
    """How strictly a rule is meant: do not print, think again, for your information."""

    STOP = "stop"
    WARN = "warn"
    NOTE = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """What a guideline asks of one setting.

    Exactly one demand holds: `one_of`, or an interval [`at_least`, `at_most`] of which one
    end may be open (None), or `usual_of_material` (the interval of the filament's profile).
    `parts` and `tags` say whom it concerns; both empty means everybody. A rule with `parts`
    or `tags` is an exception: where it applies it stands in place of the general rule.
    """

    key: str
    level: Level
    why: str
    source: str
    one_of: tuple[float | str | bool, ...] = ()
    at_least: float | None = None
    at_most: float | None = None
    usual_of_material: bool = False
    parts: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Guideline:
    """A named set of rules; inheritance was resolved, one general rule per key."""

    name: str
    rules: tuple[Rule, ...]
