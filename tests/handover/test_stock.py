"""Odds that all is there in number in time, against closed forms; spares held against them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from planner.handover.spares import spare_advice
from planner.handover.stock import HEAT_UP_S, Stock
from planner.handover.surely import extended, fewer_plates
from planner.job.load import load_job
from planner.job.model import Blocked, Window
from planner.job.resolve_blocked import MAINTENANCE, QUIET
from planner.schedule.odds.model import Lived
from planner.shipped import workshop_dir

HOUR = 3600.0
TRIALS = 2000
START = datetime(2026, 11, 27, 18, tzinfo=UTC)


def window(begin_h: float, end_h: float) -> Window:
    """Return a window in hours after the start."""
    begin, end = (START + timedelta(hours=hours) for hours in (begin_h, end_h))
    return Window(who="ada", start=begin, end=end)


def job(*, failure_rate=0.1, machines=1, attendance=((0.0, 100.0),), unattended=True, blocked=()):
    """Return what is asked of a job here."""
    return SimpleNamespace(
        start=START,
        deadline=None,
        time_zone="UTC",
        failure_rate=failure_rate,
        hands_on_s=480.0,
        machines=[SimpleNamespace(unattended=unattended, blocked=blocked)] * machines,
        attendance=tuple(window(*each) for each in attendance),
        spools=[
            SimpleNamespace(
                name="s", filament=SimpleNamespace(material="pla"), colour="grey", left_g=1000.0
            )
        ],
    )


def part(name: str, needed: int, spares: int, *, copy_h: float = 0.5, grams: float = 10.0):
    """Return a part that is ready to be printed."""
    return SimpleNamespace(
        part=SimpleNamespace(
            name=name, colour="grey", settings=SimpleNamespace(material="pla"), stage=1
        ),
        need=SimpleNamespace(needed=needed, spares=spares),
        times={"p": SimpleNamespace(middle_s=copy_h * HOUR)},
        grams=grams,
    )


def lived(ends_h, due_h):
    """Return weekends that end so, one plate each ("P0", ...)."""
    plates = len(ends_h[0])
    return Lived(
        start=START,
        due_s=None if due_h is None else due_h * HOUR,
        plates=tuple(f"P{n}" for n in range(plates)),
        ends_s=tuple(
            tuple(None if end is None else round(end * HOUR) for end in ends) for ends in ends_h
        ),
        failures=({},) * len(ends_h),
        no_filament=0,
        saved={},
        saved_all=0,
    )


def plates(*counts):
    return [SimpleNamespace(id=f"P{n}", counts=each) for n, each in enumerate(counts)]


def sigmas(share: float, expected: float) -> float:
    return abs(share - expected) / sqrt(max(1e-9, expected * (1 - expected)) / TRIALS)


@pytest.mark.parametrize("spares", [0, 1, 3])
def test_validation_without_time_to_print_again_odds_are_binomial(spares):
    """One plate, done at the deadline: enough of its copies are good, or it is too late."""
    hooks = part("hook", 10, spares)
    stock = Stock(job(), [hooks], plates({"hook": 10 + spares}), lived([[5.0]] * TRIALS, 5.0))

    assert sigmas(stock.odds(stock.none), binom.sf(9, 10 + spares, 0.9)) < 4


def test_other_lives_have_other_bad_copies():
    """What is chosen on the luck of some lives is promised on that of others."""
    ends = lived([[5.0]] * TRIALS, 5.0)
    found = [
        Stock(job(), [part("hook", 10, 1)], plates({"hook": 11}), replace(ends, seed=seed))
        for seed in (0, 1, 2)
    ]
    done_s = [stock.done_s(stock.none) for stock in found]

    assert not any(np.array_equal(done_s[0], other) for other in done_s[1:])
    assert all(sigmas(stock.odds(stock.none), binom.sf(9, 11, 0.9)) < 4 for stock in found)


def test_validation_kinds_fail_by_themselves():
    """The odds of two kinds are the product of theirs."""
    kinds = [part("hook", 8, 1), part("key", 5, 0)]
    stock = Stock(job(), kinds, plates({"hook": 9, "key": 5}), lived([[5.0]] * TRIALS, 5.0))

    expected = binom.sf(7, 9, 0.9) * binom.sf(4, 5, 0.9)
    assert sigmas(stock.odds(stock.none), expected) < 4


def test_validation_there_is_time_for_as_many_again_as_the_hours_hold():
    """At 5 h it shows what is short; until 7 h there is time for three copies of half an hour."""
    hooks = [part("hook", 10, 0)]
    stock = Stock(job(), hooks, plates({"hook": 10}), lived([[5.0]] * TRIALS, 7.0))

    assert 2 * HOUR < 3 * 0.5 * HOUR + 480 + HEAT_UP_S + 0.5 * HOUR
    assert sigmas(stock.odds(stock.none), binom.cdf(3, 10, 0.1)) < 4


def test_somebody_must_be_there_to_begin_again():
    """Nobody comes between 4 h and 20 h, so whatever is short is done after that."""
    hooks = [part("hook", 10, 0)]
    alone = job(attendance=((0.0, 4.0), (20.0, 30.0)))
    stock = Stock(alone, hooks, plates({"hook": 10}), lived([[5.0]] * TRIALS, 40.0))
    done_h = np.unique(stock.done_s(stock.none)) / HOUR

    assert done_h[0] == 5.0
    assert done_h[1] == pytest.approx(20 + (0.5 * HOUR + 480 + HEAT_UP_S) / HOUR)


def test_nothing_is_printed_again_in_quiet_hours():
    """Somebody is always there; from 5 h to 15 h and from 15.5 h to 20 h no printer may run."""
    rests = tuple(
        Blocked(start=START + timedelta(hours=a), end=START + timedelta(hours=b), why=QUIET)
        for a, b in ((5.0, 15.0), (15.5, 20.0))
    )
    hooks = [part("hook", 10, 0)]
    stock = Stock(job(blocked=rests), hooks, plates({"hook": 10}), lived([[5.0]] * TRIALS, 40.0))
    done_h = np.unique(stock.done_s(stock.none)) / HOUR

    assert done_h[0] == 5.0
    assert done_h[1] == pytest.approx(20 + (0.5 * HOUR + 480 + HEAT_UP_S) / HOUR)


def test_a_watched_printer_prints_again_only_while_somebody_stays():
    """Two hours of presence are too short for a copy of three."""
    hooks = [part("hook", 2, 0, copy_h=3.0)]
    short = job(attendance=((0.0, 5.0), (6.0, 8.0)), unattended=False)
    stock = Stock(short, hooks, plates({"hook": 2}), lived([[5.0]] * TRIALS, None))

    assert sigmas(stock.odds(stock.none), 0.81) < 4


def test_a_plate_that_never_comes_out_is_never_in_time():
    hooks = [part("hook", 1, 0)]
    ends = [[5.0]] * (TRIALS // 2) + [[None]] * (TRIALS // 2)
    stock = Stock(job(failure_rate=0.0), hooks, plates({"hook": 1}), lived(ends, None))

    assert stock.odds(stock.none) == 0.5
    assert stock.sure_s(0.5) == 5 * HOUR
    assert stock.sure_s(0.51) is None


@given(st.lists(st.floats(1, 20), min_size=20, max_size=20), st.floats(0.1, 0.9))
@settings(max_examples=25)
def test_the_promised_hour_is_later_the_surer_it_is(ends_h, wanted):
    hooks = [part("hook", 4, 1)]
    stock = Stock(job(), hooks, plates({"hook": 5}), lived([[end] for end in ends_h], 10.0))
    at, surer = stock.sure_s(wanted), stock.sure_s(min(0.99, wanted + 0.1))

    assert at is not None
    assert stock.odds_by(at) >= wanted - 1e-9
    assert surer is None or surer >= at


def advice(hooks, *, due_h, end_h=5.0, left_g=1000.0, rate=0.1):
    """Return the advice on spares of a weekend that always ends at the same hour."""
    count = hooks.need.needed + hooks.need.spares
    return spare_advice(
        job(failure_rate=rate),
        [hooks],
        plates({"hook": count}),
        SimpleNamespace(spool_left_g=(("s", left_g),)),
        lived([[end_h]] * TRIALS, due_h),
    )


def test_spares_are_worth_it_where_there_is_no_time_afterwards():
    """Quick copies, and a deadline that leaves time for them but not for another plate."""
    found = advice(part("hook", 10, 0, copy_h=0.02), due_h=5.3)
    (row,) = found.rows

    assert row.worth >= 2
    assert row.one_more == pytest.approx(binom.sf(9, 11, 0.9) - 0.9**10, abs=0.05)
    assert found.odds_if_worth > 0.95 > found.odds
    assert found.more_g == pytest.approx(row.worth * 10.0)


def test_no_spares_are_worth_it_where_bad_copies_can_be_printed_again():
    found = advice(part("hook", 10, 4), due_h=50.0)

    assert found.rows[0].worth == 0
    assert found.odds == found.odds_if_worth == 1.0
    assert found.more_g == -40.0


def test_no_spare_is_advised_that_no_spool_can_feed():
    found = advice(part("hook", 10, 0, copy_h=0.02), due_h=5.3, left_g=15.0)

    assert found.rows[0].worth == 1


def test_kinds_of_any_colour_share_the_spools_of_those_that_ask_for_one():
    """15 g of grey are one spare of 10 g, for grey hooks or for keys of any colour."""
    hooks, keys = part("hook", 10, 0, copy_h=0.02), part("key", 10, 0, copy_h=0.02)
    keys.part.colour = None
    found = spare_advice(
        job(),
        [hooks, keys],
        plates({"hook": 10, "key": 10}),
        SimpleNamespace(spool_left_g=(("s", 15.0),)),
        lived([[5.0]] * TRIALS, 5.3),
    )

    assert sum(row.worth for row in found.rows) == 1


def test_spares_do_not_stand_in_for_copies_on_no_plate():
    """Nine of ten hooks are printed: never are ten there, and no spare is called worth it."""
    found = spare_advice(
        job(),
        [part("hook", 10, 0, copy_h=0.02)],
        plates({"hook": 9}),
        SimpleNamespace(spool_left_g=(("s", 1000.0),)),
        lived([[5.0]] * TRIALS, 50.0),
    )

    assert found.odds == found.odds_if_worth == 0.0
    assert found.rows[0].worth == 0


def test_copies_that_are_never_bad_need_no_spares():
    found = advice(part("hook", 10, 2), due_h=5.3, rate=0.0)

    assert found.rows[0].worth == 0


def test_the_last_day_comes_again():
    """Friday evening and Saturday: Saturday's two windows are repeated, the deadline goes."""
    hours = job(attendance=((0.0, 4.0), (14.0, 18.0), (20.0, 24.0))).attendance
    sample = load_job(workshop_dir() / "job.yaml")
    longer = extended(replace(sample, attendance=hours, time_zone="UTC"))

    begins = [(w.start - START).total_seconds() / HOUR for w in longer.attendance]
    assert longer.deadline is None
    assert begins == [0.0, 14.0, 20.0, 38.0, 44.0, 62.0, 68.0, 86.0, 92.0]


