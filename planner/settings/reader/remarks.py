"""Settings written into the comment lines of a toolpath, which may be very long."""

from __future__ import annotations

import re
from collections import Counter, deque
from typing import TYPE_CHECKING

from planner.settings.reader.pairs import entry_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from typing import BinaryIO

    from planner.settings.reader.model import Entry

CHUNK = 1 << 20
ENDS = 4
"""So many chunks from the start and from the end are looked at: settings stand at an end."""
SAID_MAX = 2
"""A key said more often accompanies the moves (the layer, the feature) and sets nothing."""
LINE_MAX = 2_000
_COMMENT = re.compile(rb"(?:^|\n)[ \t]*(?:;+|#+|\()([^\n]*)")


def entries(stream: BinaryIO) -> list[Entry]:
    """Return the entries in the comment lines of a toolpath; memory is bounded."""
    comments = (each for first, block in _ends(stream) for each in _comments(first, block))
    return _settings(comments)


def entries_in(content: bytes) -> list[Entry]:
    """Return the entries in the comment lines of a toolpath at hand."""
    return _settings(_comments(1, content))


def _settings(comments: Iterable[tuple[int, str]]) -> list[Entry]:
    """Return what comments set: not what is said again and again beside the moves."""
    found = [entry for line, text in comments if (entry := entry_of(text, line)) is not None]
    said = Counter((entry.path, entry.key) for entry in found)
    return [entry for entry in found if said[entry.path, entry.key] <= SAID_MAX]


def _comments(first_line: int, block: bytes) -> Iterator[tuple[int, str]]:
    """Yield (line, text) of the comment lines of a block."""
    line, at = first_line, 0
    for match in _COMMENT.finditer(block):
        line += block.count(b"\n", at, match.start(1))
        at = match.start(1)
        text = _text(match[1])
        if text:
            yield line, text


def _text(comment: bytes) -> str:
    if len(comment) > LINE_MAX:
        return ""
    try:
        text = comment.decode("utf-8")
    except UnicodeDecodeError:
        text = comment.decode("latin-1")
    text = text.strip()
    if text.endswith(")") and "(" not in text:
        text = text[:-1].strip()
    return text if text.isprintable() else ""


def _ends(stream: BinaryIO) -> list[tuple[int, bytes]]:
    """Return (number of its first line, bytes) of the start and the end, cut at line ends."""
    head = stream.read(CHUNK * ENDS)
    line, cut_off = 1 + head.count(b"\n"), False
    kept: deque[bytes] = deque()
    while chunk := stream.read(CHUNK):
        kept.append(chunk)
        if len(kept) > ENDS:
            line, cut_off = line + kept.popleft().count(b"\n"), True
    tail = b"".join(kept)
    if not cut_off:
        return [(1, head + tail)]
    cut = tail.find(b"\n") + 1
    return [(1, head[: head.rfind(b"\n") + 1]), (line + tail.count(b"\n", 0, cut), tail[cut:])]
