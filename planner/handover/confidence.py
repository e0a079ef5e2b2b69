"""Plans for wanted odds: enough spares, plates and an order by which all is there in time.

Plates that are done early leave time to print them again; what is promised is the hour by
which everything is there in number with the wanted odds, not the hour of the lucky case.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from planner.handover.hours.choose import plates_for_the_hours
from planner.handover.odds import weekend_lived
from planner.handover.spares import spare_advice, spared_as
from planner.handover.stock import Stock
from planner.handover.surely import extended, fewer_plates
from planner.handover.totals import copies_missing
from planner.handover.weekend import weekend_of
from planner.handover.workers import in_turn
from planner.progress import silent
from planner.schedule.clock import local_time
from planner.schedule.odds.model import Rates
from planner.schedule.odds.reorder import surest_order

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from planner.handover.hours.choose import Chosen
    from planner.handover.model import HoursWon, ReadyPart
    from planner.handover.plates import PlateSet
    from planner.handover.workers import Workers
    from planner.job.model import Job
    from planner.progress import Progress
    from planner.schedule.model import WeekendPlan

HOUR_S = 3600.0
KEPT = 2
"""So many sets of plates get an order of their own; our own choice, as are the next two."""
PLACEMENTS_PER_SECOND = 100_000
"""Plates placed in the search for an order, per second asked for."""
RATED_ON = 300
"""Lives by which sets of plates are compared."""
HALF_A_POINT = 0.005
"""Less than the error of counting 2,000 lives, which is 0.7 points at 90 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """What a plan for wanted odds holds out, and what it costs against the plain plan.

    `odds`: everything in number by the deadline (without one: ever). `at`: when all is there
    with the odds `wanted`, None if never in the hours given. The plain plan is the one without
    wanted odds: `plain_odds` are its odds, `later_s` is how much later this plan ends if all
    goes well, `more_plates`, `more_copies` and `more_g` what it prints more. Where the odds are
    not reached: `at_with_days` is when they would be if the hours of the last day came again
    on the days after, and `without` are plates without which the rest reaches them.
    """

    wanted: float
    odds: float
    at: datetime | None
    plain_odds: float
    later_s: float
    more_plates: int
    more_copies: int
    more_g: float
    at_with_days: datetime | None
    without: tuple[str, ...]

    @property
    def kept(self) -> bool:
        """Whether the wanted odds are reached by the deadline, to the whole point."""
        return self.odds >= self.wanted - HALF_A_POINT


class Confident(NamedTuple):
    """Parts with their spares, plates, weekend, and what is promised of them."""

    parts: tuple[ReadyPart, ...]
    plates: PlateSet
    weekend: WeekendPlan
    hours: HoursWon
    promise: Promise | None


class _Try(NamedTuple):
    """Parts with their spares, plates for them and a weekend for the plates."""

    parts: tuple[ReadyPart, ...]
    plates: PlateSet
    weekend: WeekendPlan


def confident_weekend(
    job: Job,
    parts: Sequence[ReadyPart],
    *,
    seconds: float,
    seed: int,
    workers: Workers = in_turn,
    progress: Progress = silent,
) -> Confident:
    """Plan for the odds that the job wants of its finish; without any, for the earliest finish.

    Plates are tried with the spares of the job and with those that are worth it; of all sets
    that are tried for the hours, the best for these odds are put in the order that is surest.
    Compared is on lives that the promise is not worked out from: else luck would be taken for
    merit.
    """
    plan = partial(
        plates_for_the_hours, seconds=seconds, seed=seed, workers=workers, progress=progress
    )
    chosen = plan(job, parts)
    plain = _Try(tuple(parts), chosen.plates, chosen.weekend)
    wanted = job.finish_confidence
    if wanted is None:
        return Confident(*plain, chosen.hours, None)
    tried = _tries(parts, chosen)
    spared = _spared(job, plain, seed + 2)
    if [r.need.to_print for r in spared] != [r.need.to_print for r in parts]:
        tried += _tries(spared, plan(job, spared))
    best = _surest(job, tried, seconds=seconds, seed=seed, workers=workers, progress=progress)
    plates, finish = len(best.plates.plates), best.weekend.finish
    hours = replace(chosen.hours, plates=plates, finish=finish, missing=_missing(best))
    return Confident(*best, hours, _promise(job, plain, best, seed))


def _tries(parts: Sequence[ReadyPart], chosen: Chosen) -> list[_Try]:
    both = ((chosen.plates, chosen.weekend), *chosen.tried)
    return [_Try(tuple(parts), *each) for each in both]


