"""Changes to a job: each does what it says and nothing else."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.handover.coarser import may_be_coarser
from planner.job.change import Change
from planner.job.demand import needs
from planner.job.load import load_job
from planner.shipped import workshop_dir
from planner.whatif.apply import changed

TWO_H = timedelta(hours=2)
SAMPLE = load_job(workshop_dir() / "job.yaml")


@pytest.fixture(scope="module")
def job():
    """Return the sample workshop: Friday evening, Saturday in two shifts, Sunday to 20:00."""
    return SAMPLE


def test_an_empty_change_is_none(job):
    assert changed(job, Change(name="nothing")) == job


def test_sleeping_in_moves_mornings_only(job):
    later = changed(job, Change(name="x", mornings_later_h=2.0))
    moved = [
        after.start - before.start
        for before, after in zip(job.attendance, later.attendance, strict=True)
    ]

    assert moved == [timedelta(0), TWO_H, timedelta(0), TWO_H]
    assert [w.end for w in later.attendance] == [w.end for w in job.attendance]


def test_a_morning_that_is_slept_through_is_gone(job):
    later = changed(job, Change(name="x", mornings_later_h=6.0))

    assert [w.who for w in later.attendance] == ["evening crew", "afternoon crew", "sunday crew"]


def test_longer_evenings_move_the_last_ones_of_each_day(job):
    longer = changed(job, Change(name="x", evenings_longer_h=2.0))
    moved = {
        after.who: after.end - before.end
        for before, after in zip(job.attendance, longer.attendance, strict=True)
    }

    assert moved == {
        "evening crew": TWO_H,
        "breakfast crew": timedelta(0),
        "afternoon crew": TWO_H,
        "sunday crew": TWO_H,
    }


@given(st.floats(-12, 12), st.floats(-12, 12))
def test_no_window_ever_runs_backwards(morning, evening):
    other = changed(SAMPLE, Change(name="x", mornings_later_h=morning, evenings_longer_h=evening))

    assert all(window.start < window.end for window in other.attendance)


def test_coarser_layers_go_where_the_nozzle_lays_them(job):
    coarse = changed(job, Change(name="x", layer_mm=0.28))
    for name, part in job.parts.items():
        settings = coarse.parts[name].settings
        assert settings.layer_mm == (0.28 if may_be_coarser(job, part, 0.28) else 0.2)
        assert settings.first_layer_mm >= settings.layer_mm or settings.layer_mm == 0.2
    # 0.4 mm of nozzle lays no 0.36 mm: at most 80 % of it (planner/audit/rules/bead.py).
    assert changed(job, Change(name="x", layer_mm=0.36)).parts == job.parts


def test_finer_layers_are_left_alone(job):
    assert changed(job, Change(name="x", layer_mm=0.1)).parts == job.parts


def test_spares_are_those_asked_for(job):
    none = needs(changed(job, Change(name="x", spares=0)))
    some = needs(changed(job, Change(name="x", spares_of=(("hanger", 5),))))

    assert sum(need.spares for need in none) == 0
    assert {need.part: need.spares for need in some}["hanger"] == 5


def test_what_is_left_out_is_not_printed_with_all_that_only_it_needs(job):
    """Without the big bin no bin_large; hangers are still needed by others."""
    other = needs(changed(job, Change(name="x", without=("big_bin", "spoke_holder"))))
    to_print = {need.part: need.needed for need in other}

    assert (to_print["bin_large"], to_print["spoke_holder"]) == (0, 0)
    assert to_print["hanger"] == 16


def test_printers_spools_and_hours_come_on_top(job):
    machine, spool, window = job.machines[0], job.spools[0], job.attendance[0]
    other = changed(
        job, Change(name="x", printers=(machine,), spools=(spool,), attendance=(window,))
    )

    assert len(other.machines) == len(job.machines) + 1
    assert len(other.spools) == len(job.spools) + 1
    assert len(other.attendance) == len(job.attendance) + 1


def test_running_alone_is_for_all_printers(job):
    other = changed(job, Change(name="x", unattended=True))

    assert all(machine.unattended for machine in other.machines)
