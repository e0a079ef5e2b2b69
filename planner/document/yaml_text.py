"""YAML read into plain data; the only module that knows its syntax.

Plain scalars follow the core schema of YAML 1.2.2, chapter 10.3.2: `on`, `no`, `18:00` and
dates are text. Keys are always text, as written. The file is read event by event with a
stack of our own: neither deep nesting nor aliases that multiply can exhaust the machine.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from io import StringIO
from itertools import islice
from typing import TYPE_CHECKING, Any

import yaml

from planner.document.exact import UnusableError, decimal, not_finite, whole
from planner.document.files import read_text
from planner.document.model import Document, place_of
from planner.document.wording import clipped, shown
from planner.errors import InputError, input_error, printable

if TYPE_CHECKING:
    from pathlib import Path

LIMIT_MB = 5.0
NODES_MAX = 200_000
DEPTH_MAX = 60

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_TAG = "tag:yaml.org,2002:"
_SCALAR_TAGS = {_TAG + name: name for name in ("null", "bool", "int", "float", "str")}
_COLLECTION_TAGS = {_TAG + "map": dict, _TAG + "seq": list}

_NULL = re.compile(r"null|Null|NULL|~|")
_TRUE = re.compile(r"true|True|TRUE")
_FALSE = re.compile(r"false|False|FALSE")
_INT = re.compile(r"[-+]?[0-9]+")
_OCTAL = re.compile(r"0o([0-7]+)")
_HEX = re.compile(r"0x([0-9a-fA-F]+)")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_ENDLESS = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")


def read_yaml(path: Path) -> Document:
    """Read a YAML file whose top is a mapping; raises InputError for anything else."""
    return parse_yaml(read_text(path, limit_mb=LIMIT_MB, kind="YAML"), file=printable(str(path)))


def parse_yaml(text: str, *, file: str) -> Document:
    """Read YAML text; `file` is how messages call it. Raises InputError."""
    builder = _Builder(file=file)
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            builder.take(event)
    except yaml.MarkedYAMLError as error:
        raise _syntax_error(file, text, error) from error
    except yaml.reader.ReaderError as error:
        raise _control_character(file, text, error) from error
    return builder.document()


def plain_value(text: str) -> str | int | float | bool | None:
    """Return the value of an unquoted scalar in the core schema.

    >>> [plain_value(text) for text in ("on", "18:00", "1e3", ".5", "0x10", "~", "true")]
    ['on', '18:00', 1000.0, 0.5, 16, None, True]
    """
    if _NULL.fullmatch(text):
        return None
    if _TRUE.fullmatch(text) or _FALSE.fullmatch(text):
        return _TRUE.fullmatch(text) is not None
    if _INT.fullmatch(text):
        return whole(text)
    for pattern, base in ((_OCTAL, 8), (_HEX, 16)):
        if match := pattern.fullmatch(text):
            return whole(match[1], base)
    if _FLOAT.fullmatch(text):
        return decimal(text)
    if _ENDLESS.fullmatch(text):
        raise not_finite(text)
    return text


@dataclass(slots=True)
class _Open:
    """A collection that has begun and not ended, and its place in the file."""

    value: dict[str, Any] | list[Any]
    place: tuple[str | int, ...]
    anchor: str | None
    line: int
    key: str | None = None
    nodes: int = 1
    height: int = 1


@dataclass(frozen=True, slots=True)
class _Anchored:
    """A finished node that an alias may repeat, with its size."""

    value: Any
    nodes: int
    height: int


@dataclass(slots=True)
class _Builder:
    """Takes the events of one file and builds its data; raises InputError."""

    file: str
    stack: list[_Open] = field(default_factory=list)
    lines: dict[str, int] = field(default_factory=dict)
    anchors: dict[str, _Anchored | None] = field(default_factory=dict)
    documents: int = 0
    total: int = 0
    top: Any = None

    def document(self) -> Document:
        if not isinstance(self.top, dict):
            raise input_error(
                self.file,
                line=1,
                found="nothing but remarks" if self.top is None else shown(self.top),
                expected="a mapping (key: value lines)",
                remedy="begin the file with a key such as schema:",
            )
        return Document(file=self.file, data=self.top, lines=self.lines)

    def take(self, event: Any) -> None:
        line = event.start_mark.line + 1
        match event:
            case yaml.DocumentStartEvent():
                self._begin_document(line)
            case yaml.ScalarEvent():
                self._scalar(event, line)
            case yaml.AliasEvent():
                self._alias(event.anchor, line)
            case yaml.MappingStartEvent():
                self._open({}, event, line)
            case yaml.SequenceStartEvent():
                self._open([], event, line)
            case yaml.MappingEndEvent() | yaml.SequenceEndEvent():
                self._close()

    def _begin_document(self, line: int) -> None:
        self.documents += 1
        if self.documents > 1:
            raise self._refusal(
                line,
                found="a second document (---)",
                expected="one document in the file",
                remedy="keep one of them, or make two files",
            )

    def _scalar(self, event: Any, line: int) -> None:
        if self._wants_key():
            if event.anchor is not None:
                self.anchors[event.anchor] = _Anchored(event.value, 1, 0)
            self._key(event.value, line)
            return
        try:
            value = self._scalar_value(event, line)
        except UnusableError as bad:
            raise self._refusal(
                line, found=bad.found, expected=bad.expected, remedy=bad.remedy
            ) from bad
        if event.anchor is not None:
            self.anchors[event.anchor] = _Anchored(value, 1, 0)
        self._put(value, line, nodes=1, height=0)

    def _scalar_value(self, event: Any, line: int) -> str | int | float | bool | None:
        plain, quoted = event.implicit
        text: str = event.value
        if event.tag is None or event.tag == "!":
            return plain_value(text) if plain and not quoted and event.tag is None else text
        wanted = _SCALAR_TAGS.get(event.tag)
        if wanted == "str":
            return text
        value = plain_value(text)
        if wanted == "float" and isinstance(value, int) and not isinstance(value, bool):
            return float(value)
        kind = "null" if value is None else type(value).__name__
        if wanted is None or wanted != kind:
            raise self._unusable_tag(event.tag, line)
        return value

    def _alias(self, anchor: str | None, line: int) -> None:
        if self._wants_key():
            raise self._bad_key(f"the alias *{anchor}", line)
        known = self.anchors.get(anchor or "")
        if known is None:
            inside = anchor in self.anchors
            raise self._refusal(
                line,
                found=f"*{anchor}, " + ("which holds itself" if inside else "which is not defined"),
                expected=f"an alias of something that was written before as &{anchor}",
                remedy="write the value out",
            )
        self._put(known.value, line, nodes=known.nodes, height=known.height)

    def _open(self, value: dict[str, Any] | list[Any], event: Any, line: int) -> None:
        if self._wants_key():
            raise self._bad_key("a list or a mapping", line)
        if event.tag not in (None, "!") and _COLLECTION_TAGS.get(event.tag) is not type(value):
            raise self._unusable_tag(event.tag, line)
        place = self._next_place()
        self._note_line(place, line)
        if event.anchor is not None:
            self.anchors[event.anchor] = None
        self.stack.append(_Open(value=value, place=place, anchor=event.anchor, line=line))
        self._check_size(line, nodes=1, height=0)

    def _close(self) -> None:
        done = self.stack.pop()
        if done.anchor is not None:
            self.anchors[done.anchor] = _Anchored(done.value, done.nodes, done.height)
        self.total -= done.nodes  # its nodes were counted one by one; _put counts them again
        self._put(done.value, done.line, nodes=done.nodes, height=done.height)

    def _key(self, key: str, line: int) -> None:
        top = self.stack[-1]
        place = place_of((*top.place, key))
        if key in top.value:
            raise self._refusal(
                line,
                place=place,
                found=f"the key {clipped(key)} a second time (first in line {self.lines[place]})",
                expected="each key once",
                remedy="remove one of the two",
            )
        if not key.strip():
            raise self._bad_key("an empty key", line)
        top.key = key
        self.lines[place] = line

    def _put(self, value: Any, line: int, *, nodes: int, height: int) -> None:
        place = self._next_place()
        self._note_line(place, line)
        self.total += nodes
        self._check_size(line, nodes=0, height=height)
        if not self.stack:
            self.top = value
            return
        top = self.stack[-1]
        top.nodes += nodes
        top.height = max(top.height, height + 1)
        if isinstance(top.value, list):
            top.value.append(value)
        elif top.key is not None:
            top.value[top.key] = value
            top.key = None

    def _check_size(self, line: int, *, nodes: int, height: int) -> None:
        self.total += nodes
        if self.total > NODES_MAX:
            raise self._refusal(
                line,
                found=f"more than {NODES_MAX} values (aliases written out)",
                expected="a file that a person would write",
                remedy="check the aliases (*name), or that it is the right file",
            )
        if len(self.stack) + height > DEPTH_MAX:
            raise self._refusal(
                line,
                found=f"nesting deeper than {DEPTH_MAX} levels",
                expected="a few levels",
                remedy="check brackets and indentation here",
            )

    def _wants_key(self) -> bool:
        top = self.stack[-1] if self.stack else None
        return top is not None and isinstance(top.value, dict) and top.key is None

    def _next_place(self) -> tuple[str | int, ...]:
        if not self.stack:
            return ()
        top = self.stack[-1]
        return (*top.place, len(top.value) if isinstance(top.value, list) else top.key or "")

    def _note_line(self, place: tuple[str | int, ...], line: int) -> None:
        self.lines.setdefault(place_of(place), line)

    def _bad_key(self, found: str, line: int) -> InputError:
        return self._refusal(
            line, found=f"{found} as a key", expected="a word as a key", remedy="name the key"
        )

    def _unusable_tag(self, tag: str, line: int) -> InputError:
        return self._refusal(
            line,
            found=f"the tag {clipped(tag.replace(_TAG, '!!'))}",
            expected="plain values: text, numbers, true, false, lists and mappings",
            remedy="remove the tag",
        )

    def _refusal(
        self, line: int, *, found: str, expected: str, remedy: str, place: str = ""
    ) -> InputError:
        return input_error(
            self.file, line=line, place=place, found=found, expected=expected, remedy=remedy
        )


def _syntax_error(file: str, text: str, error: yaml.MarkedYAMLError) -> InputError:
    mark = error.problem_mark or error.context_mark
    if mark and "\t" in _indentation(text, mark.line):
        return input_error(
            file,
            line=mark.line + 1,
            found="a tab at the start of the line",
            expected="indentation with spaces, as YAML wants it",
            remedy="put spaces in place of the tab",
        )
    saying = " ".join(part for part in (error.context, error.problem) if part)
    last = text.rstrip("\n").count("\n") + 1  # the parser may count one more at the end
    column = f" at column {mark.column + 1}" if mark else ""
    return input_error(
        file,
        line=min(mark.line + 1, last) if mark else None,
        found=f"what YAML cannot read{column} ({saying})",
        expected="key: value lines, indented with spaces",
        remedy="check the indentation, colons, quotes and brackets there and just above",
    )


def _indentation(text: str, index: int) -> str:
    line = next(islice(StringIO(text), index, None), "")
    return line[: len(line) - len(line.lstrip())]


def _control_character(file: str, text: str, error: yaml.reader.ReaderError) -> InputError:
    bad = error.character if isinstance(error.character, int) else ord(error.character[:1] or "\0")
    at = text.find(chr(bad))
    return input_error(
        file,
        line=text.count("\n", 0, max(at, 0)) + 1,
        found=f"the control character U+{bad:04X}",
        expected="text",
        remedy="delete it, or check that it is the right file",
    )
