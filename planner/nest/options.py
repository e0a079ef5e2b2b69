"""The ways in which every item may be laid: its turns, as many as the search can make use of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.nest.memory import Store
from planner.nest.shape import Turned, cos_sin, turn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner.nest.model import Item
    from planner.nest.outline import Outline, Point
    from planner.nest.shape import Floats, Ints

SHAPES_FINE = 160
"""Up to so many shapes (kinds times turns) their pairs are worth working out: 13,000 at most."""
SHAPES_ROUGH = 2000
TURNS_FINE, TURNS_ROUGH = 4, 2
"""Every item keeps so many turns, however many kinds there are."""
_FITS = 1e-6

_turned: Store[tuple[bytes, float, float, float, float, bool, bool], Turned] = Store(48_000_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One way to lay an item: the shape's number, the turn, where its own origin lies."""

    shape: int
    rotation_deg: float
    origin_mm: tuple[float, float]


class Options:
    """Turned shapes and, in `of`, the options of every item; equal shapes share a number.

    With many kinds of item each has fewer options, and with very many it is `rough`: pairs of
    shapes are then too many to be worked out.  `by_height` tells shapes of different height
    apart and keeps it in `heights_mm`, which is 0 otherwise.
    """

    def __init__(
        self,
        items: Sequence[Item],
        outlines: Sequence[tuple[Outline, Point]],
        *,
        rooms_mm: Sequence[tuple[float, float]],
        clearance_mm: float,
        step_mm: float,
        keep_outs: bool,
        by_height: bool = False,
    ) -> None:
        self._by_height = by_height
        self._clearance_mm, self._step_mm, self._keep_outs = clearance_mm, step_mm, keep_outs
        kinds = {
            (outline.key, item.rotations_deg, item.height_mm if by_height else 0.0): min(
                TURNS_FINE, len(item.rotations_deg)
            )
            for item, (outline, _) in zip(items, outlines, strict=True)
        }
        self.rough = sum(kinds.values()) > SHAPES_FINE
        least, most = (TURNS_ROUGH, SHAPES_ROUGH) if self.rough else (TURNS_FINE, SHAPES_FINE)
        self._turns = max(least, most // max(1, len(kinds)))
        self.shapes: list[Turned] = []
        self.heights_mm: list[float] = []
        self._numbers: dict[tuple[bytes, float], int] = {}
        self._rooms = np.array(rooms_mm) - clearance_mm
        self._items, self._outlines = items, outlines
        self.of = [
            self._laid(number, _chosen(outline, item, self._rooms, self._turns))
            for number, (item, (outline, _)) in enumerate(zip(items, outlines, strict=True))
        ]

    def thinned(self) -> list[int]:
        """Return the items that fit a bed but for its keep-outs, with turns not looked at."""
        return [
            number
            for number, item in enumerate(self._items)
            if self._keep_outs
            and len(item.rotations_deg) > self._turns
            and bool((_overhang(self._outlines[number][0], item, self._rooms) <= _FITS).any())
        ]

    def widen(self, number: int) -> None:
        """Take in every turn of an item: none of those chosen finds a place."""
        self.of[number] = self._laid(number, self._items[number].rotations_deg)

    def _laid(self, number: int, turns: Sequence[float]) -> tuple[Option, ...]:
        outline, low = self._outlines[number]
        height_mm = self._items[number].height_mm if self._by_height else 0.0
        own: dict[int, Option] = {}
        for angle in turns:
            turned = self._turned(outline, angle)
            shape = self._numbers.setdefault((turned.key(), height_mm), len(self.shapes))
            if shape == len(self.shapes):
                self.shapes.append(turned)
                self.heights_mm.append(height_mm)
            cosine, sine = cos_sin(angle)
            origin_mm = (
                turned.origin_mm[0] - (cosine * low[0] - sine * low[1]),
                turned.origin_mm[1] - (sine * low[0] + cosine * low[1]),
            )
            own.setdefault(shape, Option(shape=shape, rotation_deg=angle, origin_mm=origin_mm))
        return tuple(own.values())

    def _turned(self, outline: Outline, angle: float) -> Turned:
        key = (
            outline.key,
            outline.slack_mm,
            angle,
            self._clearance_mm,
            self._step_mm,
            self._keep_outs,
            self.rough,
        )
        found = _turned.get(key)
        if found is None:
            found = turn(
                outline.cover,
                angle,
                clearance_mm=self._clearance_mm,
                step_mm=self._step_mm,
                keep_outs=self._keep_outs,
                rough=self.rough,
            )
            _turned.put(key, found, found.size_bytes())
        return found


def _chosen(outline: Outline, item: Item, rooms_mm: Floats, most: int) -> tuple[float, ...]:
    """Return at most so many of the turns, evenly spread, from those that fit a bed.

    Every bed gets its share.  Of turns that all are too large, those are returned that come
    nearest to fitting.
    """
    turns = item.rotations_deg
    if len(turns) <= most:
        return turns
    over = _overhang(outline, item, rooms_mm)
    beds = [np.flatnonzero(over[:, bed] <= _FITS) for bed in range(over.shape[1])]
    fitting = [own for own in beds if len(own)]
    if not fitting:
        nearest = np.argsort(over.min(axis=1), kind="stable")[:most]
        return tuple(turns[place] for place in sorted(nearest.tolist()))
    share = max(1, most // len({own.tobytes() for own in fitting}))
    return tuple(
        turns[place] for place in sorted({p for own in fitting for p in _spread(own, share)})
    )


def _overhang(outline: Outline, item: Item, rooms_mm: Floats) -> Floats:
    """Return by how much (mm) each turn is larger than each bed, (turns, beds)."""
    sizes = outline.extents_mm(item.rotations_deg)
    over: Floats = (sizes[:, None, :] - rooms_mm[None, :, :]).max(axis=2)
    return over


def _spread(places: Ints, most: int) -> list[int]:
    """Return at most so many of the places, evenly spread, the first among them."""
    count = min(most, len(places))
    return [int(places[number * len(places) // count]) for number in range(count)]
