"""Nested data (JSON, YAML, TOML) as entries, with the line of each."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner.document import parse_json, parse_yaml, place_of
from planner.errors import input_error
from planner.settings.reader.model import Entry

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from planner.document import Document
    from planner.errors import InputError
    from planner.settings.reader.record import Record

DEPTH_MAX = 60
TOP = "list"
"""Stand-in key for a list that is the whole file."""
WHOLE_MAX = 1e15
"""Up to here a double holds every whole number."""

DOTS_MAX = 200
"""More dots in a line: a key so deep that reading it takes memory by its square."""

Keys = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tree:
    """Nested data, how to find the line of a place in it, and how deep the file's top lies."""

    data: Mapping[str, Any]
    line: Callable[[Keys], int]
    file: str
    top: int = 0


def json_entries(text: str, file: str, record: Record) -> Iterator[Entry]:
    """Yield the entries of JSON, whose top may be a list; raises InputError."""
    if text.lstrip("\ufeff \t\r\n").startswith("["):
        listed = f'{{"{TOP}": {text}\n}}'  # on the same lines as before
        return _walk(_tree(parse_json(listed, file=file), top=1), record)
    return _walk(_tree(parse_json(text, file=file)), record)


def yaml_entries(text: str, file: str, record: Record) -> Iterator[Entry]:
    """Yield the entries of YAML, whose top may be a list; raises InputError."""
    if re.match(r"(?:[ \t]*(?:#[^\n]*)?\n)*- ", text):
        indented = "\n".join(f" {line}" for line in text.split("\n"))
        document = parse_yaml(f"{TOP}:\n{indented}", file=file)
        return _walk(_tree(document, top=1, earlier=1), record)
    return _walk(_tree(parse_yaml(text, file=file)), record)


def toml_entries(text: str, file: str, record: Record) -> Iterator[Entry] | None:
    """Yield the entries of TOML, or return None where it is none, or has endless keys."""
    if any(line.count(".") > DOTS_MAX for line in text.split("\n")):
        return None
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        return None
    lines = _toml_lines(text)

    def line(keys: Keys) -> int:
        while keys and keys not in lines:
            keys = keys[:-1]
        return lines.get(keys, 1)

    return _walk(_Tree(data=data, line=line, file=file), record)


def _tree(document: Document, *, top: int = 0, earlier: int = 0) -> _Tree:
    def line(keys: Keys) -> int:
        return max(1, (document.line(place_of(keys)) or 1) - earlier)

    return _Tree(data=document.data, line=line, file=document.file, top=top)


def _walk(tree: _Tree, record: Record) -> Iterator[Entry]:
    """Yield the entries of nested data in the order of the file, without recursion."""
    stack: list[tuple[Keys, Any]] = [((), tree.data)]
    while stack:
        keys, value = stack.pop()
        if len(keys) > DEPTH_MAX:
            raise _too_deep(tree.file)
        named = record.of_mapping(value) if isinstance(value, dict) else None
        if named is not None:
            line = tree.line((*keys, named.value_key))
            path = tuple(key for key in keys[tree.top :] if isinstance(key, str))
            values = _texts(named.value)
            yield Entry(path=path, key=named.name, values=values, unit=named.unit, line=line)
        elif isinstance(value, dict):
            stack.extend(((*keys, key), value[key]) for key in reversed(value))
        elif isinstance(value, list) and any(isinstance(item, dict | list) for item in value):
            stack.extend(((*keys, at), value[at]) for at in reversed(range(len(value))))
        elif len(keys) > tree.top:
            names = tuple(key if isinstance(key, str) else f"#{key}" for key in keys[tree.top :])
            yield Entry(path=names[:-1], key=names[-1], values=_texts(value), line=tree.line(keys))


def _too_deep(file: str) -> InputError:
    return input_error(
        file,
        found=f"nesting deeper than {DEPTH_MAX} levels",
        expected="a few levels",
        remedy="check that it is the right file",
    )


def _texts(value: Any) -> tuple[str, ...]:
    if isinstance(value, list):
        return tuple(_text(item) for item in value)
    return (_text(value),)


def _text(value: Any) -> str:
    """Return a plain value as text: whole numbers as such, nothing as ""."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return ""
    whole = isinstance(value, float) and value.is_integer() and abs(value) < WHOLE_MAX
    return str(int(value)) if whole else str(value)


_TABLE = re.compile(r"\s*(\[{1,2})\s*(.+?)\s*\]{1,2}\s*(?:#.*)?")
_KEY = re.compile(r"""\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=""")
_PIECE = re.compile(r"""[\w-]+|"[^"]*"|'[^']*'""")


def _toml_lines(text: str) -> dict[Keys, int]:
    """Return key path -> line of the keys and tables of TOML that is known to be valid.

    Keys within inline tables and items of lists stand where the key that holds them does.
    """
    lines: dict[Keys, int] = {}
    table: Keys = ()
    counts: dict[Keys, int] = {}
    for number, line in enumerate(text.split("\n"), start=1):
        if found := _TABLE.fullmatch(line):
            table = _pieces(found[2])
            if found[1] == "[[":
                counts[table] = counts.get(table, -1) + 1
                table = (*table, counts[table])
            lines.setdefault(table, number)
        elif found := _KEY.match(line):
            lines.setdefault((*table, *_pieces(found[1])), number)
    return lines


def _pieces(dotted: str) -> tuple[str, ...]:
    return tuple(piece.strip("\"'") for piece in _PIECE.findall(dotted))
