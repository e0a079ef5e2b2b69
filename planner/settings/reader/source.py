"""From a path to text of any of the usual encodings; noise and giants are refused."""

from __future__ import annotations

import re
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE, BOM_UTF32_BE, BOM_UTF32_LE
from dataclasses import dataclass
from stat import S_ISREG
from typing import TYPE_CHECKING

from planner.document.files import read_bytes
from planner.errors import input_error

if TYPE_CHECKING:
    from pathlib import Path

    from planner.errors import InputError

LIMIT_MB = 5.0
"""An export of settings has kilobytes; common practice, no source."""
SNIFFED = 1 << 18
LINE_MAX = 50_000
"""Longest line where lines count; JSON and XML may stand in one line."""

KIND = "settings"
_MARKS = (
    (BOM_UTF32_LE, "utf-32"),  # before UTF-16, whose mark is how this one begins
    (BOM_UTF32_BE, "utf-32"),
    (BOM_UTF8, "utf-8-sig"),
    (BOM_UTF16_LE, "utf-16"),
    (BOM_UTF16_BE, "utf-16"),
)
_NOISE = re.compile(r"[\x00-\x08\x0e-\x19\x1b-\x1f]")
_RARE = re.compile(r"[\x7f-\x9f]")
_MOTION = re.compile(
    rb"^[ \t]*(?:[Nn][ \t]*\d+[ \t]*)?[GgMm][ \t]*\d{1,3}(?:\.\d)?(?=[\sGgXxYyZzEeFfSs;(*])",
    re.MULTILINE,
)
_SAYING = re.compile(rb"^[ \t]*[^\s;#(]", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """The text of a file and the encoding that it was taken to have."""

    text: str
    encoding: str


def is_toolpath(path: Path) -> bool:
    """Tell from its first 256 KiB whether a file commands moves.

    False for what cannot be opened: its reader says why.
    """
    try:
        if not S_ISREG(path.stat().st_mode):
            return False  # opening a pipe would wait for its other end
        with path.open("rb") as stream:
            return looks_like_toolpath(stream.read(SNIFFED))
    except (OSError, ValueError):
        return False


def looks_like_toolpath(head: bytes) -> bool:
    """Tell whether half of the lines that are no remarks begin with a G or M word.

    Two at least; a settings file may hold a few such lines as the value of a key.
    """
    commands = len(_MOTION.findall(head, 0, SNIFFED))
    return commands >= 2 and 2 * commands >= len(_SAYING.findall(head, 0, SNIFFED))


def read_content(path: Path) -> bytes:
    """Return the bytes of a settings file; raises InputError for what is no such file."""
    try:
        return read_bytes(path, limit_mb=LIMIT_MB, kind=KIND)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise input_error(
            str(path).replace("\0", "\\0"),
            found=f"a file that cannot be opened ({reason})",
            expected="a readable settings file",
            remedy="check its name and who may read it",
        ) from error


def decoded(content: bytes, file: str) -> Source:
    """Return bytes as text: by their mark, else UTF-8, else Latin-1; raises InputError."""
    encoding = next((name for mark, name in _MARKS if content.startswith(mark)), "utf-8")
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        if encoding != "utf-8":
            raise _wrong(
                file, f"a file marked as {encoding} that is not", "save it again"
            ) from error
        encoding, text = "latin-1", content.decode("latin-1")
    _check(text, encoding, file)
    return Source(text=text.replace("\r\n", "\n").replace("\r", "\n"), encoding=encoding)


def _check(text: str, encoding: str, file: str) -> None:
    if not text.strip("\ufeff \t\r\n\f\v\x1a\x00"):
        raise _wrong(file, "an empty file", "name another file")
    noise = _NOISE.search(text)
    if noise is not None:
        half = encoding in ("utf-8", "latin-1") and text[:400].count("\0") > len(text[:400]) // 3
        remedy = "save it as UTF-8" if half else "check that it is the right file"
        found = f"bytes that are no text (U+{ord(noise[0]):04X})"
        line = text.count("\n", 0, noise.start()) + 1
        raise _wrong(file, found, remedy, line=None if half else line)
    if encoding == "latin-1" and len(_RARE.findall(text)) * 50 > len(text):
        raise _wrong(
            file, "bytes that are no text", "check that it is the right file, or save it as UTF-8"
        )


def lines_of(text: str, file: str) -> list[str]:
    """Return the lines of a text; raises InputError where one is endless."""
    lines = text.split("\n")
    for number, line in enumerate(lines, start=1):
        if len(line) > LINE_MAX:
            raise _wrong(
                file,
                f"a line of {len(line)} characters",
                "check that it is the right file",
                line=number,
            )
    return lines


def _wrong(file: str, found: str, remedy: str, *, line: int | None = None) -> InputError:
    return input_error(
        file,
        line=line,
        found=found,
        expected="a settings export as text (INI, key = value, JSON, YAML, TOML, XML or CSV)",
        remedy=remedy,
    )
