"""Which key of ours an entry may be, with the evidence for and against each.

A word of the key itself counts 1, a word of its path 0.75, a unit 0.75. What is said and
not accounted for costs: an ordinary word 1 (0.75 on the path), a word that makes the key
something else 1.8 (1.6). Source of the weights: common practice, no source; they were
chosen on dialects of our own.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from planner.settings.reader.concept import Item, items_of
from planner.settings.reader.quantity import is_number, switch_of, written
from planner.settings.reader.units import Unit, unit_of_key
from planner.settings.reader.words import fold, tokens

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.settings.reader.lexicon import Atoms, Lexicon, Meaning
    from planner.settings.reader.model import Entry
    from planner.settings.reader.quantity import Written

LEAF, PATH, UNIT, RANGE, WORD = 1.0, 0.75, 0.75, 0.5, 0.75
HELP = 0.25
COST = {LEAF: 1.0, PATH: 0.75}
OWNER_COST = {LEAF: 1.8, PATH: 1.6}
COST_MAX = 0.25
"""More than this unaccounted for, and the key says something else."""
RIVAL = 0.3
"""Two keys whose scores are closer than this: ambiguous."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """An entry made ready: its words on two levels, its unit and its values.

    `unknown` are the words of the key, and of its path, that the lexicon does not have.
    """

    entry: Entry
    said: tuple[tuple[float, bool, Item], ...]
    unknown: tuple[str, ...]
    unit: Unit | None
    values: tuple[Written, ...]
    alias: str | None = None
    """The key of ours that the lexicon gives for the whole key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A meaning that the words allow, with its score; `cost` is what is unaccounted for."""

    meaning: Meaning
    score: float
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrappers:
    """Steps of paths that say little of what is under them.

    `named` hold so much that an unknown word in them is a name, not a qualifier; `whole` hold
    the whole file, and change nothing unless they say whose it is (support, raft).
    """

    named: frozenset[str] = frozenset()
    whole: frozenset[str] = frozenset()
    marks: frozenset[str] = frozenset()
    """Words that so many keys carry that one nobody knows is the program's mark, no meaning."""


NAMED_SHARE = 0.4
"""A step that holds so much of the file is a name: our own choice."""
WHOLE_MIN = 6


def wrappers_of(entries: Sequence[Entry]) -> Wrappers:
    """Return the steps of paths that hold much of the file, or all of it."""
    held = Counter(step for entry in entries for step in dict.fromkeys(entry.path))
    carried = Counter(word for entry in entries for word in set(tokens(entry.key)))
    total = len(entries)
    return Wrappers(
        marks=frozenset(
            word for word, n in carried.items() if n >= max(NAMED_SHARE * total, WHOLE_MIN)
        ),
        named=frozenset(step for step, count in held.items() if count >= NAMED_SHARE * total),
        whole=frozenset(
            step for step, count in held.items() if count == total and total >= WHOLE_MIN
        ),
    )


def asked(entry: Entry, wrappers: Wrappers, lexicon: Lexicon) -> Asked:
    """Return an entry made ready."""
    unit, key, tail = unit_of_key(entry.key, tokens(entry.key))
    words = tokens(key)
    leaf = [
        item
        for item in items_of(words[: len(words) - tail], lexicon)
        if item.alternatives or item.text not in wrappers.marks
    ]
    said = [(LEAF, False, item) for item in leaf]
    for step in entry.path:
        items = _items_of_step(step, lexicon)
        heading = step in wrappers.whole or any(_says(item, "and") for item in items)
        known = [item for item in items if item.alternatives or step not in wrappers.named]
        said.extend((PATH, heading, item) for item in known)
    values = written(entry.values, entry.unit, lexicon)
    return Asked(
        entry=entry,
        said=tuple(each for each in said if each[2].alternatives),
        unknown=tuple(dict.fromkeys(item.text for _, _, item in said if not item.alternatives)),
        unit=_unit(values, unit),
        values=values,
        alias=_alias(entry, lexicon),
    )


def _alias(entry: Entry, lexicon: Lexicon) -> str | None:
    """Return what the lexicon has for the whole key, with its path or without."""
    if not lexicon.aliases:
        return None
    return lexicon.aliases.get(fold(entry.place)) or lexicon.aliases.get(fold(entry.key))


def candidates(asked: Asked, lexicon: Lexicon, *, loose: bool = False) -> tuple[Candidate, ...]:
    """Return the meanings that the words allow, best first.

    With `loose`, those whose value is of another kind stay too: to say so.
    """
    words = frozenset(
        atom for _, _, item in asked.said for atoms in item.alternatives for atom in atoms
    )
    found = [
        candidate
        for meaning in lexicon.meanings
        if any(_sayable(way, words) for way in meaning.ways)
        if loose or suits(asked, meaning, lexicon)
        if (candidate := _best_way(asked, meaning, lexicon)) is not None
        and candidate.cost <= COST_MAX
    ]
    return tuple(sorted(found, key=lambda each: (-each.score, each.meaning.key)))


def _sayable(way: tuple[Atoms, ...], words: Atoms) -> bool:
    """Tell quickly whether a way can be meant at all: a word for each group, or evidence."""
    return all(group & words or any(atom[0] == "@" for atom in group) for group in way)


