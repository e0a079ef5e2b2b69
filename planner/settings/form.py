"""The files of `profiles/` as people write them: keys, bounds and meanings, nothing else.

Every key of a profile may be left out if the profile names a `base`; the loader checks
that the whole is complete. Bounds are what the trade can mean by the key at all (a typing
slip is refused), not what is advisable: that is for guidelines. They are common practice,
no source.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from planner.document import Form, Words, fault
from planner.document.wording import shown, suggestion

Share = Annotated[float, Field(ge=0, le=1), Words(remedy="write a share: 0.15 for 15 %")]
Degrees = Annotated[float, Field(ge=-50, le=600)]
Range = Annotated[
    tuple[float, float],
    Words(expected="[lowest, highest]", remedy="write two numbers, as in [200, 220]"),
]
Positives = Annotated[
    tuple[Annotated[float, Field(gt=0, le=1e6)], Annotated[float, Field(gt=0, le=1e6)]],
    Words(expected="[lowest, highest]", remedy="write two numbers above 0, as in [50, 65]"),
]
Shares = Annotated[
    tuple[Annotated[float, Field(gt=0, le=2)], Annotated[float, Field(gt=0, le=2)]],
    Words(expected="[lowest, highest]", remedy="write two shares, as in [0.4, 0.7]"),
]
AxisSpeeds = Annotated[
    tuple[
        Annotated[float, Field(ge=0.1, le=2000)],
        Annotated[float, Field(ge=0.1, le=2000)],
        Annotated[float, Field(ge=0.1, le=2000)],
    ],
    Words(expected="[x, y, z]", remedy="write three speeds, as in [300, 300, 12]"),
]
AxisGains = Annotated[
    tuple[
        Annotated[float, Field(ge=1, le=100_000)],
        Annotated[float, Field(ge=1, le=100_000)],
        Annotated[float, Field(ge=1, le=100_000)],
    ],
    Words(expected="[x, y, z]", remedy="write three accelerations, as in [3000, 2000, 100]"),
]
Word = Annotated[str, Field(min_length=1, max_length=100)]
Base = Annotated[
    str | None, Field(min_length=1, description="Profile (name or path) that fills in the rest.")
]


class SpeedForm(Form):
    """Speed of the head per feature."""

    outer_wall: float | None = Field(None, ge=1, le=2000, description="The visible wall.")
    inner_walls: float | None = Field(None, ge=1, le=2000, description="The walls behind it.")
    solid_fill: float | None = Field(None, ge=1, le=2000, description="Top, bottom, full layers.")
    sparse_fill: float | None = Field(None, ge=1, le=2000, description="The filling between.")
    support: float | None = Field(None, ge=1, le=2000, description="Support structure.")
    brim: float | None = Field(None, ge=1, le=2000, description="The brim around the foot.")
    travel: float | None = Field(None, ge=1, le=2000, description="Moves that lay no plastic.")


class AccelerationForm(Form):
    """Acceleration of the head for single features."""

    outer_wall: float | None = Field(None, ge=10, le=100_000, description="The visible wall.")
    inner_walls: float | None = Field(None, ge=10, le=100_000, description="The walls behind it.")
    solid_fill: float | None = Field(
        None, ge=10, le=100_000, description="Top, bottom, full layers."
    )
    sparse_fill: float | None = Field(None, ge=10, le=100_000, description="The filling between.")
    support: float | None = Field(None, ge=10, le=100_000, description="Support structure.")
    brim: float | None = Field(None, ge=10, le=100_000, description="The brim around the foot.")
    travel: float | None = Field(None, ge=10, le=100_000, description="Moves that lay no plastic.")


class SettingsForm(Form):
    """Settings of a print, whole or as changes to a base."""

    base: Base = None
    material: Word | None = Field(None, description="Material, such as pla or petg.")
    nozzle_mm: float | None = Field(None, ge=0.1, le=3, description="Bore of the nozzle.")
    layer_mm: float | None = Field(None, ge=0.02, le=2, description="Height of a layer.")
    first_layer_mm: float | None = Field(
        None, ge=0.02, le=2, description="Height of the first layer."
    )
    line_width_mm: float | None = Field(None, ge=0.1, le=5, description="Width of a line.")
    first_layer_width_mm: float | None = Field(
        None,
        ge=0.1,
        le=5,
        description="Width of a line in the first layer; left out: line_width_mm.",
    )
    walls: int | None = Field(None, ge=0, le=100, description="Number of walls.")
    top_layers: int | None = Field(None, ge=0, le=1000, description="Solid layers on top.")
    bottom_layers: int | None = Field(None, ge=0, le=1000, description="Solid layers below.")
    infill: Share | None = Field(None, description="Share of the inside that is filled, 0 to 1.")
    infill_pattern: Word | None = Field(None, description="Pattern of the filling, a word.")
    nozzle_c: float | None = Field(None, ge=100, le=500, description="Temperature of the nozzle.")
    bed_c: float | None = Field(None, ge=0, le=250, description="Temperature of the bed.")
    fan: Share | None = Field(None, description="Part cooling, 0 to 1.")
    speed_mm_s: SpeedForm | None = Field(None, description="Speed of the head per feature.")
    acceleration_mm_s2: float | None = Field(
        None, ge=10, le=100_000, description="Acceleration of the head."
    )
    feature_acceleration_mm_s2: AccelerationForm | None = Field(
        None, description="Acceleration of single features; left out: acceleration_mm_s2."
    )
    flow_max_mm3_s: float | None = Field(
        None, ge=0.1, le=500, description="Most plastic per second that is asked for."
    )
    layer_time_min_s: float | None = Field(
        None, ge=0, le=600, description="Least time for a layer, so that it can cool."
    )
    retract_mm: float | None = Field(
        None, ge=0, le=20, description="Strand drawn back before a travel move."
    )
    lift_mm: float | None = Field(
        None,
        ge=0,
        le=20,
        description="How far the head is raised on a way for which the strand is drawn back; "
        "left out: 0.",
    )
    support: bool | None = Field(None, description="Whether support is printed.")
    overhang_deg: float | None = Field(
        None,
        ge=0,
        le=90,
        description="Surfaces that lean out further from the vertical want support.",
    )
    brim_mm: float | None = Field(None, ge=0, le=100, description="Width of the brim.")
    bead: Literal["rectangle", "stadium"] | None = Field(
        None, description="Section that a line of plastic is taken to have."
    )


class SettingsFile(SettingsForm):
    """A settings profile."""

    form: Literal["platewright/settings/1"] = Field(
        alias="schema", description="Write platewright/settings/1."
    )


def simple_outline(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """Return corners as they are; raises a fault unless their outline is simple and has area."""
    import shapely  # noqa: PLC0415  (heavy, and few beds have such a place)

    shape = shapely.Polygon(points)
    flat = shape.convex_hull.area <= 1e-6  # below a pinprick: a slip of the hand
    if flat or not shape.is_valid:
        raise fault(
            found="an outline without area" if flat else "an outline that crosses itself",
            expected="at least three corners [x, y] in order along the edge",
            remedy="put the corners in order, or write x_mm and y_mm for a rectangle",
        )
    return points


BedPoint = Annotated[
    tuple[Annotated[float, Field(ge=-5000, le=5000)], Annotated[float, Field(ge=-5000, le=5000)]],
    Words(expected="a point [x, y] on the bed in mm", remedy="write two numbers, as in [40, 25]"),
]
BedOutline = Annotated[
    tuple[BedPoint, ...], Field(min_length=3, max_length=500), AfterValidator(simple_outline)
]


LEAST_GAP_MM = 1e-6
"""A gap of less than a nanometre is a slip, and lost in the rounding of lengths."""


def _can_be_kept(gap_mm: float) -> float:
    if 0 < gap_mm < LEAST_GAP_MM:
        raise fault(
            found=f"{gap_mm:g} mm",
            expected=f"0, or at least {LEAST_GAP_MM:g} mm",
            remedy="write 0 for parts that may touch, or the gap wanted, such as 4",
        )
    return gap_mm


Gap = Annotated[float, AfterValidator(_can_be_kept)]
"""A distance to keep free, in mm."""


def check_one_place(form: Form) -> None:
    """Raise a fault unless a keep-out is written either as a rectangle or as an outline."""
    keys = ("x_mm", "y_mm", "outline")
    given = tuple(key for key in keys if getattr(form, key) is not None)
    if given not in (("x_mm", "y_mm"), ("outline",)):
        raise fault(
            found=" and ".join(given) or "no place",
            expected="either x_mm and y_mm, or outline",
            remedy="write x_mm: [0, 20], y_mm: [0, 10], or outline: [[0, 0], [20, 0], [0, 10]]",
        )


class KeepOutForm(Form):
    """A place on the bed where nothing may lie: a rectangle, or any simple outline."""

    x_mm: Range | None = Field(None, description="From and to, from the left edge of the bed.")
    y_mm: Range | None = Field(None, description="From and to, from the front edge of the bed.")
    outline: BedOutline | None = Field(
        None, description="Corners [x, y] in order, in place of x_mm and y_mm."
    )

    @model_validator(mode="after")
    def _is_one_place(self) -> Self:
        check_one_place(self)
        return self

    @model_validator(mode="after")
    def _has_area(self) -> Self:
        for low, high in [span for span in (self.x_mm, self.y_mm) if span is not None]:
            if not low < high:
                raise fault(
                    found=f"[{low:g}, {high:g}]",
                    expected="[from, to] with from below to",
                    remedy="swap the two, or leave the place out",
                )
        return self


class HeadForm(Form):
    """The room that the print head takes up: whether it touches a finished part depends on it."""

    left_mm: float = Field(ge=0, le=1000, description="From the nozzle to its left side.")
    right_mm: float = Field(ge=0, le=1000, description="From the nozzle to its right side.")
    front_mm: float = Field(ge=0, le=1000, description="From the nozzle to its front, beam too.")
    back_mm: float = Field(ge=0, le=1000, description="From the nozzle to its back, beam too.")
    tip_mm: float = Field(
        ge=0, le=1000, description="Height of the lowest thing beside the nozzle above its tip."
    )
    gantry_mm: float | None = Field(
        None,
        ge=0,
        le=5000,
        description="Height of the beam along x above the nozzle's tip; left out: no beam.",
    )

    @model_validator(mode="after")
    def _beam_is_above(self) -> Self:
        if self.gantry_mm is not None and self.gantry_mm < self.tip_mm:
            raise fault(
                found=f"gantry_mm {self.gantry_mm:g} mm under tip_mm {self.tip_mm:g} mm",
                expected="tip_mm to be the height of the lowest thing beside the nozzle",
                remedy="measure both from the nozzle's tip upwards",
            )
        return self


class PrinterFile(Form):
    """A printer profile: what one kind of printer can do."""

    form: Literal["platewright/printer/1"] = Field(
        alias="schema", description="Write platewright/printer/1."
    )
    base: Base = None
    bed_width_mm: float | None = Field(None, ge=20, le=5000, description="Bed, left to right.")
    bed_depth_mm: float | None = Field(None, ge=20, le=5000, description="Bed, front to back.")
    height_mm: float | None = Field(None, ge=20, le=5000, description="Room above the bed.")
    nozzle_mm: float | None = Field(None, ge=0.1, le=3, description="Bore of its nozzle.")
    nozzle_c_max: float | None = Field(None, ge=100, le=500, description="Hottest nozzle.")
    bed_c_max: float | None = Field(None, ge=0, le=250, description="Hottest bed.")
    enclosed: bool | None = Field(None, description="Whether it stands in a closed case.")
    speed_max_mm_s: float | None = Field(None, ge=10, le=2000, description="Fastest move.")
    acceleration_max_mm_s2: float | None = Field(
        None, ge=10, le=100_000, description="Hardest acceleration."
    )
    corner_speed_mm_s: float | None = Field(
        None, ge=0, le=200, description="Speed through a right-angled corner."
    )
    flow_max_mm3_s: float | None = Field(
        None, ge=0.1, le=500, description="Most plastic that it can melt in a second."
    )
    power_w: float | None = Field(None, ge=1, le=20_000, description="Mean power while printing.")
    start_s: float | None = Field(
        None, ge=0, le=7200, description="Heating, homing and levelling before the first line."
    )
    end_s: float | None = Field(
        None, ge=0, le=7200, description="Cooling after the last line, until the plate is free."
    )
    keep_out: tuple[KeepOutForm, ...] | None = Field(
        None, description="Places on the bed where nothing may lie (clips, purge strip)."
    )
    materials: tuple[Word, ...] | None = Field(
        None, description="Materials it is set up for; empty: any that its temperatures allow."
    )
    axis_speed_mm_s: AxisSpeeds | None = Field(
        None, description="Fastest run of each axis, [x, y, z]; left out: no limit by axis."
    )
    axis_acceleration_mm_s2: AxisGains | None = Field(
        None, description="Hardest acceleration of each axis, [x, y, z]; left out: no limit."
    )
    strand_speed_mm_s: float | None = Field(
        None, ge=0.1, le=1000, description="Fastest feed of the strand; left out: no limit."
    )
    strand_acceleration_mm_s2: float | None = Field(
        None, ge=1, le=100_000, description="Hardest acceleration of the strand."
    )
    corner_deviation_mm: float | None = Field(
        None,
        ge=0.001,
        le=5,
        description="How far a rounded corner may leave the true one; counts in place of "
        "corner_speed_mm_s.",
    )
    bed_power_w: float | None = Field(
        None,
        ge=1,
        le=20_000,
        description="Power of the bed's heater. With the six keys below, all given, the start "
        "is computed and start_s not used.",
    )
    bed_heat_j_per_c: float | None = Field(
        None, ge=0.1, le=1e6, description="Heat that the bed takes up per degree."
    )
    nozzle_power_w: float | None = Field(
        None, ge=1, le=2000, description="Power of the nozzle's heater."
    )
    nozzle_heat_j_per_c: float | None = Field(
        None, ge=0.1, le=10_000, description="Heat that the hot end takes up per degree."
    )
    homing_s: float | None = Field(None, ge=0, le=3600, description="Finding the axes' zero.")
    levelling_s: float | None = Field(None, ge=0, le=3600, description="Probing the bed.")
    purge_s: float | None = Field(None, ge=0, le=3600, description="Filling the nozzle.")
    head: HeadForm | None = Field(
        None, description="Room that the head takes up, for printing one part after the other."
    )
    preferred_mm: BedPoint | None = Field(
        None, description="Where parts should lie if there is a choice; else the bed's middle."
    )


class FilamentFile(Form):
    """A filament profile."""

    form: Literal["platewright/filament/1"] = Field(
        alias="schema", description="Write platewright/filament/1."
    )
    base: Base = None
    material: Word | None = Field(None, description="Material, such as pla or petg.")
    density_g_cm3: float | None = Field(None, ge=0.3, le=10, description="Density of the solid.")
    diameter_mm: float | None = Field(None, ge=1, le=4, description="Diameter of the strand.")
    nozzle_c: Range | None = Field(None, description="Recommended nozzle, lowest and highest.")
    bed_c: Range | None = Field(None, description="Recommended bed, lowest and highest.")
    infill: Range | None = Field(
        None, description="Share of filling usual for functional parts, lowest and highest."
    )
    flow_max_mm3_s: float | None = Field(
        None, ge=0.1, le=500, description="Most of it that melts well in a second."
    )
    glass_transition_c: Degrees | None = Field(
        None, description="Glass transition: above it the part softens."
    )
    price_per_kg: float | None = Field(None, ge=0, le=10_000, description="Price.")
    needs_enclosure: bool | None = Field(None, description="Whether it warps in the open.")
    tensile_mpa: Positives | None = Field(
        None, description="Tensile strength printed, along the layers, lowest and highest."
    )
    modulus_mpa: Positives | None = Field(
        None, description="Modulus of elasticity printed, lowest and highest."
    )
    layer_bond: Shares | None = Field(
        None, description="Strength across layers per strength along them, lowest and highest."
    )
    sustained_share: Shares | None = Field(
        None, description="Share of strength left under a load that stays on, lowest and highest."
    )
    service_c_max: Degrees | None = Field(
        None, description="Warmest place where a loaded part may be used."
    )
    caution: str | None = Field(None, max_length=500, description="What to mind, one sentence.")


SETTING_KEYS = (
    *(key for key in SettingsForm.model_fields if key != "base"),
    *(f"speed_mm_s.{feature}" for feature in SpeedForm.model_fields),
    *(f"feature_acceleration_mm_s2.{feature}" for feature in AccelerationForm.model_fields),
)
WORD_KEYS = ("material", "infill_pattern", "bead")
SWITCH_KEYS = ("support",)
"""Settings that are words, and those that are on or off; all others are numbers."""


def _check_setting_key(key: str) -> str:
    if key not in SETTING_KEYS:
        raise fault(expected="a setting", remedy=suggestion(key, SETTING_KEYS, noun="settings"))
    return key


SettingKey = Annotated[str, AfterValidator(_check_setting_key)]
USUAL = ("infill", "nozzle_c", "bed_c")
"""What a filament's profile says is usual."""


