"""Words out of bytes with numpy: no Python per line, word or digit.

Every byte that is not a digit is a mark; between two marks lies a run of digits, decoded eight
at a time inside one 64-bit integer (multiply and shift, as in any fast decimal reader). A word
is a letter, perhaps a sign, a run, perhaps a point and a second run.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bytes = NDArray[np.uint8]

_PAD = 16
"""Line feeds put in front, so that sixteen digits can be fetched backward from anywhere."""
_LETTER, _LINE_FEED, _POINT, _SIGN, _STAR, _OTHER, _FOREIGN = range(1, 8)
"""Kinds of marks; digits are 0."""


def _kinds() -> bytes:
    table = bytearray([_FOREIGN] * 256)
    table[32:127] = bytes([_OTHER] * 95)
    table[ord("0") : ord("9") + 1] = bytes(10)
    table[ord("A") : ord("Z") + 1] = bytes([_LETTER] * 26)
    for char, kind in {"\n": _LINE_FEED, ".": _POINT, "+": _SIGN, "-": _SIGN, "*": _STAR}.items():
        table[ord(char)] = kind
    return bytes(table)


_KIND = _kinds()
_KEEP = np.array(
    [0] + [(0x0F0F0F0F0F0F0F0F << 8 * (8 - n)) & (1 << 64) - 1 for n in range(1, 9)], "u8"
)
"""For a run of n digits: the low halves of the last n of eight bytes."""
_STEPS = (
    (2561, 8, 0x00FF00FF00FF00FF),  # 10 x 256 + 1: pairs of digits
    (6553601, 16, 0x0000FFFF0000FFFF),  # 100 x 65536 + 1: fours
    (42949672960001, 32, 0x00000000FFFFFFFF),  # 10000 x 2^32 + 1: all eight
)
_PLACES = 16
"""Digits after a point that count: a double holds no more."""
_TENS = 10.0 ** np.arange(_PLACES + 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Words:
    """The words of some lines, in order: arrays (n,), lines counted from 0.

    `value` is NaN where a letter has no number. `named` are lines that begin with a name (or a
    percent sign) in place of a letter and a number; `odd` are lines with characters out of
    place, and `odd_byte` those characters; `star_line` and `star_value` are checksums.
    """

    lines: int
    line: Ints
    letter: Bytes
    value: Floats
    named: Ints
    odd: Ints
    odd_byte: Bytes
    star_line: Ints
    star_value: Floats
    foreign: tuple[int, int] | None
    """Line and byte of the first character that no text file has, or None."""


def scan(text: bytes) -> Words:
    """Find the words of cleaned lines (capitals, no blanks, line feeds)."""
    buffer = b"\n" * _PAD + text + (b"" if text.endswith(b"\n") or not text else b"\n")
    chars = np.frombuffer(buffer, np.uint8)
    marks = np.flatnonzero(np.frombuffer(buffer.translate(_KIND), np.uint8)[_PAD - 1 :])
    marks += _PAD - 1
    char = chars[marks]
    kind = np.frombuffer(char.tobytes().translate(_KIND), np.uint8)
    run = np.diff(marks, append=len(buffer))
    run -= 1
    digits = _decode(buffer, marks, run)
    feeds = np.flatnonzero(kind == _LINE_FEED)
    line = np.repeat(np.arange(len(feeds)), np.diff(feeds, append=len(kind)))
    letters = np.flatnonzero(kind == _LETTER)
    stars = np.flatnonzero(kind == _STAR)
    odd = _odd(char, kind, run)
    foreign = np.flatnonzero(kind == _FOREIGN)
    return Words(
        lines=len(feeds) - 1,
        line=line[letters],
        letter=char[letters],
        value=_values(letters, char, kind, run, digits),
        named=line[_named(char, kind, run, feeds)],
        odd=line[odd],
        odd_byte=char[odd],
        star_line=line[stars],
        star_value=digits[stars].astype(np.float64),
        foreign=(int(line[foreign[0]]), int(char[foreign[0]])) if len(foreign) else None,
    )


def _decode(buffer: bytes, marks: Ints, run: Ints) -> Floats:
    """Value of the run of digits after each mark, shape (n,)."""
    eights = np.ndarray((len(buffer) - 7,), "<u8", buffer=buffer, strides=(1,))
    last = marks + run
    last -= 7
    value = _eight(eights[last], np.minimum(run, 8)).astype(np.float64)
    for k in np.flatnonzero(run > 8) if run.max(initial=0) > 8 else ():
        start = int(marks[k]) + 1
        after_point = buffer[start - 1 : start] == b"."
        value[k] = float(buffer[start : start + min(run[k], _PLACES if after_point else 400)])
    return value


def _eight(bits: NDArray[np.uint64], count: Ints) -> NDArray[np.uint64]:
    """Decimal value of the last `count` of eight digits, first digit in the lowest byte."""
    bits &= _KEEP[count]
    for factor, shift, keep in _STEPS:
        bits *= np.uint64(factor)
        bits >>= np.uint64(shift)
        bits &= np.uint64(keep)
    return bits


def _values(letters: Ints, char: Bytes, kind: Bytes, run: Ints, digits: Floats) -> Floats:
    """Value of each word: (whole x 10^n + part) / 10^n, rounded once, so right to the last bit."""
    signed = (kind[letters + 1] == _SIGN) & (run[letters] == 0)
    whole = letters + signed
    pointed = kind[whole + 1] == _POINT
    value = digits[whole]
    count = run[whole]
    if pointed.any():
        point = whole[pointed] + 1
        places = np.minimum(run[point], _PLACES)
        tens = _TENS[places]
        value[pointed] = (value[pointed] * tens + digits[point]) / tens
        count[pointed] += run[point]
    minus = signed & (char[whole] == ord("-"))
    np.negative(value, out=value, where=minus)
    value[count == 0] = np.nan
    return np.asarray(value, dtype=np.float64)


def _odd(char: Bytes, kind: Bytes, run: Ints) -> Ints:
    """Find marks out of place: signs and points outside a number, bare numbers, others."""
    before = kind[:-1]
    sign = (kind[1:] == _SIGN) & ((before != _LETTER) | (run[:-1] > 0))
    point = (kind[1:] == _POINT) & (before != _LETTER) & (before != _SIGN)
    odd = np.append(False, sign | point)
    odd |= (kind == _LINE_FEED) & (run > 0)
    odd |= (kind == _OTHER) & ~_skippable(char, kind)
    return np.flatnonzero(odd)


def _named(char: Bytes, kind: Bytes, run: Ints, feeds: Ints) -> Ints:
    """Line feeds whose line begins with two characters of a name, or with a percent sign."""
    starts = feeds[:-1]
    second = kind[np.minimum(starts + 2, len(kind) - 1)]
    letters = (kind[starts + 1] == _LETTER) & (run[starts + 1] == 0)
    named = letters & ((second == _LETTER) | (second == _OTHER))
    named |= char[starts + 1] == ord("%")
    return np.asarray(starts[named & (run[starts] == 0)])


def _skippable(char: Bytes, kind: Bytes) -> NDArray[np.bool_]:
    """Slashes in front of a line: it may be skipped at the operator's wish, here never."""
    return np.append(False, (char[1:] == ord("/")) & (kind[:-1] == _LINE_FEED))
