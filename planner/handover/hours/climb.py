"""The search over what lies on the plates and when they run, together.

Late acceptance hill climbing (E. K. Burke and Y. Bykov, "The late acceptance hill-climbing
heuristic", European J. of Operational Research 258 (2017) 70-78): a change stays if it is no
worse than now, or than some steps ago. A change is placed in time first, which is quick; only
if it would stay does the packer judge whether it fits.
"""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

from planner.handover.hours.draft import Draft, Rater
from planner.handover.hours.fitting import Fitting
from planner.handover.hours.lasting import Lasting
from planner.handover.hours.moves import Moves
from planner.handover.hours.shop import first_sheets

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner.handover.hours.draft import Key, Rated
    from planner.handover.hours.shop import Sheet, Shop

MEMORY = 12
"""Steps looked back; our own choice, as are the numbers after it."""
SETTLE_EVERY = 25
"""So many steps go by on estimated times before the state is packed and timed exactly."""
STEP_WORK = 20
"""What a step costs beside the plates it places, in plates placed."""
DRAW_WORK = 2
SAVING = 0.15
"""Share of the work that goes on when plates are saved at the same hour of the finish."""


class Climb:
    """One search from the packed plates of a shop; `best` is exact in its times."""

    def __init__(self, shop: Shop, *, seed: int) -> None:
        self.shop = shop
        self.fitting, self.lasting = Fitting(shop), Lasting(shop)
        self.rater = Rater(shop, self.lasting)
        self.moves = Moves(shop, self.rater, self.fitting, Random(seed))  # noqa: S311  # a search, no secret
        sheets = first_sheets(shop)
        for sheet, plate in zip(sheets, shop.packed, strict=True):
            self.fitting.learn(sheet, plate)
        self.best = self._settled(self._first(sheets))
        self._steps = self._drawn = 0

    def run(self, work: int) -> Rated:
        """Search with so much work, counted in plates placed; return the best draft."""
        if len(self.best.draft.sheets) > 0:
            begun = self._work
            self._climb(lambda r: r.climbing, self.moves.draw, begun + int(work * (1 - SAVING)))
            self._climb(lambda r: r.worth, self.moves.join_any, begun + work)
        return self.best

    @property
    def _work(self) -> int:
        return (
            self.rater.work + self.fitting.work + STEP_WORK * self._steps + DRAW_WORK * self._drawn
        )

    def _climb(
        self, key_of: Callable[[Rated], Key], draw: Callable[[Rated], Draft | None], end: int
    ) -> None:
        now = self.best
        key = key_of(now)
        history = [key] * MEMORY
        step = 0
        while self._work < end:
            draft = draw(now)
            self._drawn += 1
            if draft is not None:
                self._steps += 1
                step += 1
                trial = self.rater.rate(draft)
                own = key_of(trial)
                if (own <= key or own <= history[step % MEMORY]) and self._fits(now, trial):
                    now, key = trial, own
                history[step % MEMORY] = min(key, history[step % MEMORY])
                if step % SETTLE_EVERY == 0:
                    now = self._kept(now)
                    key = key_of(now)
        self._kept(now)

    def _kept(self, now: Rated) -> Rated:
        """Settle a draft if it looks better than the best, and keep it if it is."""
        if now.worth >= self.best.worth:
            return now
        now = self._settled(now)
        if now.worth < self.best.worth:
            self.best = now
        return now

    def _settled(self, rated: Rated) -> Rated:
        """Pack every sheet and place the draft in time anew."""
        for sheet in rated.draft.sheets:
            if not self.lasting.is_exact(sheet):
                self.lasting.settle(sheet, self.fitting.packed(sheet))
        self.rater.forget()
        return self.rater.rate(rated.draft)

    def _fits(self, now: Rated, trial: Rated) -> bool:
        known = {id(sheet) for sheet in now.draft.sheets}
        return all(id(s) in known or self.fitting.holds(s) for s in trial.draft.sheets)

    def _first(self, sheets: tuple[Sheet, ...]) -> Rated:
        """Return the first draft: longest first, or in the order of the plates."""
        by_length = sorted(
            range(len(sheets)), key=lambda at: (-self.lasting.seconds(sheets[at]), at)
        )
        drafts = [Draft(sheets, tuple(order)) for order in (range(len(sheets)), by_length)]
        return min((self.rater.rate(draft) for draft in drafts), key=lambda rated: rated.worth)