class DemandForm(Form):
    """What is asked of one setting: one of `exactly`, `one_of`, bounds, or what is usual."""

    exactly: float | str | bool | None = Field(None, description="The only value allowed.")

    one_of: tuple[float | str | bool, ...] | None = Field(
        None, min_length=1, max_length=50, description="The values allowed."
    )
    at_least: float | None = Field(None, ge=-1e6, le=1e6, description="Lowest value allowed.")
    at_most: float | None = Field(None, ge=-1e6, le=1e6, description="Highest value allowed.")
    usual_of_material: bool = Field(
        default=False, description="The interval that the filament's profile calls usual."
    )
    level: Literal["stop", "warn", "note"] = Field(
        description="stop: do not print; warn: think again; note: for your information."
    )
    why: str = Field(min_length=1, max_length=500, description="The reason, one sentence.")
    source: str = Field(min_length=1, max_length=500, description="Where the demand comes from.")

    @model_validator(mode="after")
    def _one_demand(self) -> Self:
        bounded = self.at_least is not None or self.at_most is not None
        listed = [self.exactly is not None, self.one_of is not None]
        given = [*listed, bounded, self.usual_of_material]
        if sum(given) != 1:
            raise fault(
                found=f"{sum(given)} demands",
                expected="one: exactly, one_of, at_least and/or at_most, usual_of_material: true",
                remedy="keep one of them",
            )
        low, high = self.at_least, self.at_most
        if low is not None and high is not None and low > high:
            raise fault(
                found=f"at_least {low:g} above at_most {high:g}",
                expected="at_least not above at_most",
                remedy="swap the two",
            )
        return self

    @property
    def values(self) -> tuple[float | str | bool, ...]:
        """The values allowed, if they are listed; else none."""
        return self.one_of or (() if self.exactly is None else (self.exactly,))


