"""How long a sheet prints: estimated from its copies, exact once it has been packed."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from planner.handover.groups import bed_key
from planner.handover.seconds import overhead_s, whole_seconds
from planner.layers.plate import hop_s, plate_seconds

if TYPE_CHECKING:
    from planner.handover.hours.shop import Counts, Sheet, Shop
    from planner.nest.model import PackedPlate


class Lasting:
    """Seconds from start to plate free, on the bed of the sheet, by what lies on it.

    Estimates take the ways between copies as of one length; they are within a hundredth of
    the exact time on the plates of the sample.
    """

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self._seconds: dict[tuple[int, str, Counts], float] = {}
        self._exact: set[tuple[int, str, Counts]] = set()

    def seconds(self, sheet: Sheet) -> float:
        """Return the best known time of a sheet."""
        key = (sheet.group, sheet.bed, sheet.counts)
        found = self._seconds.get(key)
        if found is None:
            found = self._seconds[key] = self._estimate(sheet)
        return found

    def is_too_long(self, sheet: Sheet) -> bool:
        """Say whether a sheet takes more hours than the job allows one plate."""
        most_s = self.shop.job.plating.seconds_max
        if most_s == inf:
            return False
        group = self.shop.groups[sheet.group]
        own = [m.cool_down_s for m in group.machines if bed_key(m.printer) == sheet.bed]
        return self.seconds(sheet) + max(own, default=0.0) > most_s

    def is_exact(self, sheet: Sheet) -> bool:
        """Say whether the sheet has been packed."""
        return (sheet.group, sheet.bed, sheet.counts) in self._exact

    def settle(self, sheet: Sheet, packed: PackedPlate) -> None:
        """Take the time from where the copies lie."""
        key = (sheet.group, sheet.bed, sheet.counts)
        laid = [
            (ready, count)
            for ready, count in zip(self.shop.groups[sheet.group].parts, sheet.counts, strict=True)
            if count
        ]
        printer = self.shop.beds[sheet.group][sheet.bed].printer
        self._seconds[key] = whole_seconds(printer, packed, laid)
        self._exact.add(key)

    def _estimate(self, sheet: Sheet) -> float:
        group = self.shop.groups[sheet.group]
        printer = self.shop.beds[sheet.group][sheet.bed].printer
        counted = [
            (ready.times[printer.name], count)
            for ready, count in zip(group.parts, sheet.counts, strict=True)
            if count
        ]
        heated = group.parts[0].part.settings
        if printer.one_by_one:  # each alone, so each with its own least time per layer
            alone = (count * (time.middle_s + hop_s(time)) for time, count in counted)
            return sum(alone) + overhead_s(printer, heated)
        return plate_seconds(counted) + overhead_s(printer, heated)
