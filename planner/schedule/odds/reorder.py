"""Another order of the plates, by which the weekend is done in time more surely."""

from __future__ import annotations

from math import ceil
from random import Random
from typing import TYPE_CHECKING, NamedTuple

from planner.schedule.check import check
from planner.schedule.clock import NEVER, seconds_after
from planner.schedule.instance import instance_of
from planner.schedule.odds.attempts import Drawn, weekends_drawn
from planner.schedule.odds.simulate import brackets_of, intent_of
from planner.schedule.odds.trial import Trial
from planner.schedule.solve import plan_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner.schedule.instance import Instance
    from planner.schedule.model import Weekend, WeekendPlan
    from planner.schedule.odds.model import Rates
    from planner.schedule.odds.trial import Intent, Outcome

TRIALS = 100
"""Lives per order tried, our own choice; all orders are tried on the same draws."""

Key = tuple[float, ...]
"""(what is missing to the wanted odds by the deadline, hour of the wanted odds, mean finish)."""


class _Tried(NamedTuple):
    key: Key
    intent: Intent


def surest_order(
    weekend: Weekend,
    plan: WeekendPlan,
    *,
    ranges_s: Mapping[str, Mapping[str, tuple[float, float]]],
    rates: Rates,
    wanted: float,
    placements: int,
    seed: int,
) -> WeekendPlan:
    """Return the plan with its plates in the order that is surest to be done in time.

    Orders are tried by living each of them on the same draws: first those of the plan and of
    the longest plate first, so that there is time to repeat it, then small changes of the
    best one. `placements` bounds the work, in plates placed. The plan itself comes back where
    nothing better is found, or nothing is planned.
    """
    placed = {run.plate for run in plan.runs}
    if not placed:
        return plan
    search = _Search(weekend, plan, ranges_s=ranges_s, rates=rates, wanted=wanted, seed=seed)
    best = search.run(max(1, placements // (TRIALS * len(placed))))
    if best == search.planned:
        return plan
    changed = _planned(weekend, search.instance, best)
    missing = {plate for plate, _ in changed.unscheduled} & placed
    return plan if missing else changed


class _Search:
    """Late plates are swapped, moved and put on other kinds of printers; what is worse goes."""

    def __init__(
        self,
        weekend: Weekend,
        plan: WeekendPlan,
        *,
        ranges_s: Mapping[str, Mapping[str, tuple[float, float]]],
        rates: Rates,
        wanted: float,
        seed: int,
    ) -> None:
        due = weekend.deadline
        self.due_s = None if due is None else seconds_after(weekend.start, due)
        self.wanted = wanted
        self.instance = instance_of(weekend)
        self.planned = intent_of(weekend, plan.runs, self.instance)
        self.random = Random(seed)  # noqa: S311  (repeatable, not secret)
        brackets = brackets_of(weekend, self.instance, ranges_s)
        self.drawn = list(
            weekends_drawn(
                self.instance, brackets, rates, self.planned.kinds, seed=seed, trials=TRIALS
            )
        )

    def run(self, steps: int) -> Intent:
        """Return the best of the first orders and `steps` changes."""
        long_first = sorted(
            self.planned.order, key=lambda j: (-self._shortest_s(j), self.planned.order.index(j))
        )
        firsts = [self.planned, self.planned._replace(order=tuple(long_first))]
        best = min((self._rated(intent) for intent in firsts), key=lambda tried: tried.key)
        for _ in range(steps):
            trial = self._rated(self._changed(best.intent))
            if trial.key <= best.key:
                best = trial
        return best.intent

    def _shortest_s(self, plate: int) -> int:
        return min(seconds for _, seconds in self.instance.options[plate])

    def _rated(self, intent: Intent) -> _Tried:
        outcomes = [Trial(self.instance, drawn, intent).run() for drawn in self.drawn]
        ends = sorted(_end_s(outcome, intent.order) for outcome in outcomes)
        due_s = NEVER - 1 if self.due_s is None else self.due_s
        on_time = sum(end <= due_s for end in ends) / len(ends)
        hour_s = ends[ceil(self.wanted * len(ends) - 1e-9) - 1]
        known = [end for end in ends if end < NEVER]
        mean_s = sum(known) / len(known) if known else float(NEVER)
        return _Tried((max(0.0, self.wanted - on_time), hour_s, mean_s), intent)

    def _changed(self, intent: Intent) -> Intent:
        """Return the intent with one plate elsewhere in the order, or on another kind."""
        order, kinds = list(intent.order), list(intent.kinds)
        a, b = self.random.randrange(len(order)), self.random.randrange(len(order))
        plate, draw = order[a], self.random.random()
        others = [kind for kind, _ in self.instance.options[plate] if kind != kinds[plate]]
        if others and draw < 0.25:
            kinds[plate] = self.random.choice(others)
        elif draw < 0.6:
            order[a], order[b] = order[b], order[a]
        else:
            order.insert(b, order.pop(a))
        return intent._replace(order=tuple(order), kinds=tuple(kinds))


def _end_s(outcome: Outcome, order: Sequence[int]) -> int:
    ends = [outcome.ends_s[plate] for plate in order]
    return max(NEVER if end is None else end for end in ends)


def _planned(weekend: Weekend, instance: Instance, intent: Intent) -> WeekendPlan:
    """Return the weekend as the intent has it where everything goes as it should."""
    sure = [Drawn({kind: 1.0 for kind, _ in instance.options[j]}, ()) for j in instance.plates]
    trial = Trial(instance, sure, intent)
    trial.run()
    made = plan_of(weekend, trial.board)
    violations = check(weekend, made)
    if violations:
        raise RuntimeError("the plan breaks its own rules: " + "; ".join(violations))
    return made
