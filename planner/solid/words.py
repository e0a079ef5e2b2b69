"""Words of a text file as numbers, and as something that can be shown in a message."""

from __future__ import annotations

MOST_LETTERS = 40
"""Letters of a number: the shortest exact form of a double needs 24 with sign and exponent,
the rest is for padding (invented). Longer ones are an attack on memory. Underscores and
digits of other scripts are numbers to the language, not to any format of meshes."""


def number(word: str) -> float:
    """Return a decimal number; ValueError for what is none, and for endless ones.

    >>> number("-1.5e3"), number(" 7 ")
    (-1500.0, 7.0)
    """
    if len(word) > MOST_LETTERS or "_" in word or not word.isascii():
        raise ValueError(word[:MOST_LETTERS])
    return float(word)


def whole(word: str) -> int:
    """Return a whole number; ValueError for what is none, and for endless ones.

    >>> whole("-12")
    -12
    """
    if len(word) > MOST_LETTERS or "_" in word or not word.isascii():
        raise ValueError(word[:MOST_LETTERS])
    return int(word)


def clipped(text: str, most: int = 60) -> str:
    r"""Return the start of a text that a file holds, in one line, control characters escaped.

    >>> clipped("a\nb"), clipped("x" * 1000, 5)
    ('a\\nb', 'xxxx…')
    """
    short = text if len(text) <= most else f"{text[: most - 1]}…"
    return repr(short)[1:-1]
