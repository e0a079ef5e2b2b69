"""The screws of a bracket, a hook and a ceiling plate, by hand."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import pytest

from planner.errors import InputError
from planner.job.model import Screwed
from planner.strength.hanging import hanging

cube = manifold3d.Manifold.cube

SCREWS = Screwed(
    at_mm=((10.0, 0.0, 80.0), (10.0, 0.0, 20.0)),
    wall=(0.0, -1.0, 0.0),
    rated_n=800.0,
    factor=4.0,
    where="job.yaml:7",
)


@pytest.fixture
def bracket(solid_of):
    """Return a back of 100 mm with an arm at its top that ends 120 mm out of the wall."""
    return solid_of(cube([20, 5, 100]) + cube([20, 120, 5]).translate([0, 0, 95]))


@pytest.fixture
def at_the_end(load):
    """Return a function that loads the end of the arm: 120 mm out, 97.5 mm above the edge."""
    return lambda force, **more: replace(load(force, on="+y", held="-y"), **more)


def test_a_weight_at_the_end_of_an_arm(bracket, at_the_end):
    """100 N at 120 mm about the lower edge: 12 000 Nmm over 80^2 + 20^2 mm2.

    The upper screw is pulled by 12 000 x 80 / 6 800 = 141.2 N, the lower one by 35.3 N; 50 N of
    shear each. The upper one bears 149.8 N of 200 N, so both together do.
    """
    found = hanging(bracket, [at_the_end([0, 0, -100])], SCREWS)

    upper, lower = found.load.loads
    assert found.at_mm == SCREWS.at_mm
    assert (upper.pull_n, lower.pull_n) == pytest.approx((141.18, 35.29), rel=1e-3)
    assert upper.shear_n == lower.shear_n == pytest.approx(50)
    assert found.used == pytest.approx(149.77 / 200, rel=1e-3)
    assert found.needed == 2


def test_the_case_that_asks_most_counts(bracket, at_the_end):
    """Three times the weight, whichever comes first in the list."""
    cases = [at_the_end([0, 0, -300]), at_the_end([0, 0, -100])]

    found = hanging(bracket, cases, SCREWS)

    assert found.case is cases[0]
    assert found.used == pytest.approx(3 * 149.77 / 200, rel=1e-3)
    assert found.needed == 5  # 2 x 2.25 = 4.5


def test_a_pull_outwards_and_a_turn_lengthen_the_lever(bracket, at_the_end):
    """50 N outwards 97.5 mm above the edge, and 2 000 Nmm that tip it off: both add up."""
    plain, pulled, twisted = (
        hanging(bracket, [case], SCREWS).load.loads[0].pull_n
        for case in (
            at_the_end([0, 0, -100]),
            at_the_end([0, 50, -100]),
            at_the_end([0, 0, -100], moment_nmm=(-2000.0, 0.0, 0.0)),
        )
    )

    per_nmm = 80 / 6800
    assert pulled - plain == pytest.approx(50 * 97.5 * per_nmm, rel=1e-3)
    assert twisted - plain == pytest.approx(2000 * per_nmm, rel=1e-3)


def test_a_push_to_the_wall_takes_nothing_off(bracket, at_the_end):
    """It may not always be there: the same as without."""
    plain, pushed = (
        hanging(bracket, [at_the_end(force)], SCREWS) for force in ([0, 0, -9], [0, -99, -9])
    )

    assert pushed.load.loads[0].pull_n == pytest.approx(plain.load.loads[0].pull_n)


def test_from_a_ceiling_all_is_pull(solid_of, load):
    """60 N straight off the ceiling on three screws: 20 N each, and no shear."""
    plate = solid_of(cube([60, 60, 5]))
    screws = replace(
        SCREWS, at_mm=((5.0, 5.0, 5.0), (55.0, 5.0, 5.0), (30.0, 55.0, 5.0)), wall=(0.0, 0.0, 1.0)
    )

    found = hanging(plate, [load([0, 0, -60], on="-z", held="+z")], screws)

    assert [one.pull_n for one in found.load.loads] == pytest.approx([20, 20, 20])
    assert [one.shear_n for one in found.load.loads] == [0, 0, 0]
    assert sorted(found.at_mm) == sorted(screws.at_mm)


def test_a_push_alone_asks_nothing_of_screws(solid_of, load):
    """Leaned against the wall: there is nothing to say."""
    plate = solid_of(cube([60, 5, 60]))

    assert hanging(plate, [load([0, -60, 0], on="+y", held="-y")], SCREWS) is None


def test_screws_below_the_edge_are_refused(bracket, at_the_end):
    """In one line that names the place in the file."""
    low = replace(SCREWS, at_mm=((10.0, 0.0, -5.0),))

    with pytest.raises(InputError, match=r"job.yaml:7: fixings.at: found 1 screws?, none above"):
        hanging(bracket, [at_the_end([0, 0, -100])], low)
