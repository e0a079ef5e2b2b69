"""How many copies: assemblies multiplied through, stock subtracted, spares added."""

from __future__ import annotations

from math import comb

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import binom, nbinom

from planner.job.demand import circle, copies_for, gross_quantities

# Smallest n with P(Bin(n, p) >= k) >= 0.95, computed with scipy.stats.binom.sf (validation).
CHANCES = (0.99, 0.98, 0.95, 0.90, 0.85, 0.80, 0.70, 0.589)
COPIES = {
    1: (1, 1, 1, 2, 2, 2, 3, 4),
    2: (2, 2, 3, 3, 4, 4, 5, 6),
    4: (4, 5, 5, 6, 6, 7, 9, 11),
    6: (7, 7, 7, 8, 9, 10, 12, 15),
    8: (9, 9, 10, 11, 12, 13, 16, 19),
    10: (11, 11, 12, 13, 14, 16, 19, 23),
    12: (13, 13, 14, 16, 17, 19, 22, 27),
    20: (21, 22, 23, 25, 27, 29, 35, 43),
    24: (25, 26, 27, 30, 32, 35, 41, 50),
    50: (52, 53, 56, 60, 64, 69, 81, 98),
    100: (103, 105, 109, 117, 125, 135, 156, 188),
}


@pytest.mark.parametrize("good", COPIES)
def test_copies_agree_with_the_table(good):
    found = [copies_for(good, failure_rate=1 - p, confidence=0.95)[0] for p in CHANCES]

    assert tuple(found) == COPIES[good]


def test_the_anchor_of_ten_good_copies():
    """P = 0.9: 11 and 12 copies give 0.697357 and 0.889130, 13 give 0.965839 (scipy)."""
    assert copies_for(10, failure_rate=0.1, confidence=0.69)[0] == 11
    assert copies_for(10, failure_rate=0.1, confidence=0.889)[0] == 12
    copies, odds = copies_for(10, failure_rate=0.1, confidence=0.9)
    assert copies == 13
    assert odds == pytest.approx(0.965839, abs=5e-7)


@given(
    good=st.integers(1, 5000),
    failure_rate=st.floats(0.0005, 0.9),
    confidence=st.floats(0.5, 0.9999),
)
def test_copies_agree_with_scipy(good, failure_rate, confidence):
    """Validation: scipy's binomial tail and negative binomial quantile, up to 50 000 copies.

    Odds within 1e-10, some hundred times the error of as many additions of doubles; where
    the odds of one copy less come that close to the wanted ones, either count is right.
    """
    copies, odds = copies_for(good, failure_rate=failure_rate, confidence=confidence)

    one_less = binom.sf(good - 1, copies - 1, 1 - failure_rate)
    assume(abs(one_less - confidence) > 1e-10)
    assert odds == pytest.approx(binom.sf(good - 1, copies, 1 - failure_rate), abs=1e-10)
    assert one_less < confidence <= odds + 1e-10
    if odds - confidence > 1e-10:
        assert copies == good + nbinom.ppf(confidence, good, 1 - failure_rate)


@given(good=st.integers(1, 30), failed=st.integers(1, 8), confidence=st.floats(0.5, 0.9999))
def test_odds_agree_with_the_sum_in_whole_numbers(good, failed, confidence):
    """Validation: the binomial sum with failure rate failed/10, exact in integers."""
    copies, odds = copies_for(good, failure_rate=failed / 10, confidence=confidence)

    favourable = sum(
        comb(copies, k) * (10 - failed) ** k * failed ** (copies - k)
        for k in range(good, copies + 1)
    )
    assert odds == pytest.approx(favourable / 10**copies, abs=1e-12)


def test_a_tie_counts_as_reached():
    """One copy with failure rate 0.1 gives exactly 0.9, whatever doubles make of it."""
    assert copies_for(1, failure_rate=0.1, confidence=0.9)[0] == 1
    assert copies_for(2, failure_rate=0.1, confidence=0.81)[0] == 2


def test_no_spares_where_nothing_fails_or_nothing_is_wanted():
    assert copies_for(7, failure_rate=0, confidence=0.99) == (7, 1.0)
    assert copies_for(0, failure_rate=0.5, confidence=0.99) == (0, 1.0)


