"""One plate while it is being filled: what lies where, and where more may lie."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner.nest import sequence

if TYPE_CHECKING:
    from planner.nest.options import Option
    from planner.nest.table import Table


@dataclass(frozen=True, slots=True)
class Spot:
    """A copy of an item (its number) laid in one of its options at a grid position."""

    item: int
    option: Option
    x: int
    y: int


class Plate:
    """A bed with parts on it; keeps, per shape, the positions that are still free.

    The free maps are brought up to date when asked for, one forbidden-offset map per part laid
    since; taking parts off starts them anew.
    """

    __slots__ = ("_free", "_seen", "bed", "grams", "layout", "parts", "seconds", "spots", "table")

    def __init__(self, table: Table, bed: int, spots: tuple[Spot, ...] = ()) -> None:
        self.table, self.bed, self.layout = table, bed, 0
        self.spots = list(spots)
        self.seconds = sum(table.items[spot.item].seconds for spot in spots)
        self.grams = sum(table.items[spot.item].grams for spot in spots)
        self.parts = sum(table.items[spot.item].parts for spot in spots)
        self._free: dict[int, int] = {}
        self._seen: dict[int, int] = {}

    def area_mm2(self) -> float:
        """Return the area of the parts on it, each with half the clearance around."""
        return sum(self.table.area_mm2[spot.item] for spot in self.spots)

    def use_layout(self, layout: int) -> None:
        """Choose along which axis positions are counted first; 0 is x, 1 is y."""
        if layout != self.layout:
            self.layout = layout
            self._free.clear()
            self._seen.clear()

    def allows(self, item: int) -> bool:
        """Say whether height, limits and groups leave room for one more copy."""
        wanted, bed = self.table.items[item], self.table.beds[self.bed]
        rivals = self.table.terms.rivals.get(item)
        return (
            wanted.height_mm <= bed.height_mm
            and self.seconds + wanted.seconds <= bed.limit_s
            and self.grams + wanted.grams <= bed.limit_g
            and self.parts + wanted.parts <= bed.limit_parts
            and not (rivals and any(spot.item in rivals for spot in self.spots))
        )

    def free(self, shape: int) -> int:
        """Return the positions at which a shape may lie, as a bitmap (see `Table`)."""
        table, layout = self.table, self.layout
        seen = self._seen.get(shape, 0)
        free = self._free.get(shape)
        if free is None:
            free = table.inner(self.bed, shape, layout)
        if free and seen < len(self.spots):
            stride = table.stride(layout)
            size = table.size[shape]
            back = (size[1 - layout] - 1) * stride + size[layout] - 1
            table.work += len(self.spots) - seen
            for spot in self.spots[seen:]:
                u, v = (spot.x, spot.y) if layout == 0 else (spot.y, spot.x)
                shift = v * stride + u - back
                taken = table.nofit(spot.option.shape, shape, layout)
                free ^= free & (taken << shift if shift >= 0 else taken >> -shift)
                if not free:
                    break
            if table.beds[self.bed].head is not None:
                free &= ~sequence.blocked(table, self.bed, self.spots[seen:], shape, layout)
        self._free[shape], self._seen[shape] = free, len(self.spots)
        return free

    def first(self, shape: int, *, far: bool) -> int | None:
        """Return the first free position of a shape, the last if `far`, or None."""
        free = self.free(shape)
        return end_of(free, far=far) if free else None

    def place(self, spot: Spot) -> None:
        """Lay a copy; the caller has asked `free` and `allows`."""
        self.spots.append(spot)
        self.seconds += self.table.items[spot.item].seconds
        self.grams += self.table.items[spot.item].grams
        self.parts += self.table.items[spot.item].parts

    def without(self, gone: frozenset[int]) -> Plate:
        """Return a new plate that lacks the spots with the given places in the list.

        The large parts come first in it: they show soonest that a shape has no place.
        """
        kept = [spot for place, spot in enumerate(self.spots) if place not in gone]
        kept.sort(key=lambda spot: -self.table.area_mm2[spot.item])
        return type(self)(self.table, self.bed, tuple(kept))


def end_of(positions: int, *, far: bool) -> int:
    """Return the lowest of some positions, or the highest.

    >>> end_of(0b0110, far=False), end_of(0b0110, far=True)
    (1, 2)
    """
    return (positions if far else positions & -positions).bit_length() - 1
