"""JSON (RFC 8259) read into plain data, with the line of a place found when it is needed."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Any, NoReturn

from planner.document.exact import UnusableError, decimal, not_finite, whole
from planner.document.files import read_text
from planner.document.model import Document, place_of
from planner.document.wording import clipped, shown
from planner.errors import InputError, input_error, printable

if TYPE_CHECKING:
    from pathlib import Path

LIMIT_MB = 50.0
DEPTH_MAX = 60
# Possessive (*+): a string is never looked at again, else each of its signs costs 150 bytes.
_TOKEN = re.compile(r'"(?:[^"\\]++|\\.)*+"|[\[\]{},:]|\n|[^\s\[\]{},:"]+')


def read_json(path: Path, *, limit_mb: float = LIMIT_MB) -> Document:
    """Read a JSON file whose top is an object; raises InputError for anything else.

    Refused besides bad syntax: NaN and Infinity, numbers beyond a double, a key given
    twice in one object, and nesting that the machine cannot follow.
    """
    return parse_json(read_text(path, limit_mb=limit_mb, kind="JSON"), file=printable(str(path)))


def parse_json(text: str, *, file: str) -> Document:
    """Read JSON text; `file` is how messages call it. Raises InputError."""
    try:
        data = json.loads(
            text,
            parse_constant=_refuse_constant,
            parse_float=decimal,
            parse_int=whole,
            object_pairs_hook=_unique,
        )
    except json.JSONDecodeError as error:
        raise _syntax_error(file, text, error) from error
    except UnusableError as bad:
        raise input_error(file, found=bad.found, expected=bad.expected, remedy=bad.remedy) from bad
    except RecursionError as error:
        raise _too_deep(file) from error
    if _deeper_than(DEPTH_MAX, data):
        raise _too_deep(file)
    if not isinstance(data, dict):
        raise input_error(
            file,
            line=1,
            found=shown(data),
            expected="a JSON object { … }",
            remedy="put everything inside one object",
        )
    return Document(file=file, data=data, lines=JsonLines(text))


class JsonLines(Mapping[str, int]):
    """Place -> line of a JSON text that is known to be valid; read when first asked."""

    def __init__(self, text: str) -> None:
        self._text = text

    def __getitem__(self, place: str) -> int:
        return self._lines[place]

    def __iter__(self) -> Iterator[str]:
        return iter(self._lines)

    def __len__(self) -> int:
        return len(self._lines)

    @cached_property
    def _lines(self) -> dict[str, int]:
        return dict(_places(self._text))


def _places(text: str) -> Iterator[tuple[str, int]]:
    """Yield every key and list item with its line.

    The top of `path` is the current key of an object, or the current index of a list.
    """
    line, path, before = 1, list[str | int](), ""
    for match in _TOKEN.finditer(text):
        mark = match[0]
        in_list = bool(path) and isinstance(path[-1], int)
        if mark == "\n":
            line += 1
            continue
        if mark in "]}":
            path.pop()
        elif mark == ",":
            path[-1] = path[-1] + 1 if isinstance(path[-1], int) else ""
        elif in_list:
            yield place_of(tuple(path)), line
        elif before in ("{", ","):
            path[-1] = json.loads(mark)
            yield place_of(tuple(path)), line
        if mark in "[{":
            path.append("" if mark == "{" else 0)
        before = mark


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = next(key for key, count in Counter(key for key, _ in pairs).items() if count > 1)
        raise UnusableError(
            found=f"the key {shown(twice)} twice in one object",
            expected="each key once",
            remedy="remove one of the two",
        )
    return found


def _refuse_constant(text: str) -> NoReturn:
    raise not_finite(text)


def _deeper_than(levels: int, data: Any) -> bool:
    """Tell whether collections nest deeper, one level at a time and without recursion."""
    level = [data] if isinstance(data, dict | list) else []
    for _ in range(levels):
        insides = (each.values() if isinstance(each, dict) else each for each in level)
        level = [each for inside in insides for each in inside if isinstance(each, dict | list)]
    return bool(level)


def _too_deep(file: str) -> InputError:
    return input_error(
        file,
        found=f"brackets nested deeper than {DEPTH_MAX} levels",
        expected="a few levels",
        remedy="check that it is the right file",
    )


def _syntax_error(file: str, text: str, error: json.JSONDecodeError) -> InputError:
    rest = text[error.pos : error.pos + 20].split("\n", maxsplit=1)[0]
    return input_error(
        file,
        line=error.lineno,
        found=f"{shown(rest) if rest else 'the end'} at column {error.colno}",
        expected=f"JSON ({clipped(error.msg)})",
        remedy="put the punctuation right there or just before",
    )
