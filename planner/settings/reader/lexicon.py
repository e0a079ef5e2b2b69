"""The words of the trade, ready to be looked up: the shipped lexicon and what a user adds."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from planner.document import read_yaml, validate
from planner.document.wording import nearest, shown, suggestion
from planner.errors import input_error
from planner.settings.reader.lexicon_form import LexiconFile, MeaningForm, ValuesForm
from planner.settings.reader.record import Record
from planner.settings.reader.words import bared, fold
from planner.shipped import profiles_dir

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from planner.document import Document

Atoms = frozenset[str]
COMPOUND_MIN = 3
"""Shortest word that may be part of a compound."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """How a key of ours may be said.

    `ways` holds, per way, the groups of which one atom each must be said ("@unit", "@range"
    and "@word" are evidence of the value). `between` is not empty where it is too vague.
    """

    key: str
    ways: tuple[tuple[Atoms, ...], ...]
    helps: Atoms
    tolerates: Atoms
    quantity: str
    range: tuple[float, float] | None
    share_of: str | None = None
    becomes: tuple[str, ...] = ()
    between: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lexicon:
    """Everything that is known of words; texts are folded.

    `words` maps a word, or several parted by blanks, to its alternative meanings, each a
    set of atoms; `stems` are the words that may be parts of a compound.
    """

    words: Mapping[str, tuple[Atoms, ...]]
    stems: frozenset[str]
    longest: int
    owners: Atoms
    free: Atoms
    headings: Atoms
    meanings: tuple[Meaning, ...]
    yes: frozenset[str]
    no: frozenset[str]
    choices: Mapping[str, Mapping[str, str]]
    """Quantity ("pattern", "section", "material") -> word -> our name for it."""
    record: Record
    aliases: Mapping[str, str] = field(default_factory=dict)
    """Whole key, folded -> key of ours."""

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of ours that an entry may be read as."""
        return tuple(dict.fromkeys(meaning.key for meaning in self.meanings if not meaning.between))


@lru_cache(maxsize=1)
def shipped_lexicon() -> Lexicon:
    """Return the lexicon that comes with the program."""
    return _lexicon([_read(profiles_dir() / "lexicon.yaml")])


def load_lexicon(path: Path | None = None, words: Sequence[str] = ()) -> Lexicon:
    """Return the shipped lexicon with the user's file and words ("herzkammer=infill") added.

    On the right of a word stands what it means: words that the lexicon knows ("layer
    height"), or a key of ours ("layer_mm"), and then the left is a whole key. Raises
    InputError.
    """
    if path is None:
        lexicon = shipped_lexicon()
    else:
        lexicon = _lexicon([_read(profiles_dir() / "lexicon.yaml"), _read(path)])
    for text in words:
        lexicon = _with_word(lexicon, text)
    return lexicon


def _with_word(lexicon: Lexicon, text: str) -> Lexicon:
    word, equals, meaning = (part.strip() for part in text.partition("="))
    if not (equals and fold(word) and meaning):
        raise _bad_word(text, "WORD=MEANING, as in herzkammer=infill", "write both sides")
    if meaning in lexicon.keys and fold(meaning) not in lexicon.words:
        return replace(lexicon, aliases={**lexicon.aliases, fold(word): meaning})
    atoms: set[str] = set()
    for each in fold(meaning).split():
        if each not in lexicon.words:
            remedy = _known_like(each, lexicon)
            raise _bad_word(
                text, f"words that the lexicon knows, or a key; {shown(each)} is none", remedy
            )
        atoms |= lexicon.words[each][0]
    return _with_words(lexicon, {each: (frozenset(atoms),) for each in (fold(word), bared(word))})


def _known_like(word: str, lexicon: Lexicon) -> str:
    """Return what to write for a word that means nothing: the nearest of the same beginning."""
    alike = sorted(each for each in (*lexicon.words, *lexicon.keys) if each[0] == word[0])
    near = nearest(word, alike)
    return f"did you mean {near}?" if near else suggestion(word, lexicon.keys, noun="keys")


def _with_words(lexicon: Lexicon, added: Mapping[str, tuple[Atoms, ...]]) -> Lexicon:
    """Return a lexicon whose added words mean what is said, and nothing else."""
    words = {**lexicon.words, **added}
    return replace(lexicon, words=words, stems=_stems(words), longest=_longest(words))


def _bad_word(text: str, expected: str, remedy: str) -> Exception:
    return input_error(
        "command line", place="--word", found=shown(text), expected=expected, remedy=remedy
    )


def _read(path: Path) -> tuple[LexiconFile, Document]:
    document = read_yaml(path)
    return validate(LexiconFile, document), document