def test_quiet_hours_come_again_with_the_last_day_and_maintenance_does_not():
    """Saturday's night from 22:00 on, three times more; known already is the one after."""
    begin = START + timedelta(hours=4)
    nights = tuple(
        Blocked(start=begin + timedelta(days=d), end=begin + timedelta(days=d, hours=9), why=QUIET)
        for d in range(3)
    )
    upkeep = Blocked(start=begin + timedelta(days=1), end=nights[1].end, why=MAINTENANCE)
    sample = load_job(workshop_dir() / "job.yaml")
    machine = replace(sample.machines[0], blocked=(*nights, upkeep))
    hours = job(attendance=((0.0, 4.0), (14.0, 18.0))).attendance
    longer = extended(
        replace(sample, attendance=hours, time_zone="UTC", machines=(machine,))
    ).machines[0]

    quiet = {b.start - begin for b in longer.blocked if b.why == QUIET}
    assert quiet == {timedelta(days=days) for days in range(5)}
    assert [b for b in longer.blocked if b.why == MAINTENANCE] == [upkeep]


def test_the_plates_go_without_which_the_rest_is_sure():
    """P1 is late in a third of the weekends, P0 in a tenth, mostly with P1."""
    ends = [[5.0, 15.0]] * 60 + [[15.0, 15.0]] * 20 + [[5.0, 5.0]] * 120
    found = lived(ends, 10.0)

    assert fewer_plates(found, 0.6) == ()
    assert fewer_plates(found, 0.9) == ("P1",)
