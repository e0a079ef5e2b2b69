"""Which copies fit on one plate, with the packer as the judge; what it has laid is kept.

Whatever lies on a plate still lies there when something is taken off: so any part of what
once fitted fits. And where a set of copies found no place, a larger one is not tried.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.handover.beds import bed_of, largest_spool_g
from planner.handover.hours.shop import packed_plate
from planner.handover.items import item_of
from planner.handover.seconds import seconds_on_plate
from planner.nest.build import Layout, filled
from planner.nest.model import Wishes
from planner.nest.placing import placed
from planner.nest.result import plates_of
from planner.nest.runs import Run, task_of
from planner.nest.scene import scene_of

if TYPE_CHECKING:
    from planner.handover.hours.shop import Counts, Sheet, Shop
    from planner.handover.model import PlannedPlate
    from planner.nest.build import Task
    from planner.nest.model import Item, PackedPlate
    from planner.nest.plate import Plate
    from planner.nest.scene import Scene

TRIES = 4
"""Random fillings of a plate before a set of copies is taken not to fit; our own choice."""
SPREAD = 0.2
"""How far the order of the packer is shaken in all fillings but the first; our own choice."""
LIKELY, OPEN = 1.02, 0.65
"""Share of the largest area laid yet, and of a bed, up to which copies may well fit; our own."""
FILL_WORK, TABLE_WORK = 40, 20
"""What a filling costs in plates placed, and the packer's steps that cost as much as one."""


@dataclass(frozen=True, slots=True)
class _Fact:
    """Copies that lie on a plate together, and where."""

    counts: Counts
    packed: PackedPlate


class _Ground:
    """One group on one kind of bed."""

    def __init__(self, shop: Shop, group: int, bed: str) -> None:
        self.job, self.group = shop.job, shop.groups[group]
        roster = shop.beds[group][bed]
        self.names = [ready.part.name for ready in self.group.parts]
        self.items = [
            item_of(
                ready,
                quantity=ready.need.to_print,
                seconds=seconds_on_plate(self.job, ready.times[roster.printer.name]),
            )
            for ready in self.group.parts
        ]
        self.bed = bed_of(bed, roster, spool_g=largest_spool_g(self.job, self.group))
        self.facts: list[_Fact] = []
        self.failed: list[Counts] = []
        self.work = 0
        self.laid_mm2 = 0.0
        self._made: tuple[Task, Scene] | None = None

    @property
    def task(self) -> Task:
        """The packing problem, made ready when first needed."""
        return self._ready()[0]

    def holds(self, counts: Counts) -> bool:
        """Say whether the copies fit, trying to lay them if that is not known."""
        if any(_within(counts, fact.counts) for fact in self.facts):
            return True
        if any(_within(failed, counts) for failed in self.failed):
            return False
        if self._allowed(counts) and self._laid(counts) is not None:
            return True
        self.failed.append(counts)
        return False

    def packed(self, counts: Counts) -> PackedPlate:
        """Return the copies laid: anew if that goes, else what held more, less the rest."""
        for fact in self.facts:
            if fact.counts == counts:
                return fact.packed
        anew = self._laid(counts)
        if anew is not None:
            return anew
        fact = min(
            (fact for fact in self.facts if _within(counts, fact.counts)),
            key=lambda fact: (sum(fact.counts), fact.counts),
        )
        return self.lessened(fact.packed, counts)

    def lessened(self, packed: PackedPlate, counts: Counts) -> PackedPlate:
        """Return a plate without what is too many on it; of equal copies the first stay."""
        left = dict(zip(self.names, counts, strict=True))
        kept = []
        for place in packed.placements:
            if left[place.id]:
                left[place.id] -= 1
                kept.append(place)
        if self.bed.head is not None:
            kept = [replace(place, order=turn) for turn, place in enumerate(kept, 1)]
        covered = sum(
            count * region.area
            for count, region in zip(counts, self.task.table.regions, strict=True)
        )
        share = round(covered / (self.bed.width_mm * self.bed.depth_mm), 6)
        return replace(packed, placements=tuple(kept), fill=share)

    def learn(self, counts: Counts, packed: PackedPlate) -> None:
        """Keep what lies on a plate."""
        self.facts.append(_Fact(counts, packed))
        self.laid_mm2 = max(self.laid_mm2, self.area_mm2(counts))

    def area_mm2(self, counts: Counts) -> float:
        """Return the area of copies, each with half the clearance around."""
        areas = self.task.table.area_mm2
        return sum(count * area for count, area in zip(counts, areas, strict=True) if count)

    @property
    def room_mm2(self) -> float:
        """The area on a bed."""
        room_mm = self.task.table.room_mm(0)
        return room_mm[0] * room_mm[1]

    def _allowed(self, counts: Counts) -> bool:
        """Say whether limits and area leave room, before anything is laid."""
        laid = [(item, count) for item, count in zip(self.items, counts, strict=True) if count]
        if (
            sum(item.seconds * count for item, count in laid) > self.bed.limit_s
            or sum(item.grams * count for item, count in laid) > self.bed.limit_g
            or sum(item.parts * count for item, count in laid) > self.bed.limit_parts
        ):
            return False
        fits = all(self.task.usable[at] for at, count in enumerate(counts) if count)
        return fits and self.area_mm2(counts) <= self.room_mm2

    def _laid(self, counts: Counts) -> PackedPlate | None:
        """Lay the copies; None if no filling takes them all. The fullest one is kept."""
        fullest: Plate | None = None
        for attempt in range(TRIES):
            before = self.task.table.work
            plate = filled(self.task, 0, counts, SPREAD if attempt else 0.0)
            self.work += FILL_WORK + (self.task.table.work - before) // TABLE_WORK
            if len(plate.spots) == sum(counts):
                return self._kept(plate)
            if fullest is None or plate.area_mm2() > fullest.area_mm2():
                fullest = plate
        if fullest is not None and fullest.spots:
            self._kept(fullest)
        return None

    def _kept(self, plate: Plate) -> PackedPlate:
        task, scene = self._ready()
        layout = Layout(((0, tuple(plate.spots)),), ())
        layout = placed(task, layout, self.job.plating.placing)
        known: dict[str, Item] = {item.id: item for item in self.items}
        packed = plates_of(task, layout, scene, known)[0]
        counts = [0] * len(self.items)
        for spot in plate.spots:
            counts[spot.item] += 1
        self.learn(tuple(counts), packed)
        return packed

    def _ready(self) -> tuple[Task, Scene]:
        if self._made is None:
            lengths = {"clearance_mm": self.job.clearance_mm, "edge_mm": self.job.edge_mm}
            here = set(self.names)
            apart = tuple(
                tuple(name for name in names if name in here)
                for names in self.job.plating.apart
                if here & set(names)
            )
            scene = scene_of(self.items, [self.bed], Wishes(apart=apart), **lengths)
            run = Run(
                items=scene.items,
                beds=scene.beds,
                terms=scene.terms,
                always=scene.always,
                work=0,
                bound=0,
                seed=0,
                **lengths,
            )
            self._made = task_of(run), scene
        return self._made


