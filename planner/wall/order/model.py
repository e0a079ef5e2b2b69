"""Mounting order as a result: steps, and a kit of parts for each."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """One bag: what is mounted in one go. `parts` are (part or assembly, count), by name.

    `cells` are (column, row) on `wall` in the order in which they go up; empty for what hangs
    on the finished board. `screws` are the wall's fixings that come due with it.
    """

    number: int
    name: str
    wall: str
    cells: tuple[tuple[int, int], ...]
    parts: tuple[tuple[str, int], ...]
    screws: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """All kits, first to last, and the cells of each wall in the order of mounting."""

    kits: tuple[Kit, ...]
    cells: tuple[tuple[str, tuple[tuple[int, int], ...]], ...]
