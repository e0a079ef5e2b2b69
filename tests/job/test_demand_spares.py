"""Spare copies that the user asks for, and the odds that they give."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from planner.errors import InputError
from planner.job.demand import copies_for, needs, odds_of_copies
from planner.job.load import load_job

JOB = """\
schema: platewright/job/1
name: hooks
time_zone: UTC
start: 2026-11-27T18:00
failure_rate: 0.1
parts:
  hook: {{mesh: hook.stl, quantity: 10{more}}}
printers:
  - {{name: bench, profile: open_frame_220}}
attendance:
  - {{who: crew, from: 2026-11-27T18:00, to: 2026-11-27T22:00}}
"""


def job(tmp_path, more=""):
    """Return a job of ten hooks; the mesh is never read."""
    (tmp_path / "hook.stl").write_text("solid\nendsolid\n")
    path = tmp_path / "job.yaml"
    path.write_text(JOB.format(more=more))
    return load_job(path)


@given(st.integers(0, 60), st.integers(0, 12), st.sampled_from([0.0, 0.01, 0.2, 0.7]))
def test_validation_odds_of_copies_are_binomial(good, spares, rate):
    """scipy.stats.binom: the chance of at least `good` good ones."""
    ours = odds_of_copies(good, good + spares, failure_rate=rate)

    assert ours == pytest.approx(binom.sf(good - 1, good + spares, 1 - rate), abs=1e-12)


@given(st.integers(1, 60), st.sampled_from([0.01, 0.05, 0.3]), st.sampled_from([0.6, 0.9, 0.99]))
def test_the_fewest_copies_are_what_their_odds_say(good, rate, confidence):
    printed, odds = copies_for(good, failure_rate=rate, confidence=confidence)

    assert odds == pytest.approx(odds_of_copies(good, printed, failure_rate=rate), abs=1e-12)
    assert odds_of_copies(good, printed - 1, failure_rate=rate) < confidence


def test_the_user_may_say_how_many_spares(tmp_path):
    """Else confidence decides: 12 copies give 89 %, 13 give 97 % (binomial)."""
    (asked,) = needs(job(tmp_path, ", spares: 1"))
    (left_to_us,) = needs(job(tmp_path))

    assert (asked.needed, asked.spares, asked.to_print) == (10, 1, 11)
    assert asked.odds == pytest.approx(binom.sf(9, 11, 0.9))
    assert asked.because == "10 by itself; plus 1 spare (as asked)"
    assert left_to_us.to_print == 13


def test_none_is_an_answer_too(tmp_path):
    (need,) = needs(job(tmp_path, ", spares: 0"))

    assert (need.spares, need.because) == (0, "10 by itself")


@pytest.mark.parametrize("more", [", spares: -1", ", spares: 1.5", ", spares: many"])
def test_spares_are_a_count(tmp_path, more):
    with pytest.raises(InputError, match="spares"):
        job(tmp_path, more)


def test_more_spares_than_a_workshop_prints_are_refused(tmp_path):
    with pytest.raises(InputError, match="spares"):
        job(tmp_path, ", spares: 10000")
