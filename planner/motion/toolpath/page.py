"""One piece of a file while it is being interpreted: its words, and the registers they change."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.motion.toolpath.register import follow, hold, last

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from planner.motion.toolpath.register import Held
    from planner.motion.toolpath.sheet import Sheet
    from planner.motion.toolpath.state import State

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]
    Events = tuple[Ints, Floats]


class Page:
    """Words of a piece (`sheet`) and the registers as they stand after what was held so far.

    Used by one call of `interpret` alone, which reads the new state off it at the end.
    """

    def __init__(self, sheet: Sheet, state: State) -> None:
        self.sheet = sheet
        self.registers = dict(state.registers)
        self.tally = dict(state.tally)
        self.notes = dict(state.notes)
        self.facts = dict(state.facts)
        self.tools = set(state.tools)
        self.lenient = state.lenient

    def hold(self, name: str, events: Events) -> Held:
        """Fill a register forward from its events; remember its value at the end."""
        held = hold(self.registers[name], *events, self.sheet.lines)
        self.registers[name] = last(held)
        return held

    def follow(self, name: str, events: Events, adds: Bools | None) -> Held:
        """Like `hold`, for a register that some events add to."""
        held = follow(self.registers[name], *events, adds, self.sheet.lines)
        self.registers[name] = last(held)
        return held

    def words(self, letter: str, meaning: Mapping[float, float]) -> Events:
        """Lines of some words of a letter, each with what it stands for."""
        lines, values = self.sheet.column(letter)
        if not len(lines):
            return lines, values
        there = np.isin(values, list(meaning))
        if not there.any():
            return lines[:0], values[:0]
        chosen = values[there]
        result = np.zeros(len(chosen))
        for number, stands_for in meaning.items():
            result[chosen == number] = stands_for
        return lines[there], result

    def note(self, text: str, line: int) -> None:
        """Remember an assumption, with the first line (of the file) where it mattered."""
        self.notes.setdefault(text, self.sheet.first_line + int(line))

    def count(self, word: str, line: int, times: int = 1) -> None:
        """Count a word that is not understood."""
        before, first = self.tally.get(word, (0, self.sheet.first_line + int(line)))
        self.tally[word] = (before + times, first)

    def highest(self, fact: str, values: Floats) -> None:
        """Keep the highest value of a fact."""
        if len(values):
            self.facts[fact] = max(self.facts.get(fact, -np.inf), float(values.max()))

    def add(self, fact: str, times: int) -> None:
        """Count occurrences of a fact."""
        if times:
            self.facts[fact] = self.facts.get(fact, 0.0) + times


def merged(*events: Events) -> Events:
    """Return events of several kinds in order of their lines; in one line, in the order given."""
    lines = np.concatenate([line for line, _ in events])
    values = np.concatenate([value for _, value in events])
    order = np.argsort(lines, kind="stable")
    return lines[order], values[order]
