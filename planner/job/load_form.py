"""Loads as people write them: a force or a moment on a face, another face held."""

from __future__ import annotations

from math import hypot, isfinite
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, WithJsonSchema, model_validator

from planner.document import Form, Words, fault

AXES = {
    "+x": (1.0, 0.0, 0.0),
    "-x": (-1.0, 0.0, 0.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
    "+z": (0.0, 0.0, 1.0),
    "-z": (0.0, 0.0, -1.0),
}

Triple = tuple[float, float, float]

MOST_N, MOST_NMM = 1e6, 1e9
"""A hundred tonnes, and that on a lever of a metre: beyond it, a slip of the hand."""
LEAST = 1e-6
"""Newtons or N mm: a grain of sand weighs more, and the stresses of less are lost in rounding."""


def shape_of(value: Any) -> str:
    """Tell apart what may be written in two ways."""
    if isinstance(value, dict | Form):
        return "as a mapping"
    return "as a list" if isinstance(value, tuple) else "as a word"


def _direction(value: Any) -> Triple:
    """Return the unit vector of an axis name or of three numbers."""
    if isinstance(value, str) and value in AXES:
        return AXES[value]
    numbers = value if isinstance(value, tuple) else ()
    if len(numbers) != 3 or not all(type(number) in (int, float) for number in numbers):
        raise fault(
            expected="+x, -x, +y, -y, +z, -z or three numbers [x, y, z]",
            remedy="write an axis of the part's drawing, such as +z",
        )
    x, y, z = (float(number) for number in numbers)
    length = hypot(x, y, z)
    if not (isfinite(length) and length > 1e-9):
        raise fault(
            found=f"[{x:g}, {y:g}, {z:g}]",
            expected="a direction, so at least one number that is not 0",
            remedy="write an axis such as +z",
        )
    return (x / length, y / length, z / length)


Axis = Literal["+x", "-x", "+y", "-y", "+z", "-z"]
Direction = Annotated[
    Triple,
    BeforeValidator(_direction),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": list(AXES)},
                {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3},
            ]
        }
    ),
]


class BoxForm(Form):
    """All of the part's surface inside a box, in the part's own frame."""

    box: tuple[Triple, Triple] = Field(description="[[x, y, z] lowest, [x, y, z] highest], in mm.")

    @model_validator(mode="after")
    def _has_order(self) -> Self:
        low, high = self.box
        if any(a > b for a, b in zip(low, high, strict=True)):
            raise fault(
                found=f"a box from {list(low)} to {list(high)}",
                expected="[[x, y, z] lowest, [x, y, z] highest]",
                remedy="put the smaller number of each axis first",
            )
        return self


class PlaneForm(Form):
    """A plane in the part's own frame."""

    point: Triple = Field(description="A point [x, y, z] on it, in mm.")
    normal: Direction = Field(description="Direction across it: an axis or [x, y, z].")
    tolerance_mm: float = Field(
        0.2, gt=0, le=100, description="How far off the plane the surface may lie."
    )


class PlaneFace(Form):
    """All of the part's surface that lies in a plane."""

    plane: PlaneForm = Field(description="The plane: {point, normal, tolerance_mm}.")


def _face_shape(value: Any) -> str:
    if isinstance(value, PlaneFace) or (isinstance(value, dict) and "plane" in value):
        return "as a plane"
    return "as a box" if isinstance(value, dict | Form) else "as a word"


FaceRef = Annotated[
    Annotated[Axis, Tag("as a word")]
    | Annotated[BoxForm, Tag("as a box")]
    | Annotated[PlaneFace, Tag("as a plane")],
    Discriminator(_face_shape),
    Words(
        expected="a face: +x, -x, +y, -y, +z, -z, {box: [[x, y, z], [x, y, z]]} or "
        "{plane: {point: [x, y, z], normal: [x, y, z]}}",
        remedy="write the side of the part, such as +z",
    ),
]


