"""Triangles of an STL file, binary or text; the content decides which, not the first word.

The binary record is numpy-stl's. What surrounds it is read here, so that texts with several
solids are read whole and files that were cut off are refused with the reason.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
from stl.mesh import Mesh

from planner.errors import InputError, input_error
from planner.solid.words import MOST_LETTERS, clipped, number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.solid.model import Floats

HEAD, FACET = 84, 50
"""Bytes before the facets (80 of header, 4 of count) and per facet (12 single-precision
numbers, 2 bytes): the binary layout of every description of the format."""

CHUNK = 1 << 24
"""Bytes of text split into words at a time, so that memory stays bounded."""

NAME_LINE = re.compile(rb"^[ \t]*(?:end[ \t]*)?solid\b[^\r\n]*", re.IGNORECASE | re.MULTILINE)
END = re.compile(rb"^[ \t]*end[ \t]*solid\b[^\r\n]*\s*\Z", re.IGNORECASE | re.MULTILINE)

LAST_BYTES = 10_000
"""Where the end of a text is looked for; no sane name of a solid is longer."""

AGAIN = "the file is damaged or cut off: export or copy it again"


def read_stl(data: bytes, *, file: object) -> Floats:
    """Return (t, 3, 3) corners in the file's own unit; InputError for what is no whole STL."""
    data = data.removeprefix(b"\xef\xbb\xbf")  # a byte-order mark before text
    if _is_text(data):
        return _read_text(data, file=file)
    if len(data) < HEAD or (not _fits(data) and _is_foreign(data)):
        raise not_stl(data, file=file)
    if not _fits(data):
        count = _count(data)
        raise input_error(
            file,
            found=f"{len(data)} bytes",
            expected=f"84 + 50 x {count} = {HEAD + FACET * count} for the {count} triangles "
            "it announces",
            remedy=AGAIN,
        )
    return np.frombuffer(data, dtype=Mesh.dtype, offset=HEAD)["vectors"].astype(np.float64)


def not_stl(data: bytes, *, file: object) -> InputError:
    """Return the refusal of something that is no STL at all, showing how it begins."""
    start = data.lstrip()[:24].decode("ascii", "replace")
    shown = "".join(letter if letter.isprintable() else "?" for letter in start)
    return input_error(
        file,
        found=f"{len(data)} bytes that begin with {shown!r}",
        expected="a binary or text STL",
        remedy="save the mesh again, or correct the file's extension",
    )


def _count(data: bytes) -> int:
    return int.from_bytes(data[80:HEAD], "little")


def _fits(data: bytes) -> bool:
    return len(data) >= HEAD and len(data) == HEAD + FACET * _count(data)


def _is_text(data: bytes) -> bool:
    """Tell text from binary by the content.

    A binary header may begin with 'solid' too, but then NUL bytes follow: the count alone
    has one, up to 16 million triangles.
    """
    begins = data[:256].lstrip().lower().startswith(b"solid")
    return begins and b"\0" not in data[:1024]


def _is_foreign(data: bytes) -> bool:
    """Recognise text of some other kind, or the archive that a 3MF is."""
    return data.startswith(b"PK\3\4") or b"\0" not in data[:1024]


def _read_text(data: bytes, *, file: object) -> Floats:
    """Read the vertices of a text STL, of all the solids in it.

    Lines that begin or end a solid go first: a name may hold any words.
    """
    data = data.replace(b"\r", b"\n")
    if not END.search(data[-LAST_BYTES:]):
        raise input_error(
            file, found="a text STL without an end", expected="a last line 'endsolid'", remedy=AGAIN
        )
    facets_only = NAME_LINE.sub(b"", data).lower()
    corners = np.concatenate([_vertices(words, file=file) for words in _words(facets_only)])
    facets = len(re.findall(rb"\bendfacet\b", facets_only))
    if facets == 0 or len(corners) != 3 * facets:
        raise input_error(
            file,
            found=f"{len(corners)} vertices in {facets} complete facets",
            expected="three vertices in each facet",
            remedy=AGAIN,
        )
    return corners.reshape(-1, 3, 3)


def _words(data: bytes) -> Iterator[list[bytes]]:
    """Split text into words, some megabytes of whole lines at a time."""
    start = 0
    while start < len(data):
        end = data.find(b"\n", start + CHUNK)
        end = len(data) if end < 0 else end
        yield data[start:end].split()
        start = end


def _vertices(words: list[bytes], *, file: object) -> Floats:
    """Return (n, 3): the three numbers after each word `vertex`."""
    at = [place for place, word in enumerate(words) if word == b"vertex"]
    numbers = [word for place in at for word in words[place + 1 : place + 4]]
    try:
        return _numbers(numbers).reshape(len(at), 3)
    except ValueError:
        bad = next((word for word in numbers if not _is_number(word)), None)
        shown = "the end of the file" if bad is None else f"'{clipped(bad.decode('latin-1'))}'"
        raise input_error(
            file,
            found=f"{shown} where a coordinate should be",
            expected="three numbers after each 'vertex'",
            remedy=AGAIN,
        ) from None


def _numbers(words: list[bytes]) -> Floats:
    """Turn words into numbers; ValueError for what is none, before a long one widens them all."""
    if max(map(len, words), default=0) > MOST_LETTERS or b"_" in b"".join(words):
        raise ValueError
    return np.array(words, dtype=np.bytes_).astype(np.float64)


def _is_number(word: bytes) -> bool:
    try:
        number(word.decode("latin-1"))
    except ValueError:
        return False
    return True
