"""Which direction is recommended: near the best factor, and never beaten in every respect."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from planner.strength.choose import best_first, costs, practical, reason_of, with_pareto
from planner.strength.model import Direction

PLAIN = Direction(
    name="+z",
    up=(0.0, 0.0, 1.0),
    layer_tension_mpa=1.0,
    layer_shear_mpa=1.0,
    safety_factor=4.0,
    safety_range=(2.0, 6.0),
    governed_by="across layers",
    weakest_mm=(0.0, 0.0, 0.0),
    support_mm3=0.0,
    height_mm=10.0,
    contact_mm2=100.0,
    stable=True,
    time_s=3600.0,
)


def direction(name, **changes):
    return replace(PLAIN, name=name, **changes)


@st.composite
def several(draw):
    """Return up to twelve directions with few different values, so that ties are common."""
    pick = {
        "safety_factor": st.sampled_from([1.0, 1.7, 1.85, 2.0]),
        "support_mm3": st.sampled_from([0.0, 40.0, 900.0]),
        "visible_overhang_mm2": st.sampled_from([0.0, 30.0]),
        "time_s": st.sampled_from([600.0, 3600.0, None]),
        "height_mm": st.sampled_from([5.0, 50.0]),
        "stable": st.booleans(),
        "fits": st.booleans(),
    }
    count = draw(st.integers(1, 12))
    timed = draw(st.booleans())
    made = []
    for number in range(count):
        values = {name: draw(each) for name, each in pick.items()}
        values["time_s"] = (values["time_s"] or 60.0) if timed else None
        made.append(direction(f"d{number:02}", **values))
    return made


@given(several())
def test_the_first_is_near_the_best_and_beaten_by_none(found):
    """Within 10 % of the best factor, and Pareto-optimal as told from the definition."""
    marked = with_pareto(found)
    first = best_first(marked, marked[0])[0]

    assert first.safety_factor >= 0.9 * max(one.safety_factor for one in found)
    assert first.pareto
    own = (-first.safety_factor, *costs(first))
    for other in marked:
        theirs = (-other.safety_factor, *costs(other))
        no_worse = all(a <= b for a, b in zip(theirs, own, strict=True))
        assert not (no_worse and theirs != own)


@given(several())
def test_the_practical_one_stands_or_is_the_one_given(found):
    """It needs no more support than the one given, but for hardly any, and bears no less."""
    given_ = found[0]
    chosen = practical(best_first(found, given_), given_, volume_mm3=1000.0)

    if chosen != given_:
        assert chosen.stable
        assert chosen.support_mm3 <= max(given_.support_mm3, 20.0)
        if given_.stable and given_.fits:
            assert chosen.safety_factor >= 0.9 * given_.safety_factor


def test_what_decides_among_equals():
    """Fitting, standing, then support, then overhang in sight, then time, then height."""
    outside = direction("o", fits=False)
    tilted = direction("t", stable=False)
    propped = direction("p", support_mm3=500.0)
    seen = direction("s", visible_overhang_mm2=50.0)
    slow = direction("l", time_s=7200.0)
    high = direction("h", height_mm=90.0)

    order = best_first([outside, tilted, propped, seen, slow, high, PLAIN], tilted)

    assert [one.name for one in order] == ["+z", "h", "l", "s", "p", "t", "o"]


def test_of_those_that_cost_the_same_the_stronger_comes_first():
    """Both near the best: nothing else tells them apart."""
    weaker, stronger = direction("a", safety_factor=3.9), direction("b")

    assert best_first([weaker, stronger], weaker) == [stronger, weaker]


def test_of_equals_the_one_as_given_comes_first():
    """Nobody is sent to turn a part for nothing."""
    one, other = direction("a"), direction("b")

    assert best_first([one, other], other)[0] == other
    assert practical([one, other], other, 1000.0) == other


def test_what_fits_no_bed_is_not_practical():
    """Twice as strong, but longer than any bed: the one as given it is."""
    long = direction("+x", safety_factor=9.0, fits=False)

    assert practical([long, PLAIN], PLAIN, 1000.0) == PLAIN


def test_a_tilt_is_not_practical():
    """The best on a slope, propped up: told as such, but the part is not to be turned so."""
    flat = direction("+x", safety_factor=3.0)
    slope = direction("[0.7, 0, 0.7]", safety_factor=5.0, stable=False, support_mm3=9000.0)
    own = direction("+z", safety_factor=1.5)
    order = best_first([own, slope, flat], own)

    assert order[0] == slope
    assert practical(order, own, 10_000.0) == flat
    reason = reason_of(order, own, flat)
    assert reason == (
        "[0.7, 0, 0.7] up bears 5 times the load, does not stand by itself, needs 9 cm3 of support "
        "and shows no overhang; +x up, the best that stands with little support, bears 3 times; "
        "+z up bears 3.3 times less"
    )