class Fitting:
    """What is known to fit, over all groups and beds of a shop."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self._grounds: dict[tuple[int, str], _Ground] = {}

    @property
    def work(self) -> int:
        """What judging has cost so far, in plates placed."""
        return sum(ground.work for ground in self._grounds.values())

    def learn(self, sheet: Sheet, plate: PlannedPlate) -> None:
        """Take a sheet as known to fit as it was packed; a tied one is known anyway."""
        if sheet.tied < 0:
            self._ground(sheet).learn(sheet.counts, packed_plate(plate, sheet.bed))

    def holds(self, sheet: Sheet) -> bool:
        """Say whether all copies of a sheet have a place on its bed."""
        if sheet.tied >= 0:
            whole = self.shop.packed[sheet.tied].counts
            names = self._ground(sheet).names
            most = tuple(whole.get(name, 0) for name in names)
            return _within(sheet.stays, sheet.counts) and _within(sheet.counts, most)
        return self._ground(sheet).holds(sheet.counts)

    def room_mm2(self, sheet: Sheet) -> float:
        """Guess quickly how much more area a sheet may take; less than 0: it is too full.

        More than ever lay there will not fit; a bed of which little is known is taken to hold
        what covers most of it.
        """
        ground = self._ground(sheet)
        most_mm2 = max(LIKELY * ground.laid_mm2, OPEN * ground.room_mm2)
        return most_mm2 - ground.area_mm2(sheet.counts)

    def is_likely(self, sheet: Sheet) -> bool:
        """Guess from the area whether the copies fit."""
        return self.holds(sheet) if sheet.tied >= 0 else self.room_mm2(sheet) >= 0

    def areas_mm2(self, sheet: Sheet) -> tuple[float, ...]:
        """Return the area of a copy of each part on the sheet's bed, with half the clearance."""
        return self._ground(sheet).task.table.area_mm2

    def packed(self, sheet: Sheet) -> PackedPlate:
        """Return the sheet packed; it is known to hold its copies."""
        if sheet.tied >= 0:
            whole = packed_plate(self.shop.packed[sheet.tied], sheet.bed)
            return self._ground(sheet).lessened(whole, sheet.counts)
        return self._ground(sheet).packed(sheet.counts)

    def _ground(self, sheet: Sheet) -> _Ground:
        key = (sheet.group, sheet.bed)
        if key not in self._grounds:
            self._grounds[key] = _Ground(self.shop, *key)
        return self._grounds[key]


def _within(less: Counts, more: Counts) -> bool:
    return all(a <= b for a, b in zip(less, more, strict=True))
