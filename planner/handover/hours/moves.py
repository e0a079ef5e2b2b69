"""Small changes to a draft: copies from one sheet to another, sheets cut, joined and reordered.

Most changes begin where it hurts: on the printer that ends last, at a sheet that ends just
after the last visit of a day, or at one with time to spare before the next visit.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from operator import and_
from typing import TYPE_CHECKING

from planner.handover.hours.draft import Draft
from planner.handover.hours.shop import Sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from random import Random

    from planner.handover.hours.draft import Rated, Rater
    from planner.handover.hours.fitting import Fitting
    from planner.handover.hours.shop import Counts, Shop

LAST = 0.6
"""Share of the changes that begin on the printer that ends last, or with what is left out."""
SPARE_S = 900.0
"""Less time than this before the next visit is not worth filling; our own choice."""


class Moves:
    """Draws changed drafts; None where a draw makes no sense."""

    def __init__(self, shop: Shop, rater: Rater, fitting: Fitting, random: Random) -> None:
        self.shop, self.rater, self.fitting, self.random = shop, rater, fitting, random
        self._each_s: dict[tuple[int, str], tuple[float, ...]] = {}
        self._kinds: tuple[tuple[float, Callable[[Rated], Draft | None]], ...] = (
            (0.18, self._reorder),
            (0.18, self._shift),
            (0.14, self._fill_spare),
            (0.16, self._densify),
            (0.06, self._trim),
            (0.10, self._exchange),
            (0.08, self._cut),
            (0.05, self._join),
            (0.05, self._rebed),
        )

    def draw(self, rated: Rated) -> Draft | None:
        """Return a changed draft."""
        draw = self.random.random()
        for share, change in self._kinds:
            if draw < share:
                return change(rated)
            draw -= share
        return self._reorder(rated)

    def join_any(self, rated: Rated) -> Draft | None:
        """Return a draft with one sheet less, or another order: for when plates are to be saved."""
        draw = self.random.random()
        if draw < 0.35:
            return self._join(rated)
        return self._scatter(rated) if draw < 0.7 else self.draw(rated)

    def _reorder(self, rated: Rated) -> Draft | None:
        order = list(rated.draft.order)
        if len(order) < 2:
            return None
        a = order.index(self._sore(rated))
        b = self.random.randrange(len(order))
        if self.random.random() < 0.5:
            order[a], order[b] = order[b], order[a]
        else:
            order.insert(b, order.pop(a))
        return Draft(rated.draft.sheets, tuple(order))

    def _shift(self, rated: Rated) -> Draft | None:
        """Move some copies of a part to another sheet."""
        giver = self._sore(rated)
        taker = self._fellow(rated, giver)
        if taker is None:
            return None
        return self._moved(rated, giver, taker, self._some(rated, giver, taker))

    def _fill_spare(self, rated: Rated) -> Draft | None:
        """Move as much to a sheet as it has time for before the next visit to its printer."""
        taker = self._roomy_in_time(rated)
        if taker is None:
            return None
        spare = self._spare_s(rated)
        giver = self._sore(rated, group=rated.draft.sheets[taker].group)
        if giver == taker:
            return None
        return self._moved(rated, giver, taker, self._worth(rated, giver, taker, spare[taker]))

    def _trim(self, rated: Rated) -> Draft | None:
        """Take off a sheet what makes it end too late for the last visit before its end."""
        over = [
            (number, over_s)
            for number in range(len(rated.draft.sheets))
            for over_s in [self.rater.overshoot_s(rated, number)]
            if over_s > 0
        ]
        if not over:
            return None
        giver, over_s = self.random.choice(over)
        taker = self._fellow(rated, giver)
        if taker is None:
            return None
        return self._moved(rated, giver, taker, self._worth(rated, giver, taker, over_s, up=True))

    def _exchange(self, rated: Rated) -> Draft | None:
        """Swap copies of two parts between two sheets, no more back than makes room."""
        one = self._sore(rated)
        two = self._fellow(rated, one)
        if two is None:
            return None
        there, back = self._some(rated, one, two, roomy=False), self._some(rated, two, one)
        if not any(there) or not any(back) or there.index(max(there)) == back.index(max(back)):
            return None
        part, other = there.index(max(there)), back.index(max(back))
        taker = rated.draft.sheets[two]
        areas_mm2 = self.fitting.areas_mm2(taker)
        short_mm2 = there[part] * areas_mm2[part] - self.fitting.room_mm2(taker)
        needed = max(1, ceil(short_mm2 / areas_mm2[other]))
        if needed > _free(taker)[other]:
            return None
        change = list(there)
        change[other] -= needed if self.random.random() < 0.7 else back[other]
        return self._moved(rated, one, two, tuple(change))

    def _densify(self, rated: Rated) -> Draft | None:
        """Put copies that print for long on little room where there is time, for such that do not.

        A night is long and a bed small: flat parts belong on the plates of the day.
        """
        taker = self._roomy_in_time(rated)
        if taker is None:
            return None
        spare_s = self._spare_s(rated)[taker]
        sheets = rated.draft.sheets
        giver = self._sore(rated, group=sheets[taker].group)
        if giver == taker:
            return None
        each_s = self._each(sheets[taker].group, sheets[taker].bed)
        areas_mm2 = self.fitting.areas_mm2(sheets[taker])
        dense = [s / mm2 for s, mm2 in zip(each_s, areas_mm2, strict=True)]
        usable = self.shop.usable[sheets[taker].group]
        come = self._one(_free(sheets[giver]), usable[sheets[taker].bed])
        if come is None:
            return None
        thinner = [dense[at] < dense[come] for at in range(len(dense))]
        back = tuple(map(and_, thinner, usable[sheets[giver].bed]))
        go = self._one(_free(sheets[taker]), back)
        if go is None:
            return None
        room_mm2 = self.fitting.room_mm2(sheets[taker])
        count = self.random.randint(1, _free(sheets[giver])[come])
        while count:
            gone = max(0, ceil((count * areas_mm2[come] - room_mm2) / areas_mm2[go]))
            more_s = count * each_s[come] - gone * each_s[go]
            if gone <= _free(sheets[taker])[go] and more_s <= spare_s:
                change = [0] * len(dense)
                change[come], change[go] = count, -gone
                return self._moved(rated, giver, taker, tuple(change))
            count //= 2
        return None

    def _one(self, free: Counts, usable: Sequence[bool]) -> int | None:
        """Return a part of which copies may leave and fit."""
        parts = [at for at, count in enumerate(free) if count and usable[at]]
        return self.random.choice(parts) if parts else None

    def _roomy_in_time(self, rated: Rated) -> int | None:
        """Return a sheet with time to spare, mostly one with much."""
        spare = self._spare_s(rated)
        roomy = [number for number, gap in enumerate(spare) if gap > SPARE_S]
        if not roomy:
            return None
        if self.random.random() < 0.5:
            return self.random.choice(roomy)
        return max(self.random.sample(roomy, min(3, len(roomy))), key=spare.__getitem__)

    def _cut(self, rated: Rated) -> Draft | None:
        """Cut a sheet in two."""
        giver = self._sore(rated)
        sheet = rated.draft.sheets[giver]
        usable = self.shop.usable[sheet.group]
        bed = self.random.choice(sorted(usable))
        share = self.random.choice((0.25, 0.4, 0.5, 0.6))
        taken = tuple(
            round(free * share) if fits else 0
            for free, fits in zip(_free(sheet), usable[bed], strict=True)
        )
        if self.random.random() < 0.5:
            taken = self._some(rated, giver, None, bed)
        if not any(taken) or taken == sheet.counts:
            return None
        sheets = [*rated.draft.sheets, Sheet(group=sheet.group, bed=bed, counts=taken)]
        sheets[giver] = _less(sheet, taken)
        order = list(rated.draft.order)
        order.insert(self.random.randrange(len(order) + 1), len(sheets) - 1)
        return _kept(sheets, order)

    def _join(self, rated: Rated) -> Draft | None:
        """Put all that may leave a sheet on another one."""
        giver = self._lightest(rated) if self.random.random() < 0.5 else self._sore(rated)
        taker = self._fellow(rated, giver)
        if taker is None:
            return None
        return self._moved(rated, giver, taker, _free(rated.draft.sheets[giver]))

    def _scatter(self, rated: Rated) -> Draft | None:
        """Dissolve a light sheet over the sheets with most time to spare."""
        giver = self._lightest(rated)
        sheets = list(rated.draft.sheets)
        spare = self._spare_s(rated)
        fellows = [
            at
            for at, sheet in enumerate(sheets)
            if at != giver and sheet.group == sheets[giver].group and sheet.tied < 0
        ]
        fellows.sort(key=lambda at: -spare[at])
        for taker in fellows[:3]:
            part = _least(
                self._worth(rated, giver, taker, max(spare[taker], SPARE_S)), _free(sheets[giver])
            )
            sheets[taker] = _more(sheets[taker], part)
            sheets[giver] = _less(sheets[giver], part)
        if any(sheets[giver].counts):
            return None
        if not all(self.fitting.is_likely(sheets[at]) for at in fellows[:3]):
            return None
        return _kept(sheets, list(rated.draft.order))

    def _rebed(self, rated: Rated) -> Draft | None:
        """Move a sheet to another kind of bed."""
        number = self._sore(rated)
        sheet = rated.draft.sheets[number]
        beds = [
            bed
            for bed, fits in sorted(self.shop.usable[sheet.group].items())
            if bed != sheet.bed
            and all(fit or not count for fit, count in zip(fits, sheet.counts, strict=True))
        ]
        if sheet.tied >= 0 or not beds:
            return None
        sheets = list(rated.draft.sheets)
        sheets[number] = replace(sheet, bed=self.random.choice(beds))
        return Draft(tuple(sheets), rated.draft.order)

    def _sore(self, rated: Rated, group: int | None = None) -> int:
        """Return a sheet, mostly one on the printer that ends last, or without a place."""
        sheets = rated.draft.sheets
        own = [n for n, sheet in enumerate(sheets) if group in (None, sheet.group)]
        if self.random.random() < LAST:
            late = max(own, key=rated.end_s.__getitem__)
            last = {rated.machine[late], -1}
            own = [number for number in own if rated.machine[number] in last]
        return self.random.choice(own)

    def _lightest(self, rated: Rated) -> int:
        """Return one of the three shortest sheets."""
        lasts = [end - start for start, end in zip(rated.start_s, rated.end_s, strict=True)]
        return self.random.choice(sorted(range(len(lasts)), key=lasts.__getitem__)[:3])

    def _fellow(self, rated: Rated, number: int) -> int | None:
        """Return another sheet of the same group that may take copies."""
        sheets = rated.draft.sheets
        own = [
            other
            for other, sheet in enumerate(sheets)
            if other != number and sheet.group == sheets[number].group and sheet.tied < 0
        ]
        return self.random.choice(own) if own else None

    def _some(
        self,
        rated: Rated,
        giver: int,
        taker: int | None,
        bed: str | None = None,
        *,
        roomy: bool = True,
    ) -> Counts:
        """Return some copies of one part that may leave one sheet and fit the bed of another.

        If `roomy` no more than there seems to be room for.
        """
        sheet = rated.draft.sheets[giver]
        bed = bed or rated.draft.sheets[giver if taker is None else taker].bed
        usable = self.shop.usable[sheet.group][bed]
        free = _free(sheet)
        parts = [at for at, count in enumerate(free) if count and usable[at]]
        if not parts:
            return (0,) * len(free)
        part = self.random.choice(parts)
        most = free[part]
        if roomy and taker is not None:
            most = min(most, self._room_for(rated.draft.sheets[taker], part))
        if most < 1:
            return (0,) * len(free)
        draw = self.random.random()
        count = 1 if draw < 0.4 else most if draw < 0.6 else self.random.randint(1, most)
        return tuple(count if at == part else 0 for at in range(len(free)))

    def _worth(
        self, rated: Rated, giver: int, taker: int, seconds: float, *, up: bool = False
    ) -> Counts:
        """Return copies that may leave one sheet, worth so many seconds on the other.

        Parts in random order, as many of each as there is time for; with `up` one more.
        """
        sheet, bed = rated.draft.sheets[giver], rated.draft.sheets[taker].bed
        usable, free = self.shop.usable[sheet.group][bed], _free(sheet)
        each_s = self._each(sheet.group, bed)
        parts = [at for at, count in enumerate(free) if count and usable[at]]
        self.random.shuffle(parts)
        taken = [0] * len(free)
        areas_mm2 = self.fitting.areas_mm2(rated.draft.sheets[taker])
        room_mm2 = self.fitting.room_mm2(rated.draft.sheets[taker])
        for part in parts:
            fits = max(0, int(room_mm2 / areas_mm2[part]))
            count = min(free[part], int(seconds / each_s[part]) + up, fits)
            taken[part] = count
            seconds -= count * each_s[part]
            room_mm2 -= count * areas_mm2[part]
            if seconds <= 0:
                break
        return tuple(taken)

    def _room_for(self, taker: Sheet, part: int) -> int:
        """Return how many copies of a part a sheet may well take besides."""
        room_mm2 = self.fitting.room_mm2(taker)
        return max(0, int(room_mm2 / self.fitting.areas_mm2(taker)[part]))

    def _each(self, group: int, bed: str) -> tuple[float, ...]:
        """Return what one copy more of each part takes on a bed, least times of layers aside."""
        found = self._each_s.get((group, bed))
        if found is None:
            printer = self.shop.beds[group][bed].printer
            found = tuple(
                float(ready.times[printer.name].by_layer_s.sum())
                for ready in self.shop.groups[group].parts
            )
            self._each_s[group, bed] = found
        return found

    def _spare_s(self, rated: Rated) -> list[float]:
        """Return how much longer each sheet could last before its printer is wanted again."""
        spare = [0.0] * len(rated.draft.sheets)
        for machine in set(rated.machine) - {-1}:
            own = [number for number, on in enumerate(rated.machine) if on == machine]
            own.sort(key=rated.start_s.__getitem__)
            following = [*(rated.start_s[number] for number in own[1:]), rated.finish_s]
            for number, then in zip(own, following, strict=True):
                spare[number] = then - rated.end_s[number]
        return [
            0.0 if sheet.tied >= 0 else own
            for sheet, own in zip(rated.draft.sheets, spare, strict=True)
        ]

    def _moved(self, rated: Rated, giver: int, taker: int, change: Counts) -> Draft | None:
        if not any(change):
            return None
        sheets = list(rated.draft.sheets)
        if sheets[giver].tied >= 0 and min(change) < 0:
            return None
        sheets[giver] = _less(sheets[giver], change)
        sheets[taker] = _more(sheets[taker], change)
        if not all(self.fitting.is_likely(sheets[at]) for at in (giver, taker)):
            return None
        return _kept(sheets, list(rated.draft.order))


def _free(sheet: Sheet) -> Counts:
    """Return the copies that may leave a sheet."""
    if sheet.tied < 0:
        return sheet.counts
    return tuple(a - b for a, b in zip(sheet.counts, sheet.stays, strict=True))


def _less(sheet: Sheet, taken: Counts) -> Sheet:
    return replace(sheet, counts=tuple(a - b for a, b in zip(sheet.counts, taken, strict=True)))


def _more(sheet: Sheet, given: Counts) -> Sheet:
    return replace(sheet, counts=tuple(a + b for a, b in zip(sheet.counts, given, strict=True)))


def _least(one: Counts, other: Counts) -> Counts:
    return tuple(min(a, b) for a, b in zip(one, other, strict=True))


def _kept(sheets: Sequence[Sheet], order: Sequence[int]) -> Draft:
    """Return the draft without empty sheets."""
    full = [number for number, sheet in enumerate(sheets) if any(sheet.counts)]
    place = {number: at for at, number in enumerate(full)}
    return Draft(
        tuple(sheets[number] for number in full),
        tuple(place[number] for number in order if number in place),
    )
