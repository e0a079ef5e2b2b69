"""From the words of a key to meanings: phrases, plurals and compounds; unknown words named."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from planner.settings.reader.lexicon import Atoms, Lexicon

ENDINGS = ("s", "es", "n", "en", "e", "er", "er")
"""Plural and case endings of the languages of the lexicon."""
LINKS = ("", "s", "n", "en", "es", "e")
"""Letters between the parts of a German compound (Einzug-s-länge, Schicht-en-zahl)."""
COMPOUND_MAX = 40
WORDS_MAX = 30
"""So many words are prose, no key."""
FIRST = frozenset({"first"})
INDEX = frozenset({"plain"})
UNKNOWN_MIN = 2
"""A lone letter that nobody knows says nothing (but neither does it change anything)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A word or phrase of a key and what it may mean; nothing where it is unknown."""

    text: str
    alternatives: tuple[Atoms, ...]


def items_of(words: Sequence[str], lexicon: Lexicon) -> tuple[Item, ...]:
    """Return the words of a key with their meanings, the longest phrases first."""
    if len(words) > WORDS_MAX:
        return (Item(text=" ".join(words[:3]), alternatives=()),)
    found: list[Item] = []
    at = 0
    while at < len(words):
        length, item = _next(words[at:], found, lexicon)
        found.extend(item)
        at += length
    return tuple(found)


def _next(
    words: Sequence[str], before: Sequence[Item], lexicon: Lexicon
) -> tuple[int, tuple[Item, ...]]:
    """Return how many words are taken and what they are."""
    for length in range(min(lexicon.longest, len(words)), 1, -1):
        phrase = " ".join(words[:length])
        if phrase in lexicon.words:
            return length, (Item(text=phrase, alternatives=lexicon.words[phrase]),)
    word = words[0]
    if word.isdigit():
        return 1, (_number(word, before),)
    return 1, tuple(_meanings(word, lexicon))


def _number(word: str, before: Sequence[Item]) -> Item:
    """Layer 0 and layer 1 are the first; any other number counts tools or profiles."""
    counts = [item for item in before if not _says(item, "count") or _says(item, "layer")]
    layer = bool(counts) and _says(counts[-1], "layer")
    return Item(text=word, alternatives=(FIRST if layer and word in ("0", "1") else INDEX,))


def _says(item: Item, atom: str) -> bool:
    return any(atom in atoms for atoms in item.alternatives)


def _meanings(word: str, lexicon: Lexicon) -> Iterator[Item]:
    known = _known(word, lexicon)
    if known is not None:
        yield Item(text=word, alternatives=lexicon.words[known])
        return
    parts = _compound(word, lexicon)
    if parts:
        yield from (Item(text=part, alternatives=lexicon.words[part]) for part in parts)
    elif len(word) >= UNKNOWN_MIN:
        yield Item(text=word, alternatives=())


def _known(word: str, lexicon: Lexicon) -> str | None:
    """Return the word, or the word without its ending, as the lexicon has it."""
    if word in lexicon.words:
        return word
    stems = (word.removesuffix(ending) for ending in ENDINGS if word.endswith(ending))
    return next((stem for stem in stems if len(stem) >= 3 and stem in lexicon.words), None)


def _compound(word: str, lexicon: Lexicon) -> tuple[str, ...]:
    """Return the fewest known words that make up all of a compound, or nothing.

    Of equally few the first parts are the longest, as a reader would take them.
    """
    if not 6 <= len(word) <= COMPOUND_MAX:
        return ()
    best: dict[int, tuple[str, ...]] = {len(word): ()}
    for start in range(len(word) - 1, -1, -1):
        for end in range(len(word), start + 2, -1):
            part = word[start:end]
            if part not in lexicon.stems:
                continue
            for link in LINKS:
                rest = end + len(link)
                if rest not in best or not word.startswith(link, end):
                    continue
                parts = (part, *best[rest])
                if start not in best or len(parts) < len(best[start]):
                    best[start] = parts
    return best.get(0, ())
