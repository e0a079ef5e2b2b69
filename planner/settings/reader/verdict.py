"""What becomes of one entry: read, ambiguous, suspect, suggested, or none of ours."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING

from planner.settings.reader.convert import Habits, convert, habits_of
from planner.settings.reader.match import RIVAL, Candidate, candidates, suits
from planner.settings.reader.model import Unclear
from planner.settings.reader.settle import Said

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner.settings.reader.lexicon import Lexicon
    from planner.settings.reader.match import Asked
    from planner.settings.reader.model import Entry

NEAR = 0.8
"""So alike a word must be to be taken for a slip of another (our own choice)."""

SLIP_MAX = 2
"""Letters that a slip adds or leaves out at most."""


class Group(Enum):
    """Where an entry is told."""

    READ = "read"
    AMBIGUOUS = "ambiguous"
    SUSPECT = "suspect"
    SUGGESTED = "suggested"
    REST = "not understood"


@dataclass(frozen=True, slots=True, kw_only=True)
class Possible:
    """An entry and what it may be, best first; with `alias` its whole key is known."""

    asked: Asked
    candidates: tuple[Candidate, ...]

    @property
    def alias(self) -> bool:
        """Whether the lexicon names the whole key."""
        return self.asked.alias is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What becomes of an entry; `said` where it is read, `unclear` where it nearly is."""

    group: Group
    entry: Entry
    said: Said | None = None
    unclear: Unclear | None = None


def possible(asked: Asked, lexicon: Lexicon) -> tuple[Candidate, ...]:
    """Return what an entry may be: by its words, or by an alias of the whole key."""
    if asked.alias is None:
        return candidates(asked, lexicon)
    meaning = next(one for one in lexicon.meanings if one.key == asked.alias)
    fits = suits(asked, meaning, lexicon)
    return (Candidate(meaning=meaning, score=1.0, cost=0.0),) if fits else ()


def habits(choices: Sequence[Possible]) -> Habits:
    """Return how the file writes shares, from all keys that are certainly shares."""
    shares = [
        (value, value.unit or each.asked.unit)
        for each in choices
        if each.candidates and each.candidates[0].meaning.quantity == "share"
        if not each.asked.unknown
        for value in each.asked.values
    ]
    return habits_of(shares)


def verdict(choice: Possible, shares: Habits, lexicon: Lexicon) -> Verdict:
    """Return what becomes of an entry."""
    if choice.asked.unknown and not choice.alias:
        return _with_unknown_words(choice, lexicon)
    if not choice.candidates:
        return _of_no_key(choice, lexicon)
    best = choice.candidates[0]
    rivals = [one for one in choice.candidates if best.score - one.score < RIVAL]
    if len(rivals) > 1 or best.meaning.between:
        keys = _unique(key for one in rivals for key in _keys(one))
        why = f"may be {' or '.join(keys)}" + ("" if len(keys) > 1 else ", or not")
        return _unclear(choice, Group.AMBIGUOUS, keys, why)
    return _of_one_key(choice, best, shares, lexicon)


def _of_one_key(choice: Possible, best: Candidate, shares: Habits, lexicon: Lexicon) -> Verdict:
    """Return the value of an entry whose key is certain, or what is wrong with it."""
    value = convert(choice.asked, best.meaning, lexicon, shares)
    if value.fault or value.value is None:
        group = Group.AMBIGUOUS if value.doubt else Group.SUSPECT
        return _unclear(choice, group, _keys(best), value.fault)
    entry = choice.asked.entry
    said = Said(meaning=best.meaning, entry=entry, value=value.value, share_of=value.share_of)
    return Verdict(group=Group.READ, entry=entry, said=said)


def _of_no_key(choice: Possible, lexicon: Lexicon) -> Verdict:
    """Tell a number that its key cannot have from a key that is none of ours."""
    asked = choice.asked
    if all(value.numbers for value in asked.values):
        meant = candidates(asked, lexicon, loose=True)[:1]
        keys = _unique(key for one in meant if not one.meaning.between for key in _keys(one))
        if keys:
            why = f"{asked.entry.text} is no {meant[0].meaning.quantity}"
            return _unclear(choice, Group.SUSPECT, keys, why)
    return Verdict(group=Group.REST, entry=asked.entry)


def _with_unknown_words(choice: Possible, lexicon: Lexicon) -> Verdict:
    """Say what an entry may be whose words are not all known; it is not read."""
    unknown = choice.asked.unknown
    firm = [one for one in choice.candidates[:1] if not one.meaning.between]
    words = ", ".join(unknown)
    if firm:
        keys = _keys(firm[0])
        why = f"perhaps {' and '.join(keys)}; the word {words} is unknown"
        return _unclear(choice, Group.SUGGESTED, keys, why)
    near = _near(unknown[0], lexicon) if len(unknown) == 1 and choice.asked.said else None
    if near is not None:
        why = f"the word {words} is unknown; did you mean {near}?"
        return _unclear(choice, Group.SUGGESTED, (), why)
    return Verdict(group=Group.REST, entry=choice.asked.entry)


def _near(word: str, lexicon: Lexicon) -> str | None:
    """Return the known word of the same beginning that an unknown one may be a slip of."""
    return _nearest(word, tuple(sorted(each for each in lexicon.stems if each[0] == word[0])))


@lru_cache(maxsize=4096)
def _nearest(word: str, known: tuple[str, ...]) -> str | None:
    close = [each for each in known if abs(len(each) - len(word)) <= SLIP_MAX]
    found = get_close_matches(word, close, n=1, cutoff=NEAR)
    return found[0] if found else None


def _keys(candidate: Candidate) -> tuple[str, ...]:
    meaning = candidate.meaning
    return meaning.between or meaning.becomes or (meaning.key,)


def _unclear(choice: Possible, group: Group, keys: tuple[str, ...], why: str) -> Verdict:
    entry = choice.asked.entry
    return Verdict(group=group, entry=entry, unclear=Unclear(entry=entry, keys=keys, why=why))


def _unique(keys: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(keys))