class ExceptionForm(DemandForm):
    """A demand in place of the general one, for some parts or tags."""

    key: SettingKey = Field(description="The setting.")
    parts: tuple[Word, ...] = Field((), description="Names of the parts that it concerns.")
    tags: tuple[Word, ...] = Field((), description="Tags of the parts that it concerns.")

    @model_validator(mode="after")
    def _concerns_somebody(self) -> Self:
        if not (self.parts or self.tags):
            raise fault(
                found="an exception for nobody",
                expected="parts or tags",
                remedy="add parts: [name] or tags: [name], or write it under rules",
            )
        return self


def _kind_of(key: str) -> tuple[type | tuple[type, ...], str]:
    if key in SWITCH_KEYS:
        return bool, "true or false"
    return (str, "a word") if key in WORD_KEYS else ((int, float), "a number")


class GuidelineFile(Form):
    """A guideline: what is recommended per setting, how strictly, why, and from where."""

    form: Literal["platewright/guideline/1"] = Field(
        alias="schema", description="Write platewright/guideline/1."
    )
    base: Base = None
    rules: dict[SettingKey, DemandForm] = Field({}, description="Setting -> what is asked of it.")
    exceptions: tuple[ExceptionForm, ...] = Field(
        (), description="Demands that stand in place of the rules for some parts."
    )
    drop: tuple[SettingKey, ...] = Field((), description="Rules of the base that do not hold here.")

    @model_validator(mode="after")
    def _values_suit(self) -> Self:
        """Refuse a demand that no value of the setting could ever meet."""
        for key, demand in [*self.rules.items(), *((each.key, each) for each in self.exceptions)]:
            kind, noun = _kind_of(key)
            wrong = [value for value in demand.values if not isinstance(value, kind)]
            wrong += [value for value in demand.values if type(value) is bool and kind is not bool]
            bound = demand.at_least if demand.at_least is not None else demand.at_most
            if bound is not None and key in (*WORD_KEYS, *SWITCH_KEYS):
                wrong.append(bound)
            if wrong:
                raise fault(
                    found=f"{key} asked to be {shown(wrong[0])}",
                    expected=f"{noun} for {key}",
                    remedy=f"write {noun}",
                )
        return self

    @model_validator(mode="after")
    def _usual_is_known(self) -> Self:
        demands = [*self.rules.items(), *((each.key, each) for each in self.exceptions)]
        for key, demand in demands:
            if demand.usual_of_material and key not in USUAL:
                raise fault(
                    found=f"usual_of_material for {key}",
                    expected=f"usual_of_material for {', '.join(USUAL)} only",
                    remedy=f"give {key} at_least, at_most or one_of instead",
                )
        return self
