"""Nested data (JSON, YAML, TOML) as entries, with the line of each."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from planner.document import parse_json, parse_yaml, place_of
from planner.errors import input_error
from planner.settings.reader.model import Entry

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from planner.document import Document
    from planner.settings.reader.record import Record

DEPTH_MAX = 60
TOP = "list"
"""Stand-in key for a list that is the whole file."""


def json_entries(text: str, file: str, record: Record) -> Iterator[Entry]:
    """Yield the entries of JSON, whose top may be a list; raises InputError."""
    if text.lstrip("\ufeff \t\r\n").startswith("["):
        text = f'{{"{TOP}": {text}\n}}'  # on the same lines as before
    return _of_document(parse_json(text, file=file), record)


def yaml_entries(text: str, file: str, record: Record) -> Iterator[Entry]:
    """Yield the entries of YAML, whose top may be a list; raises InputError."""
    if re.match(r"(?:\s*(?:#[^\n]*)?\n)*- ", text):
        indented = "\n".join(f" {line}" for line in text.split("\n"))
        document = parse_yaml(f"{TOP}:\n{indented}", file=file)
        return _of_document(document, record, earlier=1)
    return _of_document(parse_yaml(text, file=file), record)


def toml_entries(text: str, file: str, record: Record) -> Iterator[Entry] | None:
    """Yield the entries of TOML, or return None where it is none."""
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        return None
    lines = _toml_lines(text)

    def line(keys: tuple[str | int, ...]) -> int:
        while keys and keys not in lines:
            keys = keys[:-1]
        return lines.get(keys, 1)

    return walk(data, line, file, record)


def walk(
    data: Mapping[str, Any],
    line: Callable[[tuple[str | int, ...]], int],
    file: str,
    record: Record,
) -> Iterator[Entry]:
    """Yield the entries of nested data in the order of the file, without recursion."""
    stack: list[tuple[tuple[str | int, ...], Any]] = [((), data)]
    while stack:
        keys, value = stack.pop()
        if len(keys) > DEPTH_MAX:
            raise input_error(
                file,
                found=f"nesting deeper than {DEPTH_MAX} levels",
                expected="a few levels",
                remedy="check that it is the right file",
            )
        if isinstance(value, dict):
            named = record.of_mapping(value)
            if named is not None:
                path = tuple(str(key) for key in keys if isinstance(key, str) and key != TOP)
                yield Entry(
                    path=path,
                    key=named.name,
                    values=_texts(named.value),
                    unit=named.unit,
                    line=line((*keys, named.value_key)),
                )
            else:
                stack.extend(((*keys, key), value[key]) for key in reversed(value))
        elif isinstance(value, list) and any(isinstance(item, dict | list) for item in value):
            stack.extend(((*keys, at), value[at]) for at in reversed(range(len(value))))
        elif keys:
            yield _entry(keys, value, line(keys))


def _of_document(document: Document, record: Record, *, earlier: int = 0) -> Iterator[Entry]:
    def line(keys: tuple[str | int, ...]) -> int:
        return max(1, (document.line(place_of(keys)) or 1) - earlier)

    return walk(document.data, line, document.file, record)


def _entry(keys: tuple[str | int, ...], value: Any, line: int) -> Entry:
    """Return the entry of a plain value or a list of such; list indices name no key."""
    names = [str(key) if isinstance(key, str) else f"#{key}" for key in keys if key != TOP]
    return Entry(path=tuple(names[:-1]), key=names[-1], values=_texts(value), line=line)


def _texts(value: Any) -> tuple[str, ...]:
    if isinstance(value, list):
        return tuple(_text(item) for item in value)
    return (_text(value),)


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return ""
    return format(value, "g") if isinstance(value, float) and value == int(value) else str(value)


_TABLE = re.compile(r"\s*(\[{1,2})\s*(.+?)\s*\]{1,2}\s*(?:#.*)?")
_KEY = re.compile(r"""\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=""")
_PIECE = re.compile(r"""[\w-]+|"[^"]*"|'[^']*'""")


def _toml_lines(text: str) -> dict[tuple[str | int, ...], int]:
    """Return key path -> line of the keys and tables of TOML that is known to be valid.

    Keys within inline tables and items of lists stand where the key that holds them does.
    """
    lines: dict[tuple[str | int, ...], int] = {}
    table: tuple[str | int, ...] = ()
    counts: dict[tuple[str | int, ...], int] = {}
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