def test_large_numbers_stay_sound():
    """0.1^5000 is far below the smallest double; the mean of the copies is k / p."""
    copies, odds = copies_for(5000, failure_rate=0.9, confidence=0.5)

    assert copies == pytest.approx(5000 / 0.1, rel=0.01)
    assert 0.5 <= odds < 0.51


# --- assemblies ---------------------------------------------------------------------------


@st.composite
def workshops(draw):
    """Return contains, quantity and stock of up to 8 things, each made of later ones only."""
    size = draw(st.integers(1, 8))
    names = [f"t{k}" for k in range(size)]
    contains = {}
    for k, name in enumerate(names[:-1]):
        inside = draw(st.dictionaries(st.sampled_from(names[k + 1 :]), st.integers(1, 4)))
        if inside:
            contains[name] = inside
    order = draw(st.permutations(list(contains)))
    counts = st.fixed_dictionaries({name: st.integers(0, 5) for name in names})
    return {name: contains[name] for name in order}, draw(counts), draw(counts)


def by_hand(contains, quantity, stock):
    """Take assemblies apart one at a time: build a list of wanted things, use up the stock.

    An assembly on the shelf is used before one is built. The order in which things are
    taken does not matter only if each thing is settled after all of its owners, so the
    thing that no open one contains is settled first.
    """
    wanted = dict(quantity)
    settled = []
    while len(settled) < len(wanted):
        name = next(
            name
            for name in wanted
            if name not in settled
            and not any(name in contains.get(o, {}) for o in wanted if o not in settled)
        )
        settled.append(name)
        shelf = stock[name]
        for _ in range(wanted[name]):
            if shelf > 0:
                shelf -= 1
                continue
            for inside, count in contains.get(name, {}).items():
                for _ in range(count):
                    wanted[inside] += 1
    return wanted


@given(workshops())
def test_gross_quantities_agree_with_taking_apart_by_hand(workshop):
    contains, quantity, stock = workshop
    assume(sum(by_hand_bound(contains, quantity).values()) < 20_000)

    found = gross_quantities(contains, quantity=quantity, stock=stock)

    assert found == by_hand(contains, quantity, stock)


def by_hand_bound(contains, quantity):
    """Count without any stock: an upper bound that keeps the slow way short."""
    return gross_quantities(contains, quantity=quantity, stock=dict.fromkeys(quantity, 0))


def test_stock_of_an_assembly_saves_all_its_parts():
    contains = {"wall": {"bay": 4, "rail": 2}, "bay": {"panel": 6, "rail": 1}}
    quantity = {"wall": 1, "bay": 1, "panel": 0, "rail": 3}
    stock = {"wall": 0, "bay": 2, "panel": 5, "rail": 0}

    found = gross_quantities(contains, quantity=quantity, stock=stock)

    assert found == {"wall": 1, "bay": 5, "panel": 18, "rail": 3 + 2 + 3}


def test_more_stock_than_wanted_never_turns_negative():
    found = gross_quantities({"a": {"b": 3}}, quantity={"a": 1, "b": 0}, stock={"a": 9, "b": 0})

    assert found == {"a": 1, "b": 0}


def test_long_chains_multiply_exactly():
    """2^200 is a whole number, not a double."""
    contains = {f"t{k}": {f"t{k + 1}": 2} for k in range(200)}
    names = [f"t{k}" for k in range(201)]

    found = gross_quantities(
        contains, quantity={**dict.fromkeys(names, 0), "t0": 1}, stock=dict.fromkeys(names, 0)
    )

    assert found["t200"] == 2**200


@given(workshops())
def test_things_made_of_later_ones_have_no_circle(workshop):
    assert circle(workshop[0]) == ()


@pytest.mark.parametrize(
    ("contains", "found"),
    [
        ({"a": {"a": 1}}, ("a", "a")),
        ({"a": {"b": 1}, "b": {"c": 1}, "c": {"a": 2}}, ("a", "b", "c", "a")),
        ({"top": {"bay": 1}, "bay": {"frame": 1}, "frame": {"bay": 1}}, ("bay", "frame", "bay")),
    ],
)
def test_a_circle_is_named_in_full(contains, found):
    assert circle(contains) == found
