"""Keys taken apart into plain words: cases, accents, signs and digits set aside."""

from __future__ import annotations

import re
from functools import lru_cache
from unicodedata import combining, normalize

_TOKEN = re.compile(r"\d+(?:st|nd|rd|th|er|ere|re|a|o|ª|º)(?![^\W_])|\d+|[^\W\d_]+|&|\+")
_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})
_ORDINALS = str.maketrans({"ª": "a", "º": "o"})


def fold(text: str) -> str:
    """Return a text without case and accents, its words parted by single blanks.

    >>> fold("Düsen-Temperatur"), fold("layerHeight_mm"), fold("1ª camada")
    ('duesen temperatur', 'layer height mm', '1a camada')
    """
    return " ".join(tokens(text))


@lru_cache(maxsize=20_000)
def tokens(text: str) -> tuple[str, ...]:
    """Return the words and numbers of a key in their order, folded.

    >>> tokens("nombreDeParois2"), tokens("BÖDEN"), tokens("l'extrusion")
    (('nombre', 'de', 'parois', '2'), ('boeden',), ('l', 'extrusion'))
    """
    parted = _camels(normalize("NFC", text).translate(_ORDINALS))
    return tuple(_bare(token.casefold().translate(_UMLAUTS)) for token in _TOKEN.findall(parted))


def _camels(text: str) -> str:
    """Put a blank before each capital that begins a word: "wallHTMax" has three words."""
    befores, afters = f" {text}", f"{text[1:]} "
    return "".join(
        f" {char}"
        if char.isupper() and (before.islower() or (before.isupper() and after.islower()))
        else char
        for before, char, after in zip(befores, text, afters, strict=False)
    )


def bared(word: str) -> str:
    """Return a word as somebody writes it who has no accents at all, umlauts neither.

    >>> bared("Höhe"), bared("Größe")
    ('hohe', 'grosse')
    """
    return fold(_bare(word.casefold()))


def _bare(text: str) -> str:
    return "".join(char for char in normalize("NFKD", text) if not combining(char))
