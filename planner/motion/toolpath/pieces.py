"""A file in pieces of whole lines, and each piece stripped of what means nothing to a machine.

After ISO 6983 and NISTIR 6556 (T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC
Interpreter - Version 3", 2000): spaces and tabs mean nothing, letters have no case, comments
stand in parentheses; the trade adds comments from a semicolon to the end of the line.
"""

from __future__ import annotations

import re
import string
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.errors import input_error

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

LONGEST_LINE = 1 << 16
"""Bytes in a line beyond which a file is no toolpath (lines of the trade are under 100)."""

_UPPER = bytes.maketrans(string.ascii_lowercase.encode(), string.ascii_uppercase.encode())
_COMMENT = re.compile(rb";[^\n]*")
_COMMENT_OR_TEXT = re.compile(rb'\([^)\n]*\)?|;[^\n]*|"[^"\n]*"?')
_TEXT = re.compile(rb"(M(?:117|118|23|28|30|32|36|486)(?![\d.]))[^\n*]*")
"""Words whose rest of the line is free text (messages, file names) in the trade's command lists."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Whole lines of a file; every line ends in a line feed, but perhaps the file's last one."""

    raw: bytes
    first_line: int
    last: bool

    @property
    def lines(self) -> int:
        """Number of lines, an unfinished one included."""
        return self.raw.count(b"\n") + self.unfinished

    @property
    def unfinished(self) -> bool:
        """Whether the file ends without a line end."""
        return bool(self.raw) and not self.raw.endswith(b"\n")


def pieces(path: Path, piece_bytes: int) -> Iterator[Piece]:
    """Cut a file into pieces of about `piece_bytes`; CR, LF and CR LF all end a line.

    Raises InputError if the file cannot be read, or has a line of over `LONGEST_LINE` bytes.
    """
    line, rest = 1, b""
    for block in _blocks(path, piece_bytes):
        whole, rest = _cut(rest + block)
        _refuse_long(path, line + whole.count(b"\n"), rest)
        if whole:
            piece = Piece(raw=whole, first_line=line, last=False)
            line += piece.lines
            yield piece
    yield Piece(raw=rest, first_line=line, last=True)


def clean(raw: bytes) -> bytes:
    r"""Return the lines in capitals without blanks, comments, quoted text and messages.

    >>> clean(b"g1 x10 ; to the right\nM117 Nearly there\n")
    b'G1X10\nM117\n'
    """
    text = raw.translate(_UPPER, b" \t")
    if b"(" in text or b'"' in text:
        text = _COMMENT_OR_TEXT.sub(b"", text)
    elif b";" in text:
        text = _COMMENT.sub(b"", text)
    return _TEXT.sub(rb"\1", text) if b"M" in text else text


def _blocks(path: Path, size: int) -> Iterator[bytes]:
    """Yield the file block by block, each line end a line feed, without a byte order mark."""
    held = b""
    first = True
    try:
        with path.open("rb") as file:
            while block := file.read(max(size, 4)):
                block, first = block.removeprefix(b"\xef\xbb\xbf") if first else block, False
                block = held + block
                held = b"\r" if block.endswith(b"\r") else b""  # its line feed may follow
                yield _line_feeds(block.removesuffix(b"\r"))
    except OSError as error:
        raise input_error(
            path,
            found=f"a file that cannot be read ({error.strerror})",
            expected="a toolpath file",
            remedy="check the path and the permissions",
        ) from error
    yield _line_feeds(held)


def _line_feeds(block: bytes) -> bytes:
    return block.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r" in block else block


def _cut(block: bytes) -> tuple[bytes, bytes]:
    end = block.rfind(b"\n") + 1
    return block[:end], block[end:]


def _refuse_long(path: Path, line: int, rest: bytes) -> None:
    if len(rest) > LONGEST_LINE:
        raise input_error(
            path,
            line=line,
            found=f"a line of over {LONGEST_LINE} bytes",
            expected="lines of G-code, such as G1 X10 Y10 E0.5",
            remedy="check that this is a toolpath file",
        )
