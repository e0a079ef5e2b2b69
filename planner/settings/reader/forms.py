"""Which form a text has, decided by what stands in it, never by the file's name."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from planner.errors import input_error
from planner.settings.reader import markup, pairs, table, tree
from planner.settings.reader.source import lines_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.settings.reader.model import Entry
    from planner.settings.reader.record import Record

ENTRIES_MAX = 20_000
_SECTION = re.compile(r"\[+\s*[^\[\]{}\"',:]+\s*\]+\s*(?:[;#].*)?")
_NESTED = re.compile(r"(?:[ \t]+|- )\S|[^:#]+:\s*(?:[&*|>\[{].*)?")
PAIRS_SHARE = 0.6
"""So many of the lines must be pairs for a text to be read as such."""


def entries_of(text: str, file: str, record: Record) -> tuple[str, list[Entry]]:
    """Return the form of a text and its entries; raises InputError where it has none."""
    begin = text.lstrip("\ufeff \t\n")
    first = begin.split("\n", maxsplit=1)[0].strip()
    if begin.startswith("<"):
        return _checked("XML", markup.entries(text.lstrip("\ufeff"), file, record), file)
    if begin[:1] in "{[" and not _SECTION.fullmatch(first):
        return _checked("JSON", list(tree.json_entries(text, file, record)), file)
    return _checked(*_lines(text.lstrip("\ufeff"), file, record), file)


def _lines(text: str, file: str, record: Record) -> tuple[str, list[Entry]]:
    """Return form and entries of a text in which lines count."""
    lines = lines_of(text, file)
    numbered = list(enumerate(lines, start=1))
    said = [
        line for line in lines if line.strip() and not line.lstrip().startswith(("#", ";", "//"))
    ]
    if not said:
        bare = [(number, line.strip().lstrip("#;/ \t")) for number, line in numbered]
        return "comment lines", list(pairs.entries(bare))
    equals = sum("=" in line for line in said)
    sections = sum(_SECTION.fullmatch(line.strip()) is not None for line in said)
    if equals and equals + sections >= PAIRS_SHARE * len(said):
        toml = tree.toml_entries(text, file, record)
        if toml is not None:
            return "TOML", list(toml)
        return ("INI" if sections else "key = value"), list(pairs.entries(numbered))
    return _without_equals(text, numbered, said, file, record)


def _without_equals(
    text: str,
    numbered: Sequence[tuple[int, str]],
    said: Sequence[str],
    file: str,
    record: Record,
) -> tuple[str, list[Entry]]:
    colons = sum(re.search(r":(?:\s|$)|^\s*- ", line) is not None for line in said)
    if colons >= PAIRS_SHARE * len(said):
        if _is_nested(said):
            return "YAML", list(tree.yaml_entries(text, file, record))
        return "key: value", list(pairs.entries(numbered))
    rows = table.rows_of([line for _, line in numbered], file)
    if rows is not None:
        return "CSV", list(table.entries(rows, record))
    if sum(pairs.has_pair(line) for line in said) >= PAIRS_SHARE * len(said):
        return "key: value", list(pairs.entries(numbered))
    raise _formless(file)


def _is_nested(said: Sequence[str]) -> bool:
    """Tell YAML from a plain list of pairs: lines that are indented, or keys that hold others."""
    return any(
        _NESTED.fullmatch(line) or line[:1] in " \t" or line.startswith("- ") for line in said
    )


def _checked(form: str, entries: list[Entry], file: str) -> tuple[str, list[Entry]]:
    if not entries:
        raise _formless(file)
    if len(entries) > ENTRIES_MAX:
        raise input_error(
            file,
            found=f"{len(entries)} keys",
            expected=f"a settings export of at most {ENTRIES_MAX}",
            remedy="check that it is the right file",
        )
    return form, entries


def _formless(file: str) -> Exception:
    return input_error(
        file,
        found="text without keys and values",
        expected="a settings export (INI, key = value, JSON, YAML, TOML, XML or CSV)",
        remedy="check that it is the right file",
    )
