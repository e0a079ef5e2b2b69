"""From a value as written to a value in our units, or why it cannot be read as such."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.settings.reader.quantity import is_number, switch_of
from planner.settings.reader.words import fold

if TYPE_CHECKING:
    from planner.settings.reader.lexicon import Lexicon, Meaning
    from planner.settings.reader.match import Asked
    from planner.settings.reader.model import Value
    from planner.settings.reader.quantity import Written
    from planner.settings.reader.units import Unit

DIGITS = 9
"""Digits that are kept after a conversion: 200 µm are 0.2 mm, not 0.20000000000000001."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Converted:
    """A value in our unit; or a share of another key; or what is wrong.

    `fault` is "" or a sentence; `doubt` tells that several values are possible, and not
    that the only one is impossible.
    """

    value: Value | None = None
    share_of: str | None = None
    fault: str = ""
    doubt: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How this file writes shares that have no unit: in per cent, as fractions, or unknown."""

    percents: bool = False
    fractions: bool = False


def convert(asked: Asked, meaning: Meaning, lexicon: Lexicon, habits: Habits) -> Converted:
    """Return the value of an entry as its key wants it; all tools must agree."""
    every = [_one(value, asked.unit, meaning, lexicon, habits) for value in asked.values]
    first = every[0]
    if all(each == first for each in every):
        return first
    fault = next((each for each in every if each.fault), None)
    if fault is not None:
        return fault
    said = ", ".join(_shown(each.value) for each in every[:4])
    return Converted(fault=f"differs from tool to tool or row to row ({said})", doubt=True)


def _shown(value: Value | None) -> str:
    plain = isinstance(value, float) and not isinstance(value, bool)
    return format(value, "g") if plain else str(value)


def habits_of(shares: list[tuple[Written, Unit | None]]) -> Habits:
    """Return how a file writes shares, from those without a unit that are not 0 or 1."""
    bare = [value.numbers[0] for value, unit in shares if is_number(value) and unit is None]
    return Habits(
        percents=any(number > 1 for number in bare),
        fractions=any(0 < number < 1 for number in bare),
    )


def _one(
    value: Written, unit: Unit | None, meaning: Meaning, lexicon: Lexicon, habits: Habits
) -> Converted:
    kind = meaning.quantity
    if kind == "switch":
        return Converted(value=switch_of(value, lexicon))
    if kind in lexicon.choices:
        said = fold(value.text)
        return Converted(value=lexicon.choices[kind].get(said, said))
    if not value.numbers:
        return Converted(value=0.0)  # "off" of a length or share; other words do not suit
    unit = value.unit or unit
    if unit is not None and "share" in unit.quantities and kind != "share":
        return Converted(
            value=round(value.numbers[0] * unit.factor, DIGITS), share_of=meaning.share_of
        )
    if kind == "share" and unit is None:
        return _bare_share(value, meaning, habits)
    return _in_range([_ours(number, unit) for number in value.numbers], meaning, value)


def _ours(number: float, unit: Unit | None) -> float:
    return number if unit is None else round(number * unit.factor + unit.offset, DIGITS)


def _bare_share(value: Written, meaning: Meaning, habits: Habits) -> Converted:
    """Return a share without a unit: 20 is 20 %, 0.2 is 0.2, and 1 depends on the others."""
    number = value.numbers[0]
    if number == 0:
        return Converted(value=0.0)
    if number > 1:
        return _in_range([round(number / 100, DIGITS)], meaning, value)
    if habits.percents:
        fault = f"{value.text} may be a share or per cent: other shares in the file are in per cent"
        return Converted(fault=fault, doubt=True)
    if number == 1 and not habits.fractions:
        return Converted(fault="1 may be 1 % or the whole", doubt=True)
    return _in_range([number], meaning, value)


def _in_range(numbers: list[float], meaning: Meaning, value: Written) -> Converted:
    """Return the one number that the key can have; whole where it counts."""
    low, high = meaning.range or (float("-inf"), float("inf"))
    possible = [number for number in numbers if low <= number <= high]
    if meaning.quantity == "count":
        if value.numbers[0] != int(value.numbers[0]):
            return Converted(fault=f"{value.text} is no whole number")
        possible = [number for number in possible if number == int(number)]
    if not possible:
        return Converted(fault=f"{value.text} is outside {low:g} to {high:g}")
    if len(possible) > 1:
        both = " or ".join(f"{number:g}" for number in possible)
        return Converted(fault=f"{value.text} may be {both}", doubt=True)
    return Converted(value=int(possible[0]) if meaning.quantity == "count" else possible[0])
