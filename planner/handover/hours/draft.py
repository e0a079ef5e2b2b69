"""A weekend in the making: sheets in an order, and how the decoder places them in time."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from planner.handover.groups import bed_key
from planner.handover.model import PlannedPlate
from planner.handover.plates import BATCH
from planner.handover.weekend import weekend_of
from planner.nest.model import Placement
from planner.schedule.board import ANY, Board
from planner.schedule.instance import instance_of

if TYPE_CHECKING:
    from planner.handover.hours.lasting import Lasting
    from planner.handover.hours.shop import Sheet, Shop
    from planner.schedule.instance import Instance
    from planner.schedule.model import PlateTask

HOUR_S = 3600.0
POWER = 8
"""How much the printer that ends last counts before the others; our own choice."""
PLATE_H = 0.05
"""Hours that a plate more has to win while the search is under way; our own choice."""

Key = tuple[float, ...]


class Draft(NamedTuple):
    """Sheets, and the order in which the decoder takes them (indices into `sheets`)."""

    sheets: tuple[Sheet, ...]
    order: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rated:
    """A draft placed in time. Per sheet: `machine` (-1: none), `start_s` and `end_s`.

    `missing` are the copies without a place, or on sheets longer than the job allows;
    `finish_s` is the last end; `ends_s` the last end of each machine that runs, `on_firsts`
    the machines of the plates of first articles.
    """

    draft: Draft
    missing: int
    late_s: float
    finish_s: int
    ends_s: tuple[int, ...]
    machine: tuple[int, ...]
    start_s: tuple[int, ...]
    end_s: tuple[int, ...]
    on_firsts: tuple[int, ...]
    machines: int

    @property
    def smooth_h(self) -> float:
        """Hours to the finish, half of them from a mean in which late printers count most."""
        ends = sum((end / HOUR_S) ** POWER for end in self.ends_s)
        mean: float = (ends / max(1, self.machines)) ** (1.0 / POWER)
        return 0.5 * self.finish_s / HOUR_S + 0.5 * mean

    @property
    def climbing(self) -> Key:
        """What the search goes by: smaller is better."""
        return (self.missing, self.late_s, self.smooth_h + PLATE_H * len(self.draft.sheets))

    @property
    def worth(self) -> Key:
        """What is wanted in the end: an hour earlier is worth a visit more; minutes are not."""
        plates = len(self.draft.sheets)
        return (self.missing, self.late_s, self.finish_s // HOUR_S, plates, self.smooth_h)


class Rater:
    """Places drafts in time; `work` counts the plates placed."""

    def __init__(self, shop: Shop, lasting: Lasting) -> None:
        self.shop, self.lasting, self.work = shop, lasting, 0
        self._tasks: dict[Sheet, tuple[float, PlateTask]] = {}
        # Which sets are complete is a matter for the final plan; here every copy counts.
        frame = weekend_of(shop.job, shop.firsts)
        firsts = tuple(replace(task, sets=()) for task in frame.tasks)
        self._frame = replace(frame, tasks=firsts, sets=(), sets_lost=())
        self._last: tuple[tuple[Sheet, ...], tuple[PlateTask, ...], Instance | None]
        self._last = (), (), None
        self._mating = {name for plate in shop.firsts for name in plate.counts}
        self._gate = tuple(plate.id for plate in shop.firsts)

    def forget(self) -> None:
        """Let go of the last instance: times have become exact."""
        self._last = (), (), None

    def rate(self, draft: Draft) -> Rated:
        """Place the sheets in their order, first articles before them."""
        instance = self._instance(draft.sheets)
        firsts = len(self.shop.firsts)
        board = Board(instance, keep_spool=True)
        order = [*range(firsts), *(firsts + number for number in draft.order)]
        board.fill(order, [ANY] * len(order))
        self.work += len(order)
        lasts: dict[int, int] = {}
        for machine, end in zip(board.machine, board.end, strict=True):
            if end > lasts.get(machine, -1):
                lasts[machine] = end
        lasts.pop(-1, None)
        finish_s = max(lasts.values(), default=0)
        return Rated(
            draft=draft,
            missing=sum(
                sum(sheet.counts)
                for sheet, end in zip(draft.sheets, board.end[firsts:], strict=True)
                if end < 0 or self.lasting.is_too_long(sheet)
            ),
            late_s=max(0, finish_s - instance.late_after_s),
            finish_s=finish_s,
            ends_s=tuple(lasts.values()),
            on_firsts=tuple(board.machine[:firsts]),
            machine=tuple(board.machine[firsts:]),
            start_s=tuple(board.start[firsts:]),
            end_s=tuple(board.end[firsts:]),
            machines=len(self.shop.job.machines),
        )

    @cached_property
    def closes_s(self) -> tuple[int, ...]:
        """The moments after which nobody can begin a visit for a while."""
        instance = self._instance(())
        return tuple(sorted({last for _, lasts in instance.hands for last in lasts}))

    def overshoot_s(self, rated: Rated, number: int) -> int:
        """Return by how much a sheet ends too late for the visit before its end; 0 if not."""
        end, start = rated.end_s[number], rated.start_s[number]
        before = bisect_right(self.closes_s, end) - 1
        if before < 0 or self.closes_s[before] <= start:
            return 0
        return end - self.closes_s[before]

    def _instance(self, sheets: tuple[Sheet, ...]) -> Instance:
        last_sheets, last_tasks, last = self._last
        if last is not None and last_sheets == sheets:
            return last
        # Most sheets are the very same as a step ago: that is quicker to see than that they equal.
        known = {id(sheet): task for sheet, task in zip(last_sheets, last_tasks, strict=True)}
        tasks = tuple(known.get(id(sheet)) or self._task(sheet) for sheet in sheets)
        instance = instance_of(replace(self._frame, tasks=(*self._frame.tasks, *tasks)))
        self._last = (sheets, tasks, instance)
        return instance

    def _task(self, sheet: Sheet) -> PlateTask:
        """Return what scheduling asks of a sheet; alike ones need no names of their own."""
        seconds = self.lasting.seconds(sheet)
        found = self._tasks.get(sheet)
        if found is None or found[0] != seconds:
            stub = self._made(sheet, seconds)
            task = weekend_of(self.shop.job, [*self.shop.firsts, stub]).tasks[-1]
            found = self._tasks[sheet] = seconds, replace(task, sets=())
        return found[1]

    def _made(self, sheet: Sheet, seconds: float) -> PlannedPlate:
        group = self.shop.groups[sheet.group]
        own = [(r, n) for r, n in zip(group.parts, sheet.counts, strict=True) if n]
        settings = group.parts[0].part.settings
        on = {
            m.name: seconds + m.cool_down_s
            for m in group.machines
            if bed_key(m.printer) == sheet.bed
        }
        names = {ready.part.name for ready, _ in own}
        return PlannedPlate(
            id="",
            kind=BATCH,
            printer=self.shop.beds[sheet.group][sheet.bed].printer,
            placements=tuple(
                Placement(id=ready.part.name, x_mm=0.0, y_mm=0.0, rotation_deg=0.0)
                for ready, count in own
                for _ in range(count)
            ),
            fill=0.0,
            nozzle_mm=settings.nozzle_mm,
            layer_mm=settings.layer_mm,
            material=settings.material,
            colour=group.parts[0].part.colour,
            grams=sum(ready.grams * count for ready, count in own),
            seconds=on,
            ranges_s={},
            stage=min((ready.part.stage for ready, _ in own), default=0),
            gate=self._gate if self._mating & names else (),
        )
