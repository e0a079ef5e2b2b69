"""Values as they are written: numbers with units, lists, switches and words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from planner.settings.reader.concept import items_of
from planner.settings.reader.units import Unit, unit_named
from planner.settings.reader.words import fold, tokens

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.settings.reader.lexicon import Lexicon

NUMBER = re.compile(r"([-+]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][-+]?\d{1,3})?)\s*(.*)", re.DOTALL)
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}[.,]\d{3}")
_PAIR = re.compile(r"([1-9]\d*),([1-9]\d*)")
_REMARK = re.compile(r"\s(?:[;#]|//)")
_BRACKETS = {"[": "]", "(": ")", "{": "}"}
TEXT_MAX = 200
LIST_MAX = 64
"""A longer list is data, no value per tool: it is no number and no word."""
COUNTED = frozenset({"wall", "layer", "line", "count", "skin", "plain", "solid", "top", "bottom"})
"""Words that may stand behind a number of things: "3 walls"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One value: a number in its unit, or words.

    `numbers` has several entries where a comma or dot may be a decimal mark, part thousands,
    or part the values of two tools; it is empty where the text is no number. `unit` is None
    where none is written; `strange` holds what stands where a unit would and is none.
    """

    text: str
    numbers: tuple[float, ...]
    unit: Unit | None
    strange: str = ""


def written(texts: Sequence[str], unit: str, lexicon: Lexicon) -> tuple[Written, ...]:
    """Return the values of an entry: one, or one per tool where it lists several."""
    parts = [part for text in texts[: LIST_MAX + 1] for part in _parts(text, lexicon)]
    values = tuple(_with_unit(_one(part, lexicon), unit) for part in parts[:LIST_MAX])
    return values if len(parts) <= LIST_MAX else (*values, Written(text="…", numbers=(), unit=None))


def _parts(text: str, lexicon: Lexicon) -> list[str]:
    """Split a list ("0.4;0.4", "[0.4, 0.4]") into its values; drop a remark behind it."""
    text = text.strip()
    whole = _split(text)
    remark = _REMARK.search(text)
    if remark is None or all(_plain(part, lexicon) for part in whole):
        return whole
    return _split(text[: remark.start()].strip())


def _plain(part: str, lexicon: Lexicon) -> bool:
    one = _one(part, lexicon)
    return bool(one.numbers) and not one.strange


def _split(text: str) -> list[str]:
    if len(text) > 1 and _BRACKETS.get(text[0]) == text[-1]:
        text = text[1:-1].strip()
    if len(text) > TEXT_MAX * 5:
        return [text[:TEXT_MAX]]
    for mark in (";", "|"):
        if mark in text:
            return _stripped(text.split(mark))
    if "," in text and not re.fullmatch(r"[-+]?\d*,\d+\s*[^,]*", text):
        return _stripped(text.split(","))
    return _stripped([text])


def _stripped(parts: Sequence[str]) -> list[str]:
    plain = [part.strip().strip("\"'").strip() for part in parts]
    return [part for part in plain if part] or [""]


def _one(text: str, lexicon: Lexicon) -> Written:
    text = text[:TEXT_MAX]
    found = NUMBER.fullmatch(text)
    numbers = _numbers(found[1]) if found is not None else ()
    if found is None or not numbers:
        return Written(text=text, numbers=(), unit=None)
    rest = found[2].strip()
    unit = unit_named(rest) if rest else None
    if unit is None and rest and _counts(rest, lexicon):
        unit = unit_named("x")
    strange = rest if rest and unit is None else ""
    return Written(text=text, numbers=numbers, unit=unit, strange=strange)


def _numbers(text: str) -> tuple[float, ...]:
    """Return what a number may be, in the order of likelihood; nothing where it is not finite.

    >>> _numbers("0,2"), _numbers("1,500"), _numbers("260,260"), _numbers("1e999")
    ((0.2,), (1.5, 1500.0), (260.26, 260260.0, 260.0), ())
    """
    values = [float(text.replace(",", "."))]
    if _THOUSANDS.fullmatch(text):
        values.append(float(text.replace(",", "").replace(".", "")))
    if _two_tools(text):
        values.append(float(text.split(",", maxsplit=1)[0]))
    return tuple(values) if all(isfinite(value) for value in values) else ()


def _two_tools(text: str) -> bool:
    """Tell whether a comma may part the values of two tools: both alike, or much the same.

    >>> _two_tools("210,200"), _two_tools("3,3"), _two_tools("12,5"), _two_tools("0,2")
    (True, True, False, False)
    """
    pair = _PAIR.fullmatch(text)
    if pair is None:
        return False
    low, high = sorted(int(side[:9]) for side in pair.groups())
    return low == high or (low >= 10 and high <= 2 * low)


def _counts(rest: str, lexicon: Lexicon) -> bool:
    """Tell whether a word behind a number names the things counted."""
    items = items_of(tokens(rest), lexicon)
    return bool(items) and all(
        any(atoms <= COUNTED for atoms in item.alternatives) for item in items
    )


def _with_unit(value: Written, unit: str) -> Written:
    """Return the value with the unit that stands apart from it, if it has none of its own."""
    apart = unit_named(unit) if unit.strip() else None
    if apart is None or value.unit is not None or value.strange or not value.numbers:
        return value
    return Written(text=value.text, numbers=value.numbers, unit=apart)


def switch_of(value: Written, lexicon: Lexicon) -> bool | None:
    """Return what a value says as a switch: words for yes and no, 1 and 0, else None."""
    if value.numbers:
        plain = value.unit is None and not value.strange and value.numbers[0] in (0.0, 1.0)
        return bool(value.numbers[0]) if plain else None
    said = fold(value.text)
    return True if said in lexicon.yes else False if said in lexicon.no else None


def is_number(value: Written) -> bool:
    """Tell whether a value is a number with a unit that we know, or with none."""
    return bool(value.numbers) and not value.strange
