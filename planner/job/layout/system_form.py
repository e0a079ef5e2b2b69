"""A panel system as people write it: its pitch, and which part goes where."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema, model_validator

from planner.document import Form, Name, Words, fault

RULES_MAX = 200
EACH_MAX = 1000
"""Copies of a part in one place: beyond it, a slip of the hand."""

NOTHING = "none"
"""How a rule says that nothing is needed."""


def each_side_once(sides: tuple[str, ...]) -> tuple[str, ...]:
    """Refuse a side told twice: one of the two was meant to be another."""
    for index, side in enumerate(sides):
        if side in sides[:index]:
            raise fault(
                found=f"{side} a second time",
                expected="each side once",
                remedy="remove it, or write the side that you mean",
            )
    return sides


SidesOpen = Annotated[
    tuple[Literal["left", "right", "top", "bottom"], ...],
    Field(max_length=4),
    AfterValidator(each_side_once),
    Words(
        expected="a list of left, right, top and bottom",
        remedy="write the sides of the cell without a neighbour, as in [left, top], or [] for none",
    ),
]

Size = Annotated[float, Field(ge=1, le=5000)]


def _both(value: Any) -> Any:
    return (value, value) if type(value) in (int, float) else value


Pitch = Annotated[
    tuple[Size, Size],
    BeforeValidator(_both),
    Words(
        expected="a number of mm, or two: [across, up]",
        remedy="write the distance from panel to panel, as in pitch_mm: 100",
    ),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 1, "maximum": 5000},
                {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2},
            ]
        }
    ),
]


class RuleForm(Form):
    """A part and where it goes; of several rules, every one that fits counts."""

    part: Name = Field(description="Part or assembly; none where nothing is needed.")
    at: Literal["cell", "shared edge", "free edge", "junction", "fixing", "cells"] = Field(
        description="Where it goes: into every cell, between two cells, at an edge of one cell, "
        "where corners of cells meet, at every screw into the wall; cells: so many per wall."
    )
    count: int = Field(1, ge=1, le=EACH_MAX, description="Copies in each such place.")
    open_sides: SidesOpen | None = Field(
        None, description="Only for cells with exactly these sides without a neighbour."
    )
    along: Literal["level", "upright"] | None = Field(
        None, description="Only for edges that run this way."
    )
    shape: Literal["outer corner", "straight", "diagonal", "inner corner", "middle"] | None = Field(
        None,
        description="Only for junctions of this shape: one panel, two in line, two across, three, "
        "four.",
    )
    every: int | None = Field(
        None, ge=1, le=100_000, description="With at: cells, one count for every so many begun."
    )
    bought: bool = Field(default=False, description="Whether it is counted and not printed.")

    @model_validator(mode="after")
    def _conditions_suit_the_place(self) -> Self:
        for key, places in _SUITS.items():
            if getattr(self, key) is not None and self.at not in places:
                raise fault(
                    found=f"{key} with at: {self.at}",
                    expected=f"{key} only with at: {' or '.join(places)}",
                    remedy=f"remove {key}, or correct at",
                )
        if self.part != NOTHING and self.part.casefold() == NOTHING:
            raise fault(
                found=f"the part {self.part}",
                expected=f"part: {NOTHING} where nothing is needed, or the name of a part",
                remedy=f"write part: {NOTHING}, in small letters",
            )
        if self.at == "cells" and self.every is None:
            raise fault(
                found="at: cells without every",
                expected="the number of cells for which one is needed",
                remedy="add every: 6, or write at: cell for one in each cell",
            )
        return self

    def always_with(self, other: RuleForm) -> bool:
        """Tell whether every place that this rule fits is one that the other fits too."""
        return self.at == other.at and other.asked() in ({}, self.asked())

    def asked(self) -> dict[str, Any]:
        """Return the conditions that the rule makes, as they are compared."""
        told = {key: getattr(self, key) for key in ("open_sides", "along", "shape", "every")}
        if told["open_sides"] is not None:
            told["open_sides"] = frozenset(told["open_sides"])
        return {key: value for key, value in told.items() if value is not None}


_SUITS = {
    "open_sides": ("cell",),
    "along": ("shared edge", "free edge"),
    "shape": ("junction",),
    "every": ("cells",),
}


class SystemForm(Form):
    """Panels of one pitch, and what joins and holds them."""

    name: Name = Field(description="What the system is called.")
    pitch_mm: Pitch = Field(
        description="Distance from panel to panel, seams included: one number, or [across, up]."
    )
    thickness_mm: float = Field(gt=0, le=500, description="Thickness of a panel.")
    joint_play_mm: float = Field(
        ge=0, le=50, description="How far a joint lets neighbours shift against each other."
    )
    rules: Annotated[
        tuple[RuleForm, ...], Words(example="[{part: panel, at: cell}, {part: key, at: ...}]")
    ] = Field(min_length=1, max_length=RULES_MAX, description="Which part goes where.")

    @model_validator(mode="after")
    def _parts_are_bought_or_not(self) -> Self:
        told = {(rule.part, rule.bought) for rule in self.rules}
        both = sorted(part for part, bought in told if bought and (part, False) in told)
        if both:
            raise fault(
                found=f"{both[0]} with bought: true in one rule and without it in another",
                expected="a part that is bought everywhere or printed everywhere",
                remedy="write bought: true in each of its rules, or in none",
            )
        return self

    @model_validator(mode="after")
    def _rules_do_not_contradict(self) -> Self:
        for rule in self.rules:
            others = [o for o in self.rules if o.part != NOTHING and rule.always_with(o)]
            if rule.part == NOTHING and others:
                raise fault(
                    found=f"part: {NOTHING}{_place(rule)}, where the rule for {others[0].part}"
                    f"{_place(others[0])} fits as well",
                    expected=f"part: {NOTHING} only where no other rule fits",
                    remedy=f"remove one of the two, or narrow the rule for {others[0].part}",
                )
            same = [o for o in others if o.part == rule.part and o.always_with(rule)]
            if len(same) > 1:
                raise fault(
                    found=f"the rule for {rule.part}{_place(rule)} {len(same)} times",
                    expected="each rule once",
                    remedy="remove the others; for more copies in each place write count",
                )
        return self

    @model_validator(mode="after")
    def _cells_are_filled(self) -> Self:
        if not any(rule.at == "cell" for rule in self.rules):
            raise fault(
                found="no rule at: cell",
                expected="a rule that says which part fills a cell",
                remedy="add {part: panel, at: cell} to rules",
            )
        return self


def _place(rule: RuleForm) -> str:
    """Return " at free edge, along: level"."""
    told = (
        f"{key}: [{', '.join(value)}]" if isinstance(value, tuple) else f"{key}: {value}"
        for key in rule.asked()
        for value in [getattr(rule, key)]
    )
    return ", ".join((f" at {rule.at}", *told))


class SystemFile(SystemForm):
    """A panel system in a file of its own."""

    form: Literal["platewright/system/1"] = Field(
        alias="schema", description="Write platewright/system/1."
    )