def suits(asked: Asked, meaning: Meaning, lexicon: Lexicon) -> bool:
    """Tell whether the values of an entry are of the kind that a key wants."""
    return all(_suits(value, asked.unit, meaning, lexicon) for value in asked.values)


def _suits(value: Written, unit: Unit | None, meaning: Meaning, lexicon: Lexicon) -> bool:
    kind = meaning.quantity
    if kind == "switch":
        return switch_of(value, lexicon) is not None
    if kind in lexicon.choices:
        return bool(fold(value.text)) and not value.numbers and _choice_fits(value, kind, lexicon)
    if not is_number(value):
        return (
            not value.numbers and switch_of(value, lexicon) is False and kind in ("length", "share")
        )
    unit = value.unit or unit
    if unit is None or kind in unit.quantities:
        return True
    return "share" in unit.quantities and meaning.share_of is not None


def _choice_fits(value: Written, kind: str, lexicon: Lexicon) -> bool:
    """Patterns have many names, materials and sections only those that are known."""
    known = fold(value.text) in lexicon.choices[kind]
    return known or (kind == "pattern" and switch_of(value, lexicon) is None)


def _best_way(asked: Asked, meaning: Meaning, lexicon: Lexicon) -> Candidate | None:
    ways = (_way(asked, meaning, way, lexicon) for way in meaning.ways)
    possible = [candidate for candidate in ways if candidate is not None]
    return max(possible, key=lambda each: (each.score, -each.cost), default=None)


def _way(
    asked: Asked, meaning: Meaning, groups: tuple[Atoms, ...], lexicon: Lexicon
) -> Candidate | None:
    """Return the candidate that one way of saying makes, or None where a word is missing."""
    needed: Atoms = frozenset().union(*groups)
    weights = [0.0] * len(groups)
    helped: dict[str, float] = {}
    cost = 0.0
    for weight, heading, item in asked.said:
        atoms, each_cost = _taken(item, weight, needed, meaning, lexicon, heading=heading)
        cost += each_cost
        for at, group in enumerate(groups):
            if atoms & group:
                weights[at] = max(weights[at], weight)
        for atom in atoms & meaning.helps - needed:
            helped[atom] = max(helped.get(atom, 0.0), weight)
    unit_fits = asked.unit is not None and meaning.quantity in asked.unit.quantities
    for at, group in enumerate(groups):
        weights[at] = weights[at] or _evidence(asked, meaning, group, lexicon, unit_fits=unit_fits)
    if not all(weights) or not any(weights[at] for at in range(len(groups))):
        return None
    score = sum(weights) + HELP * sum(helped.values()) + (HELP if unit_fits else 0.0) - cost
    return Candidate(meaning=meaning, score=score, cost=cost)


def _taken(
    item: Item,
    weight: float,
    needed: Atoms,
    meaning: Meaning,
    lexicon: Lexicon,
    *,
    heading: bool,
) -> tuple[Atoms, float]:
    """Return what a word is taken for, as the key would have it, and what that costs."""
    fine = needed | meaning.helps | meaning.tolerates | lexicon.free
    if weight == PATH:
        fine |= lexicon.headings
    owner, plain = OWNER_COST[weight], COST[weight]

    def price(atoms: Atoms) -> float:
        strange = atoms - fine
        if heading and not strange & lexicon.owners:
            return 0.0
        return sum(owner if atom in lexicon.owners else plain for atom in strange)

    return min(
        ((atoms, price(atoms)) for atoms in item.alternatives),
        key=lambda each: (each[1], -len(each[0] & needed), -len(each[0] & meaning.helps)),
    )


def _evidence(
    asked: Asked, meaning: Meaning, group: Atoms, lexicon: Lexicon, *, unit_fits: bool
) -> float:
    """Return what the value itself says for a word that is not there."""
    if "@unit" in group and unit_fits:
        return UNIT
    if "@word" in group and all(
        fold(value.text) in lexicon.choices.get(meaning.quantity, {}) for value in asked.values
    ):
        return WORD
    if "@off" in group and all(switch_of(value, lexicon) is False for value in asked.values):
        return WORD
    if "@range" in group and asked.unit is None and meaning.range is not None:
        low, high = meaning.range
        numbers = [value.numbers[0] for value in asked.values if is_number(value)]
        if meaning.quantity == "length":  # a whole number may count something, or name a tool
            numbers = [number for number in numbers if number != int(number)]
        if len(numbers) == len(asked.values) and all(low <= number <= high for number in numbers):
            return RANGE
    return 0.0


def _unit(values: Sequence[Written], of_key: Unit | None) -> Unit | None:
    """Return the unit of the first value that has one, else that of the key."""
    return next((value.unit for value in values if value.unit is not None), of_key)


@lru_cache(maxsize=4096)
def _step_words(step: str) -> tuple[str, ...]:
    words = tokens(step)
    _, key, tail = unit_of_key(step, words)
    return tokens(key)[: len(tokens(key)) - tail] or words


def _items_of_step(step: str, lexicon: Lexicon) -> tuple[Item, ...]:
    return items_of(_step_words(step), lexicon)


def _says(item: Item, atom: str) -> bool:
    return any(atom in atoms for atoms in item.alternatives)
