"""The moves of a toolpath file, piece by piece: what every reader of toolpaths begins with."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner.motion.toolpath.checksum import check
from planner.motion.toolpath.interpret import interpret
from planner.motion.toolpath.pieces import pieces
from planner.motion.toolpath.sheet import sheet_of
from planner.motion.toolpath.state import State

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from planner.motion.toolpath.model import Moves

PIECE_BYTES = 1 << 18
"""Bytes read at a time: the arrays of a piece stay in a processor's cache."""


def stream(
    path: Path, *, start: State | None = None, piece_bytes: int = PIECE_BYTES
) -> Iterator[tuple[Moves, State]]:
    """Yield the moves of a file piece by piece, each with the state after it.

    Memory does not grow with the file. Raises InputError, with the line, for a file that
    cannot be read or followed.
    """
    state = State() if start is None else start
    for piece in pieces(path, piece_bytes):
        sheet = sheet_of(piece.raw, path=path, first_line=piece.first_line)
        sums = check(sheet, piece.raw)
        moves, state = interpret(sheet, state)
        facts = dict(state.facts)
        facts["checksums"] = facts.get("checksums", 0.0) + sums
        facts["unfinished"] = float(piece.unfinished)
        state = replace(state, facts=facts)
        yield moves, state
