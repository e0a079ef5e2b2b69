"""Checksums of lines: the exclusive or of all bytes before the star, as the trade sends them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from planner.motion.toolpath.sheet import Sheet


def check(sheet: Sheet, raw: bytes) -> int:
    """Compare all checksums of a piece with its bytes; return how many there were.

    Raises InputError for the first that does not fit.
    """
    if not len(sheet.star_line):
        return 0
    chars = np.frombuffer(raw, np.uint8)
    starts = np.append(0, np.flatnonzero(chars == ord("\n")) + 1)
    stars = np.flatnonzero(chars == ord("*"))
    line_of = np.searchsorted(starts, stars, side="right") - 1
    first = np.searchsorted(line_of, sheet.star_line)
    upto = np.append(0, np.bitwise_xor.accumulate(chars))
    found = upto[stars[first]] ^ upto[starts[sheet.star_line]]
    wrong = np.flatnonzero(found != sheet.star_value)
    if len(wrong):
        line, value = sheet.star_line[wrong[0]], sheet.star_value[wrong[0]]
        sheet.refuse(
            line,
            found=f"the checksum {value:g}",
            expected=f"{found[wrong[0]]} for this line",
            remedy="the file was damaged: copy or export it again",
        )
    return len(sheet.star_line)
