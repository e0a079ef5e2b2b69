"""Lines of the form `key = value` or `key: value`, under `[section]` lines or none."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

from planner.settings.reader.model import Entry

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

KEY_MAX = 200
_SECTION = re.compile(r"\[+([^\[\]]{1,200})\]+\s*(?:[;#].*)?")
_REMARK = re.compile(r"[#;]|//")
_BRACKETED = re.compile(r"[\[(][^\[\]()]*[\])]")
_STEPS = re.compile(r"\s*(?:::|[:>|→\\]|(?<=[^\W\d_])\.(?=[^\W\d_]))\s*")
_SLASHES = re.compile(r"\s*/\s*")
_QUOTES = "\"'"


def entries(lines: Iterable[tuple[int, str]]) -> Iterator[Entry]:
    """Yield an entry per line that has a key; sections become the first step of the path."""
    section: tuple[str, ...] = ()
    for number, line in lines:
        text = line.strip("\ufeff \t\r\f\v")
        if not text or _REMARK.match(text):
            continue
        if heading := _SECTION.fullmatch(text):
            section = _path_of(heading[1])
        elif entry := entry_of(text, number, section):
            yield entry


def entry_of(text: str, line: int, section: tuple[str, ...] = ()) -> Entry | None:
    """Return the entry of one line, or None where it has no key.

    >>> entry = entry_of("nozzle: bore [mm] = 0.4", 7)
    >>> entry.path, entry.key, entry.values
    (('nozzle',), 'bore [mm]', ('0.4',))
    """
    cut = text.find("=")
    if cut < 0:
        cut = text.find(":")
    key = text[:cut].rstrip("+:? \t") if cut > 0 else ""
    if not key or len(key) > KEY_MAX:
        return None
    *path, name = _path_of(key)
    value = unquoted(text[cut + 1 :].strip())
    return Entry(path=(*section, *path), key=name, values=(value,), line=line)


def has_pair(text: str) -> bool:
    """Tell whether a line has a key and a value."""
    return entry_of(text.strip(), 1) is not None


def unquoted(text: str) -> str:
    """Return a text without the quotes around it.

    >>> unquoted('"0.4"'), unquoted('"PLA" ; "PLA"')
    ('0.4', '"PLA" ; "PLA"')
    """
    if len(text) > 1 and text[0] == text[-1] and text[0] in _QUOTES and text[0] not in text[1:-1]:
        return text[1:-1].strip()
    return text


def _path_of(key: str) -> tuple[str, ...]:
    """Split a key at the signs by which people write paths, outside of brackets.

    A slash parts only what is written without blanks: "top / bottom" is no path.
    """
    bare = _BRACKETED.sub(lambda found: "_" * len(found[0]), key)
    steps = _STEPS
    if not re.search(r"\s", bare) and bare.count("/") > 1:
        steps = _SLASHES
    ends = [(0, 0), *(match.span() for match in steps.finditer(bare)), (len(key), len(key))]
    pieces = [unquoted(key[before[1] : after[0]].strip()) for before, after in pairwise(ends)]
    return tuple(piece for piece in pieces if piece) or (key.strip(),)