class LoadForm(Form):
    """A force, a moment or both on one face of the part while another is held."""

    force_n: Triple | None = Field(
        None, description="Force [x, y, z] in the part's own frame, in newtons."
    )
    moment_nmm: Triple | None = Field(
        None,
        description="Moment [x, y, z] in N mm about axes through the middle of the face "
        "(right hand: thumb along the axis, fingers the way it turns).",
    )
    on: FaceRef = Field(description="Face that the force or moment acts on.")
    held: FaceRef = Field(description="Face that is held.")
    sustained: bool = Field(default=False, description="Whether the load stays on for days.")
    down: Direction | None = Field(
        None,
        description="Direction that points to the ground as the part hangs; with it the part's "
        "own weight counts.",
    )
    warm_c: float | None = Field(
        None, ge=-50, le=300, description="Warmest it gets while loaded, in degrees C; else 23."
    )

    @model_validator(mode="after")
    def _is_a_load(self) -> Self:
        _check_size(self.force_n, self.moment_nmm)
        if self.on == self.held:
            raise fault(
                found=f"on and held both {_face_name(self.on)}",
                expected="two different faces",
                remedy="write the face that is screwed or clamped as held",
            )
        return self


def _face_name(face: str | BoxForm | PlaneFace) -> str:
    if isinstance(face, str):
        return face
    return "the same box" if isinstance(face, BoxForm) else "the same plane"


def _check_size(force_n: Triple | None, moment_nmm: Triple | None) -> None:
    if force_n is None and moment_nmm is None:
        raise fault(
            found="neither force_n nor moment_nmm",
            expected="a force, a moment or both",
            remedy="write force_n: [x, y, z] in newtons (1 kg weighs 9.8 N)",
        )
    if force_n is not None and not hypot(*force_n) <= MOST_N:
        raise fault(
            found=f"a force of {hypot(*force_n):g} N",
            expected="a force up to 1 000 000 N",
            remedy="write force_n as [x, y, z] in newtons (1 kg weighs 9.8 N)",
        )
    if moment_nmm is not None and not hypot(*moment_nmm) <= MOST_NMM:
        raise fault(
            found=f"a moment of {hypot(*moment_nmm):g} N mm",
            expected="a moment up to 1 000 000 000 N mm",
            remedy="write moment_nmm as [x, y, z] in newtons times millimetres",
        )
    force, moment = hypot(*(force_n or ())), hypot(*(moment_nmm or ()))
    if max(force, moment) < LEAST:
        alone = moment_nmm is None
        raise fault(
            found=f"a force of {force:g} N"
            if alone
            else f"a moment of {moment:g} N mm and no force",
            expected=f"a force or a moment of at least {LEAST:g} N or N mm",
            remedy="write force_n as [x, y, z] in newtons (1 kg weighs 9.8 N)",
        )


LoadRef = Annotated[
    Annotated[LoadForm, Tag("as a mapping")]
    | Annotated[tuple[LoadForm, ...], Field(min_length=1, max_length=50), Tag("as a list")],
    Discriminator(lambda value: shape_of(value).replace("a word", "a mapping")),
    Words(
        expected="a load {force_n: [x, y, z], on: face, held: face}, or a list of such",
        remedy="write load: {force_n: [0, 0, -20], on: +z, held: -z}",
    ),
]


class LoadFile(Form):
    """Loads of one part in a file of their own: one written out, or a list under `loads`."""

    form: Literal["platewright/load/1"] | None = Field(
        None, alias="schema", description="Write platewright/load/1, or leave it out."
    )
    force_n: Triple | None = Field(None, description="Force [x, y, z] in newtons.")
    moment_nmm: Triple | None = Field(None, description="Moment [x, y, z] in N mm.")
    on: FaceRef | None = Field(None, description="Face that the force or moment acts on.")
    held: FaceRef | None = Field(None, description="Face that is held.")
    sustained: bool = Field(default=False, description="Whether the load stays on for days.")
    down: Direction | None = Field(None, description="Direction to the ground, for own weight.")
    warm_c: float | None = Field(None, ge=-50, le=300, description="Warmest it gets, degrees C.")
    loads: tuple[LoadForm, ...] | None = Field(
        None, min_length=1, max_length=50, description="Several load cases, in place of one."
    )

    @model_validator(mode="after")
    def _is_one_or_several(self) -> Self:
        missing = [key for key in ("on", "held") if getattr(self, key) is None]
        if self.force_n is None and self.moment_nmm is None:
            missing.insert(0, "force_n")
        if self.loads is None and missing:
            raise fault(
                found=f"no {', '.join(missing)}",
                expected="force_n, on and held, or loads: [...]",
                remedy="write force_n: [0, 0, -20], on: +z, held: -z",
            )
        if self.loads is not None and len(missing) < 3:
            raise fault(
                found="both one load and loads",
                expected="one of the two",
                remedy="move it into the list under loads",
            )
        return self