def _lexicon(files: Sequence[tuple[LexiconFile, Document]]) -> Lexicon:
    forms = [form for form, _ in files]
    plain = _words(forms)
    keys = {key: each for form in forms for key, each in form.keys.items()}
    atoms = _all(each for found in plain.values() for each in found)
    for form, document in files:
        _check(form, document, atoms)
        _check_aliases(form, document, keys)
    unclear = [each for form in forms for each in form.unclear]
    return Lexicon(
        words=plain,
        stems=_stems(plain),
        longest=_longest(plain),
        owners=_all(form.owners for form in forms),
        free=_all(form.free for form in forms),
        headings=_all(form.headings for form in forms),
        meanings=(
            *(_meaning(key, each) for key, each in keys.items()),
            *(replace(_meaning("", each), between=each.between) for each in unclear),
        ),
        yes=_folded(form.values.yes for form in forms),
        no=_folded(form.values.no for form in forms),
        choices=_choices([form.values for form in forms]),
        record=Record(
            names=_folded(form.record.name for form in forms),
            values=_folded(form.record.value for form in forms),
            units=_folded(form.record.unit for form in forms),
        ),
        aliases={fold(key): name for form in forms for key, name in form.aliases.items()},
    )


def _words(forms: Sequence[LexiconFile]) -> dict[str, tuple[Atoms, ...]]:
    """Return folded word -> its meanings.

    A word without its umlauts is another spelling of it, unless it is a word by itself
    ("füll" is no "full").
    """
    said = [
        (word, frozenset(meaning.split()))
        for form in forms
        for meaning, group in form.words.items()
        for word in group
    ]
    words: dict[str, dict[Atoms, None]] = {}
    for word, atoms in said:
        words.setdefault(fold(word), {})[atoms] = None
    proper = frozenset(words)
    for word, atoms in said:
        if bared(word) not in proper:
            words.setdefault(bared(word), {})[atoms] = None
    words.pop("", None)
    return {word: tuple(found) for word, found in words.items()}


def _check(form: LexiconFile, document: Document, atoms: Atoms) -> None:
    """Refuse keys that need words nobody can say, and aliases of keys that do not exist."""
    for key, each in form.keys.items():
        for group in (*_ways(each.needs), (each.helps, each.tolerates)):
            for atom in sorted(atom for part in group for atom in part if not atom.startswith("@")):
                if atom not in atoms:
                    raise input_error(
                        document.file,
                        line=document.line(f"keys.{key}"),
                        place=f"keys.{key}",
                        found=f"the meaning {shown(atom)}, for which there is no word",
                        expected="meanings that stand under words",
                        remedy=suggestion(atom, sorted(atoms), noun="meanings"),
                    )


def _check_aliases(form: LexiconFile, document: Document, keys: Iterable[str]) -> None:
    for alias, key in form.aliases.items():
        if key not in keys:
            place = f"aliases.{alias}"
            raise input_error(
                document.file,
                line=document.line(place),
                place=place,
                found=shown(key),
                expected="a key of ours",
                remedy=suggestion(key, keys, noun="keys"),
            )


def _meaning(key: str, form: MeaningForm) -> Meaning:
    return Meaning(
        key=key,
        ways=_ways(form.needs),
        helps=frozenset(form.helps),
        tolerates=frozenset(form.tolerates),
        quantity=form.quantity,
        range=form.range,
        share_of=form.share_of,
        becomes=form.becomes,
    )


def _ways(needs: Iterable[str]) -> tuple[tuple[Atoms, ...], ...]:
    return tuple(tuple(frozenset(group.split("|")) for group in way.split()) for way in needs)


def _choices(forms: Sequence[ValuesForm]) -> dict[str, dict[str, str]]:
    return {
        quantity: {
            spelling: name
            for form in forms
            for name, group in getattr(form, quantity).items()
            for word in group
            for spelling in (fold(word), bared(word))
        }
        for quantity in ("pattern", "section", "material")
    }


def _all(groups: Iterable[Iterable[str]]) -> frozenset[str]:
    return frozenset(each for group in groups for each in group)


def _folded(groups: Iterable[Iterable[str]]) -> frozenset[str]:
    words = [word for group in groups for word in group]
    return frozenset((*map(fold, words), *map(bared, words)))


def _stems(words: Mapping[str, object]) -> frozenset[str]:
    return frozenset(word for word in words if len(word) >= COMPOUND_MIN and word.isalpha())


def _longest(words: Mapping[str, object]) -> int:
    return max(word.count(" ") for word in words) + 1