def _spared(job: Job, plain: _Try, seed: int) -> tuple[ReadyPart, ...]:
    """Return the parts with the spares that are worth it in the plain plan."""
    plates = plain.plates.plates
    lived = weekend_lived(job, plates, plain.weekend, seed=seed, ask_why=False)
    advice = spare_advice(job, plain.parts, plates, plain.weekend, lived)
    return plain.parts if advice is None else spared_as(job, plain.parts, advice)


def _surest(
    job: Job,
    tried: Sequence[_Try],
    *,
    seconds: float,
    seed: int,
    workers: Workers,
    progress: Progress,
) -> _Try:
    """Put the best of what was tried in a surer order; return the best of all."""
    keys = list(workers(partial(_key, job, seed + 2), tried))
    ranked = sorted(range(len(tried)), key=lambda at: (keys[at], at))
    kept = [tried[at] for at in ranked[:KEPT]]
    finals = list(kept)
    progress("surest order", 0, len(kept))
    for done, each in enumerate(workers(partial(_reordered, job, seconds, seed + 1), kept), 1):
        finals.append(each)
        progress("surest order", done, len(kept))
    keys = list(workers(partial(_key, job, seed + 3), finals))
    return finals[keys.index(min(keys))]


def _reordered(job: Job, seconds: float, seed: int, tried: _Try) -> _Try:
    failures = job.plate_failures
    weekend = surest_order(
        weekend_of(job, tried.plates.plates, tried.plates.left_out),
        tried.weekend,
        ranges_s={plate.id: plate.ranges_s for plate in tried.plates.plates},
        rates=Rates(first_layer=failures.first_layer, per_hour=failures.per_hour),
        # Surer than asked for: what is short of good copies in the end wants time as well.
        wanted=(1.0 + (job.finish_confidence or 0.0)) / 2,
        placements=int(seconds * PLACEMENTS_PER_SECOND),
        seed=seed,
    )
    return tried._replace(weekend=weekend)


def _missing(tried: _Try) -> int:
    return copies_missing(tried.plates.plates, tried.plates.left_out, tried.weekend)


def _key(job: Job, seed: int, tried: _Try) -> tuple[float, ...]:
    """Order plans: odds missing, hour of the wanted odds, copies not printed, plates."""
    wanted = job.finish_confidence or 0.0
    found = _stock(job, tried, seed=seed, trials=RATED_ON)
    if found is None:
        return (wanted, inf, _missing(tried), 0)
    at_s = found.sure_s(wanted)
    return (
        max(0.0, wanted - found.odds_by(found.due_s)),
        inf if at_s is None else at_s // (HOUR_S / 4),  # minutes are not worth a visit more
        _missing(tried),
        len(tried.plates.plates),
    )


def _stock(job: Job, tried: _Try, *, seed: int, trials: int | None = None) -> Stock | None:
    plates = tried.plates.plates
    lived = weekend_lived(job, plates, tried.weekend, seed=seed, trials=trials, ask_why=False)
    return None if lived is None else Stock(job, tried.parts, plates, lived)


def _promise(job: Job, plain: _Try, best: _Try, seed: int) -> Promise | None:
    """Work out what the plan holds out, on lives that it was not chosen by."""
    wanted = job.finish_confidence or 0.0
    plates, stock = best.plates.plates, _stock(job, best, seed=seed)
    if stock is None:
        return None
    plain_stock = _stock(job, plain, seed=seed)
    odds = stock.odds_by(stock.due_s)
    kept = odds >= wanted - HALF_A_POINT
    return Promise(
        wanted=wanted,
        odds=odds,
        at=_at(job, stock),
        plain_odds=0.0 if plain_stock is None else plain_stock.odds_by(stock.due_s),
        later_s=_later_s(plain.weekend, best.weekend),
        more_plates=len(plates) - len(plain.plates.plates),
        more_copies=_copies(best.parts) - _copies(plain.parts),
        more_g=sum(p.grams for p in plates) - sum(p.grams for p in plain.plates.plates),
        at_with_days=None if kept else _at(job, _stock(extended(job), best, seed=seed)),
        without=() if kept else fewer_plates(stock.lived, wanted),
    )


def _at(job: Job, stock: Stock | None) -> datetime | None:
    """Return when the wanted odds are reached."""
    at_s = None if stock is None else stock.sure_s(job.finish_confidence or 0.0)
    return None if at_s is None else local_time(job.start, at_s)


def _copies(parts: Sequence[ReadyPart]) -> int:
    return sum(ready.need.to_print for ready in parts)


def _later_s(plain: WeekendPlan, best: WeekendPlan) -> float:
    if plain.finish is None or best.finish is None:
        return 0.0
    return (best.finish - plain.finish).total_seconds()


def for_odds(job: Job, wanted: float | None) -> Job:
    """Return the job with other wanted odds of its finish, if any are given."""
    return job if wanted is None else replace(job, finish_confidence=wanted)
