"""The load of each screw in the wall, by hand."""

from __future__ import annotations

from math import hypot

import pytest

from planner.errors import InputError
from planner.strength.fixings import CAUTIONS, Fixing, Hung, wall_load

PAIRS = [Fixing(x_mm=x, y_mm=y) for y in (20, 120) for x in (0, 100)]


def test_a_bracket_on_four_screws():
    """200 N at 150 mm about the edge at y = 0: 30 000 Nmm over 2 (20^2 + 120^2) mm2.

    Upper screws 30 000 x 120 / 29 600 = 121.62 N, lower ones 20.27 N, 50 N of shear each.
    """
    found = wall_load(PAIRS, [Hung(force_n=200, out_mm=150)], edge_mm=0, breaking_n=1000)

    upper, lower = found.loads[0], found.loads[-1]
    assert (upper.pull_n, lower.pull_n) == pytest.approx((121.6216, 20.2703), rel=1e-5)
    assert upper.shear_n == lower.shear_n == 50
    assert upper.used == pytest.approx(hypot(50, 121.6216) / 250, rel=1e-5)
    assert found.needed == 3  # 4 x 0.526 = 2.1


def test_a_textbook_bracket():
    """12 kN at 400 mm on two bolts 50 mm and two 375 mm above the edge: 6.29 kN each of the upper.

    W L L2 / 2 (L1^2 + L2^2), and 3 kN of shear each: Khurmi and Gupta, A Textbook of Machine
    Design, chapter on screwed joints, example 11.12, as printed, from memory.
    """
    bolts = [Fixing(x_mm=x, y_mm=y) for y in (50, 375) for x in (0, 100)]

    found = wall_load(bolts, [Hung(force_n=12_000, out_mm=400)], edge_mm=0, breaking_n=1e6)

    assert found.loads[0].pull_n == pytest.approx(6290, abs=5)
    assert found.loads[0].shear_n == pytest.approx(3000)
    assert found.loads[-1].pull_n == pytest.approx(6290 * 50 / 375, abs=5)


def test_pulls_and_loads_balance():
    """Moment of all pulls about the edge is that of all loads; shears add up to the weight."""
    hung = [Hung(force_n=60, out_mm=80), Hung(force_n=25, out_mm=210)]

    found = wall_load(PAIRS, hung, edge_mm=5, breaking_n=800)

    moment = sum(each.pull_n * (each.fixing.y_mm - 5) for each in found.loads)
    assert moment == pytest.approx(60 * 80 + 25 * 210)
    assert sum(each.shear_n for each in found.loads) == pytest.approx(85)


def test_never_fewer_than_two_and_more_as_it_grows():
    """A feather needs two all the same; ten times the load ten times as many."""
    light = wall_load(PAIRS, [Hung(force_n=0.1, out_mm=10)], edge_mm=0, breaking_n=1000)
    heavy = wall_load(PAIRS, [Hung(force_n=2000, out_mm=150)], edge_mm=0, breaking_n=1000)

    assert light.needed == 2
    assert heavy.needed == 22  # 4 x 10 x 0.52597 = 21.04
    assert light.cautions == CAUTIONS


@pytest.mark.parametrize("weight", [0.0, -5.0, float("nan"), float("inf")])
def test_weights_that_are_none_are_refused(weight):
    """One line each."""
    with pytest.raises(InputError, match="weigh"):
        wall_load(PAIRS, [Hung(force_n=weight, out_mm=1)], edge_mm=0, breaking_n=100)


def test_a_wall_part_needs_a_fixing_above_its_edge():
    """Otherwise nothing keeps it from tipping off."""
    with pytest.raises(InputError, match="above"):
        wall_load(PAIRS[:2], [Hung(force_n=5, out_mm=1)], edge_mm=20, breaking_n=100)
