"""Kits against plates, by hand on a small wall."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.handover.kits import in_order_of_kits, kits_ready, urgency, wanted_by
from planner.handover.weekend import weekend_of
from planner.schedule.model import Run, Visit, WeekendPlan
from planner.wall.order.model import Kit

START = datetime(2026, 11, 27, 18, tzinfo=UTC)


def kit(number, **parts):
    """Return a bag of parts."""
    return Kit(
        number=number, name=f"kit {number}", wall="", cells=(), parts=tuple(sorted(parts.items()))
    )


def plate(name, kind="batch", **counts):
    """Return what the handover of kits reads of a plate."""
    return SimpleNamespace(id=name, kind=kind, counts=counts)


def weekend(*ends_h):
    """Return runs of P1, P2, ... that end after so many hours, each taken off 8 min later."""
    ends = [START + timedelta(hours=h) for h in ends_h]
    return WeekendPlan(
        runs=tuple(
            Run(
                plate=f"P{n}",
                machine="bench",
                spool="grey",
                start=START,
                end=end,
                hands_on_s=480,
                alone_s=0,
            )
            for n, end in enumerate(ends, 1)
        ),
        visits=tuple(
            Visit(
                at=end,
                until=end + timedelta(minutes=8),
                who="crew",
                machine="bench",
                take_off=f"P{n}",
                start=None,
                spool=None,
                change_spool=False,
            )
            for n, end in enumerate(ends, 1)
        ),
        unscheduled=(),
        finish=None,
        lower_bound=None,
        bound_by="",
        spool_left_g=(),
    )


@pytest.fixture
def small(job):
    """Return a job with panels (2 in stock), keys, and a shelf of two panels."""
    parts = {name: replace(job.parts[name], stock=0) for name in ("panel", "key")}
    parts["panel"] = replace(parts["panel"], stock=2)
    shelf = replace(
        job.assemblies["shelf"], name="shelf", contains={"panel": 2}, stock=0, quantity=0
    )
    return replace(job, parts=parts, assemblies={"shelf": shelf}, start=START)


KITS = (kit(1, panel=3, key=2), kit(2, panel=3, key=3), kit(3, shelf=1))


def test_kits_add_up_and_assemblies_are_taken_apart(small):
    """The third kit's shelf is two panels more."""
    assert [dict(wanted) for wanted in wanted_by(small, KITS)] == [
        {"panel": 3, "key": 2},
        {"panel": 6, "key": 5},
        {"panel": 8, "key": 5},
    ]


def test_plates_are_urgent_by_the_first_kit_that_waits_for_them(small):
    """Two panels are in stock, so four more end kit 2; the next four end kit 3; then spares."""
    plates = [
        plate("F1", "first article", key=1),
        plate("P1", panel=4),
        plate("P2", panel=4),
        plate("P3", panel=4),
        plate("P4", key=4),
    ]

    assert urgency(plates, wanted_by(small, KITS), {"panel": 2}) == (0, 0, 2, 3, 0)


def test_a_kit_is_complete_when_its_last_plate_is_off(small):
    """Kit 1 waits for P2 (keys); kit 2 for P3, which ends first but is not enough; kit 3 too."""
    plates = [plate("P1", panel=4), plate("P2", key=5), plate("P3", panel=2)]

    ready = kits_ready(small, KITS, plates, weekend(2.0, 5.0, 9.0))

    minutes = timedelta(minutes=8)
    assert [one.at for one in ready] == [
        START + timedelta(hours=5) + minutes,
        START + timedelta(hours=5) + minutes,
        START + timedelta(hours=9) + minutes,
    ]
    assert ready[0].plates == ("P1", "P2")


def test_what_no_plate_brings_is_missing(small):
    """Without keys no kit is complete, and the kits say how many they miss."""
    ready = kits_ready(small, KITS, [plate("P1", panel=9)], weekend(2.0))

    assert [one.at for one in ready] == [None, None, None]
    assert [dict(one.missing) for one in ready] == [{"key": 2}, {"key": 5}, {"key": 5}]


def test_stock_alone_is_ready_at_once(small):
    """A kit that stock fills waits for nothing."""
    ready = kits_ready(small, (kit(1, panel=2),), [], weekend())

    assert (ready[0].at, ready[0].plates) == (START, ())


@given(st.lists(st.integers(1, 4), min_size=1, max_size=6), st.integers(0, 8))
def test_urgency_never_falls_along_plates_of_one_part(counts, stock):
    """Plates of one part fill the kits from the first on."""
    plates = [plate(f"P{n}", panel=count) for n, count in enumerate(counts)]
    wanted = [{"panel": total} for total in (2, 5, 9)]

    first = urgency(plates, wanted, {"panel": stock})

    assert list(first) == sorted(first)


def test_kits_drive_the_order_of_the_weekend(small):
    """With kits a plate is as urgent as the first kit that waits for it; else as its stage."""
    plates = [
        SimpleNamespace(
            **vars(plate(name, panel=4)),
            seconds={},
            material="pla",
            colour=None,
            grams=1.0,
            gate=(),
            stage=7,
        )
        for name in ("P1", "P2", "P3")
    ]
    driven = in_order_of_kits(small, KITS)

    assert [task.priority for task in weekend_of(small, plates).tasks] == [7, 7, 7]
    assert [task.priority for task in weekend_of(driven, plates).tasks] == [0, 2, 3]
