"""Seconds per layer, part and plate: closed forms where there are any, and what must hold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st
from manifold3d import Manifold

from planner.layers import sample as sampling
from planner.layers.lay import lay
from planner.layers.model import FEATURES, Layering, Paths, PrintTime
from planner.layers.plate import HOP_S, by_feature_s, plate_range, plate_seconds, waiting_s
from planner.layers.strokes import BRIDGE, BRIM, OUTER, SPARSE, TRAVEL
from planner.layers.timing import time_on
from planner.settings.model import Feature

RELAXED = limits(max_examples=40, deadline=None)


@pytest.fixture(name="block", scope="session")
def block_(posed, settings):
    return lay(posed(Manifold.cube((30, 20, 4))), settings())


def one_layer(code, points, *, rests=(), section=0.09):
    """Make a layering of a single layer whose moves are all of one code."""
    points = np.asarray(points, dtype=float).reshape(-1, 2)
    table = np.zeros((1, len(FEATURES)))
    codes = np.full(len(points), code)
    codes[:1] = TRAVEL
    return Layering(
        z_mm=np.array([0.2]),
        height_mm=np.array([0.2]),
        area_mm2=np.array([1.0]),
        length_mm=table,
        volume_mm3=table,
        moves=table,
        thinnest_mm=np.inf,
        paths=Paths(
            points_mm=points,
            code=codes,
            rests=np.isin(np.arange(len(points)), rests),
            start=np.array([0, len(points)]),
            kind=np.array([0]),
            section_mm2=np.array([section]),
        ),
    )


def test_moves_between_corners_are_trapezoids(settings, printer):
    """Ten moves of 50 mm at 60 mm/s, 500 mm/s2, corners 10 mm/s: worked by hand.

    To and from rest takes 0.12 s and 3.6 mm, to and from a corner 0.1 s and 3.5 mm.
    """
    stairs = 50 * np.array([[(k + 1) // 2, k // 2] for k in range(11)])

    time = time_on(
        one_layer(OUTER, stairs),
        settings(acceleration_mm_s2=500.0, layer_time_min_s=0.0),
        printer(corner_speed_mm_s=10.0),
    )

    end_s, middle_s = 0.12 + 42.9 / 60 + 0.1, 0.1 + 43 / 60 + 0.1
    assert time.middle_s == pytest.approx(2 * end_s + 8 * middle_s, rel=1e-12)


def test_the_melt_limits_the_speed(settings, printer):
    """1000 mm of 0.09 mm2 at 1.8 mm3/s run at 20 mm/s: 50 s and 20 / 1500 s for the ramps."""
    layering = one_layer(SPARSE, [(0, 0), (1000, 0)])
    wanted = settings(layer_time_min_s=0.0)

    by_filament = time_on(layering, wanted, printer(), filament_flow_max_mm3_s=1.8)
    by_printer = time_on(layering, wanted, printer(flow_max_mm3_s=1.8))
    travel = time_on(one_layer(TRAVEL, [(0, 0), (1000, 0)]), wanted, printer(flow_max_mm3_s=1.8))

    assert by_filament.middle_s == pytest.approx(50 + 20 / 1500, rel=1e-12)
    assert by_printer.middle_s == by_filament.middle_s
    assert travel.middle_s == pytest.approx(1000 / 150 + 150 / 1500, rel=1e-12)


def test_travel_rests_at_its_ends_and_retracts(settings, printer):
    """Four travels of 100 mm at 100 mm/s, 1000 mm/s2: 1.1 s and 2 x 0.8 / 40 s each."""
    layering = one_layer(TRAVEL, [(100 * k, 0) for k in range(5)], rests=[1, 2, 3, 4])

    time = time_on(
        layering,
        settings(acceleration_mm_s2=1000.0, layer_time_min_s=0.0),
        printer(speed_max_mm_s=100.0),
    )

    assert time.middle_s == pytest.approx(4 * (1.1 + 0.04), rel=1e-12)


def scattered():
    """Return three blocks and a hole: ways longer and shorter than draw the strand back."""
    blocks = Manifold.cube((12, 12, 2)) + Manifold.cube((6, 6, 1.2)).translate((20, 3, 0))
    return blocks + Manifold.cube((4, 4, 2)).translate((0, 30, 0))


def retracted_ways(layering):
    """Count the ways of all layers, from layer to layer too, for which the strand is drawn back."""
    paths = layering.paths
    within = sum(
        int(np.count_nonzero(paths.rests[paths.start[kind] : paths.start[kind + 1]]))
        for kind in paths.kind.tolist()
    )
    return within + np.count_nonzero(np.hypot(*(paths.entry_mm[1:] - paths.exit_mm[:-1]).T) > 2.0)


@pytest.mark.parametrize(
    "case",
    [
        (0.4, 1500.0, 2 * np.sqrt(0.4 / 100)),  # too short to reach 10 mm/s at 100 mm/s2
        (3.0, 1500.0, 3.0 / 10 + 10 / 100),
        (0.4, 40.0, 2 * np.sqrt(0.4 / 40)),  # a machine weaker than 100 mm/s2
    ],
)
def test_the_head_is_raised_and_lowered_on_every_retracted_way(posed, settings, printer, case):
    """Twice an upright move from rest to rest for each way, all of it travel: closed form."""
    lift_mm, gain, upright_s = case
    plain, machine = settings(layer_time_min_s=0.0), printer(acceleration_max_mm_s2=gain)
    layering = lay(posed(scattered()), plain)
    ways = retracted_ways(layering)

    flat = time_on(layering, plain, machine)
    raised = time_on(layering, replace(plain, lift_mm=lift_mm), machine)

    assert ways > 30
    assert raised.middle_s - flat.middle_s == pytest.approx(ways * 2 * upright_s, rel=1e-9)
    more = (raised.by_layer_s - flat.by_layer_s).sum(axis=0)
    assert more[TRAVEL] == pytest.approx(ways * 2 * upright_s, rel=1e-9)
    assert not np.delete(more, TRAVEL).any()


def test_raising_the_head_changes_no_path(posed, settings):
    """It costs time only: lengths, moves and plastic stay."""
    one, other = (lay(posed(scattered()), settings(lift_mm=lift)) for lift in (0.0, 0.8))

    for name in ("length_mm", "moves", "volume_mm3"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name))


@RELAXED
@given(less=st.floats(0, 20), more=st.floats(0, 20))
def test_raising_the_head_further_is_never_quicker(block, settings, printer, less, more):
    """For a part and for a plate of two; no lift at all is the least."""
    less, more = sorted((less, more))
    flat, low, high = (
        time_on(block, settings(layer_time_min_s=0.0, lift_mm=lift), printer())
        for lift in (0.0, less, more)
    )

    alone = [time.middle_s for time in (flat, low, high)]
    pair = [plate_seconds([(time, 2)]) for time in (flat, low, high)]
    for least, middle, most in (alone, pair):
        assert least <= middle * (1 + 1e-12) <= most * (1 + 2e-12)


def test_bridges_are_slow_and_count_as_solid_fill(settings, printer):
    """300 mm at no more than 30 mm/s, whatever solid fill does."""
    time = time_on(one_layer(BRIDGE, [(0, 0), (300, 0)]), settings(layer_time_min_s=0.0), printer())

    assert time.middle_s == pytest.approx(10 + 30 / 1500, rel=1e-12)
    assert by_feature_s(time)[Feature.SOLID_FILL] == pytest.approx(time.middle_s)


def test_a_layer_that_is_too_short_waits_at_the_floor_speed(settings, printer):
    """100 mm last 10 s at 10 mm/s: of a minimum of 12 s, 2 s are spent waiting."""
    layering = one_layer(OUTER, [(0, 0), (100, 0)])
    length = np.zeros((1, len(FEATURES)))
    length[0, OUTER] = 100.0
    layering = replace(layering, length_mm=length)

    assert waiting_s(time_on(layering, settings(layer_time_min_s=12.0), printer())) == (
        pytest.approx(2.0)
    )
    assert waiting_s(time_on(layering, settings(layer_time_min_s=9.0), printer())) == 0.0


def test_a_short_layer_lasts_its_minimum(block, settings, printer):
    """Twenty layers of at least 300 s last 6000 s; layers that are empty do not wait."""
    time = time_on(block, settings(layer_time_min_s=300.0), printer())
    assert time.middle_s == pytest.approx(20 * 300)

    empty = one_layer(BRIM, [])
    assert time_on(empty, settings(), printer()).middle_s == 0.0


def test_features_add_up_to_the_total(block, settings, printer):
    """Also where the minimum stretches the layers."""
    for least_s in (0.0, 8.0, 300.0):
        time = time_on(block, settings(layer_time_min_s=least_s), printer())

        assert sum(by_feature_s(time).values()) == pytest.approx(time.middle_s, rel=1e-12)


def test_the_range_brackets_the_middle_and_says_why(block, settings, printer):
    """At least the five percent of other paths each way; every doubt is named."""
    time = time_on(block, settings(), printer())
    low, high = time.range_s

    assert low <= 0.95 * time.middle_s
    assert high >= 1.05 * time.middle_s
    for word in ("paths", "acceleration", "corner", "flow"):
        assert any(word in reason for reason in time.reasons), word


def test_the_range_is_that_of_machines_that_differ(block, settings, printer):
    """Each doubt alone is the time on a machine that is quicker or slower by its factor."""
    wanted = settings(layer_time_min_s=0.0, flow_max_mm3_s=6.0)
    machine = printer(acceleration_max_mm_s2=1500.0)
    time = time_on(block, wanted, machine)

    def off(**changes):
        mine = replace(wanted, **{k: v for k, v in changes.items() if hasattr(wanted, k)})
        its = replace(machine, **{k: v for k, v in changes.items() if hasattr(machine, k)})
        return time_on(block, mine, its).middle_s - time.middle_s

    quick = [
        off(acceleration_mm_s2=3000.0, acceleration_max_mm_s2=3000.0),
        off(corner_speed_mm_s=16.0),
        off(flow_max_mm3_s=9.0),
        -0.05 * time.middle_s,
    ]
    slow = [
        off(acceleration_mm_s2=750.0, acceleration_max_mm_s2=750.0),
        off(corner_speed_mm_s=4.0),
        off(flow_max_mm3_s=4.0),
        0.05 * time.middle_s,
    ]
    assert max(quick) <= 0 <= min(slow)
    assert time.range_s[0] == pytest.approx(time.middle_s - np.linalg.norm(quick))
    assert time.range_s[1] == pytest.approx(time.middle_s + np.linalg.norm(slow))


def test_a_sample_of_layers_tells_the_range_of_all(posed, settings, printer, monkeypatch):
    """A cone of 100 kinds of layer, all looked at or every tenth: the ends within 1 %."""
    layering = lay(posed(Manifold.cylinder(20, 15, 6, 40)), settings())
    monkeypatch.setattr(sampling, "MOST_POINTS", 1_000_000)
    whole = time_on(layering, settings(), printer())
    monkeypatch.setattr(sampling, "MOST_POINTS", len(layering.paths.code) // 10)
    part = time_on(layering, settings(), printer())

    assert part.middle_s == whole.middle_s
    assert part.range_s == pytest.approx(whole.range_s, rel=0.01)
    assert part.range_s != whole.range_s


def test_a_sample_passes_on_what_it_gains(posed, settings, monkeypatch):
    """Twice as long in the sample is twice as long in every layer and feature of the part."""
    paths = lay(posed(Manifold.cylinder(20, 15, 6, 40)), settings()).paths
    for most in (1_000_000, len(paths.code) // 10):
        monkeypatch.setattr(sampling, "MOST_POINTS", most)
        few = sampling.sample(paths)
        known_s = np.full((len(few.layers), len(FEATURES)), 3.0)

        assert few.gain(known_s, 2.0 * known_s) == pytest.approx(2.0)


@pytest.mark.parametrize("limit", ["speed_max_mm_s", "acceleration_max_mm_s2"])
def test_the_weaker_of_settings_and_printer_counts(block, settings, printer, limit):
    """A printer that can do less than the settings ask is slower; one that can more is not."""
    fair = {"speed_max_mm_s": 150.0, "acceleration_max_mm_s2": 1500.0}[limit]
    times = [
        time_on(block, settings(layer_time_min_s=0.0), printer(**{limit: factor * fair})).middle_s
        for factor in (0.3, 1.0, 3.0)
    ]

    assert times[0] > times[1] == times[2]


@RELAXED
@given(more=st.floats(1, 4), key=st.sampled_from(["speed", "acceleration", "corner", "flow"]))
def test_a_quicker_machine_is_never_slower(block, settings, printer, more, key):
    """More of any limit, in settings and printer alike, takes no more time."""

    def with_(factor):
        by = {name: factor if name == key else 1.0 for name in ("speed", "acceleration", "flow")}
        own = settings()
        wanted = settings(
            speed_mm_s={f: v * by["speed"] for f, v in own.speed_mm_s.items()},
            acceleration_mm_s2=own.acceleration_mm_s2 * by["acceleration"],
            flow_max_mm3_s=5.0 * by["flow"],
            layer_time_min_s=0.0,
        )
        machine = printer(
            speed_max_mm_s=1000.0,
            acceleration_max_mm_s2=100_000.0,
            flow_max_mm3_s=100.0,
            corner_speed_mm_s=8.0 * (factor if key == "corner" else 1.0),
        )
        return time_on(block, wanted, machine).middle_s

    assert with_(more) <= with_(1.0) * (1 + 1e-12)


def timed(layer_s, least_s=0.0):
    table = np.zeros((len(layer_s), len(FEATURES)))
    table[:, 0] = layer_s
    middle_s = float(sum(max(s, least_s) for s in layer_s))
    return PrintTime(
        by_layer_s=table,
        layer_time_min_s=least_s,
        middle_s=middle_s,
        range_s=(0.9 * middle_s, 1.2 * middle_s),
        reasons=(),
    )


def test_a_plate_adds_layers_not_parts():
    """Worked by hand: 3 parts of 2 s share layer 1 (6 + 3 hops, over 5); one is alone in 2."""
    tall, small = timed([2.0, 2.0], least_s=5.0), timed([2.0], least_s=5.0)

    found = plate_seconds([(tall, 1), (small, 2)])

    assert found == pytest.approx((6 + 3 * HOP_S) + 5.0)


def test_a_part_that_is_not_there_is_not_hopped_to():
    """Worked by hand: its first layer is empty, so 2 hops there and 3 above."""
    found = plate_seconds([(timed([0.0, 2.0]), 1), (timed([2.0, 2.0]), 2)])

    assert found == pytest.approx((4 + 2 * HOP_S) + (6 + 3 * HOP_S))


def test_copies_hop_in_place_of_coming_from_below(block, settings, printer):
    """Two copies: their own layers twice, two hops, and no way from the layer below."""
    time = time_on(block, settings(layer_time_min_s=0.0), printer())

    own_s = time.by_layer_s.sum() - time.ends.arrival_s.sum()
    assert plate_seconds([(time, 2)]) == pytest.approx(2 * own_s + 2 * HOP_S * block.layers)


def test_copies_hop_with_the_head_raised(block, settings, printer):
    """Two copies: to a hop come 2 x (3 / 10 + 10 / 100) s for 3 mm up and down."""
    time = time_on(block, settings(layer_time_min_s=0.0, lift_mm=3.0), printer())

    own_s = time.by_layer_s.sum() - time.ends.arrival_s.sum()
    assert plate_seconds([(time, 2)]) == pytest.approx(2 * own_s + 2 * (HOP_S + 0.8) * block.layers)


def test_one_copy_alone_takes_its_own_time(block, settings, printer):
    """No hop is added; an empty plate takes none."""
    time = time_on(block, settings(), printer())

    assert plate_seconds([(time, 1)]) == pytest.approx(time.middle_s, rel=1e-12)
    assert plate_range([(time, 1)]) == pytest.approx(time.range_s, rel=1e-12)
    assert plate_seconds([]) == 0.0
    assert plate_seconds([(time, 0)]) == 0.0
    assert plate_range([]) == (0.0, 0.0)


LAYERS = st.lists(st.floats(0.01, 50), min_size=1, max_size=8)


@RELAXED
@given(parts=st.lists(st.tuples(LAYERS, st.integers(1, 5)), min_size=1, max_size=5))
def test_a_plate_lies_between_its_longest_part_and_the_sum(parts):
    """Never quicker than any part, never slower than one after the other plus the hops."""
    pairs = [(timed(layers, least_s=6.0), count) for layers, count in parts]

    whole_s = plate_seconds(pairs)

    low_s, high_s = plate_range(pairs)
    hops = sum(count * len(time.by_layer_s) for time, count in pairs)
    assert whole_s >= max(time.middle_s for time, _ in pairs) * (1 - 1e-12)
    assert whole_s <= sum(n * t.middle_s for t, n in pairs) + HOP_S * hops + 1e-9
    assert low_s <= whole_s <= high_s


@RELAXED
@given(parts=st.lists(st.tuples(LAYERS, st.integers(1, 4)), min_size=1, max_size=4))
def test_a_plate_agrees_with_walking_its_layers(parts):
    """A plain loop over layers and parts gives the same (rebuild and compare)."""
    pairs = [(timed(layers, least_s=6.0), count) for layers, count in parts]

    expected = 0.0
    for layer in range(max(len(layers) for layers, _ in parts)):
        here = [(layers[layer], n) for layers, n in parts if layer < len(layers)]
        copies = sum(n for _, n in here)
        hops = copies * HOP_S if copies > 1 else 0.0
        expected += max(6.0, sum(s * n for s, n in here) + hops)

    assert plate_seconds(pairs) == pytest.approx(expected, rel=1e-12)


def test_each_axis_keeps_to_its_own_limits(settings, printer):
    """A 3-4-5 diagonal of 500 mm: y allows 40 / 0.8 = 50 mm/s and 400 / 0.8 = 500 mm/s2."""
    machine = printer(axis_speed_mm_s=(150, 40, 10), axis_acceleration_mm_s2=(3000, 400, 50))
    wanted = settings(layer_time_min_s=0.0)

    laid = time_on(one_layer(OUTER, [(0, 0), (300, 400)]), wanted, machine)
    flat = time_on(one_layer(OUTER, [(0, 0), (500, 0)]), wanted, machine)

    assert laid.middle_s == pytest.approx(500 / 50 + 50 / 500, rel=1e-12)
    assert flat.middle_s == pytest.approx(500 / 60 + 60 / 1500, rel=1e-12)


def test_the_strand_limits_what_is_laid(settings, printer):
    """A strand of 2 mm2 at 1 mm/s, 10 mm/s2 lays 0.1 mm2 at 20 mm/s, 200 mm/s2; ways are free."""
    machine = printer(strand_speed_mm_s=1, strand_acceleration_mm_s2=10)
    wanted = settings(layer_time_min_s=0.0, retract_mm=0.0)
    line, way = ([(0, 0), (1000, 0)], one_layer(TRAVEL, [(0, 0), (1000, 0)]))

    laid = time_on(one_layer(SPARSE, line, section=0.1), wanted, machine, strand_mm2=2.0)
    free = time_on(way, wanted, machine, strand_mm2=2.0)

    assert laid.middle_s == pytest.approx(1000 / 20 + 20 / 200, rel=1e-12)
    assert free.middle_s == pytest.approx(1000 / 150 + 150 / 1500, rel=1e-12)


def test_the_z_axis_limits_steps_and_lifts(settings, printer):
    """A step of 0.2 mm at 4 mm/s; up and down by 3 mm at 4 mm/s, 20 mm/s2: 2 (3/4 + 4/20) s."""
    machine = printer(axis_speed_mm_s=(150, 150, 4), axis_acceleration_mm_s2=(3000, 3000, 20))
    ends = time_on(one_layer(OUTER, [(0, 0), (9, 0)]), settings(lift_mm=3.0), machine).ends

    assert ends.lift_s == pytest.approx(0.2 / 4, rel=1e-12)
    assert ends.raise_s == pytest.approx(2 * (3 / 4 + 4 / 20), rel=1e-12)


def test_a_deviation_stands_in_place_of_the_corner_speed(block, settings, printer):
    """A right angle within d is taken at sqrt(a d / (sqrt 2 - 1)): as the same corner speed."""
    deviation = 8.0**2 * (np.sqrt(2) - 1) / 1500

    by_speed = time_on(block, settings(), printer())
    by_deviation = time_on(
        block, settings(), printer(corner_deviation_mm=deviation, corner_speed_mm_s=1.0)
    )

    assert by_deviation.middle_s == pytest.approx(by_speed.middle_s, rel=1e-9)


def test_limits_out_of_reach_change_nothing(block, settings, printer):
    """Regression: to the last bit."""
    high = (1e9, 1e9, 1e9)
    plain = time_on(block, settings(), printer())
    free = time_on(
        block,
        settings(),
        printer(strand_speed_mm_s=1e9, strand_acceleration_mm_s2=1e9),
        strand_mm2=2.4,
    )
    axes = time_on(
        replace(block, paths=replace(block.paths)),
        settings(),
        printer(axis_acceleration_mm_s2=(*high[:2], 100.0), axis_speed_mm_s=(*high[:2], 10.0)),
    )

    assert (free.by_layer_s == plain.by_layer_s).all()
    assert (axes.by_layer_s == plain.by_layer_s).all()
    assert free.range_s == axes.range_s == plain.range_s


def test_a_feature_may_have_its_own_acceleration(settings, printer):
    """500 mm at 60 mm/s: v / a of the walls 60 / 300; of the way 150 / 2000; capped at 3000."""
    own = settings(
        layer_time_min_s=0.0,
        feature_acceleration_mm_s2={
            Feature.OUTER_WALL: 300.0,
            Feature.TRAVEL: 2000.0,
            Feature.SPARSE_FILL: 9000.0,
            Feature.SOLID_FILL: 600.0,
        },
    )

    def found_s(code):
        return time_on(one_layer(code, [(0, 0), (500, 0)]), own, printer()).middle_s

    assert found_s(OUTER) == pytest.approx(500 / 60 + 60 / 300, rel=1e-12)
    assert found_s(TRAVEL) == pytest.approx(500 / 150 + 150 / 2000, rel=1e-12)
    assert found_s(SPARSE) == pytest.approx(500 / 60 + 60 / 3000, rel=1e-12)
    assert found_s(BRIDGE) == pytest.approx(500 / 30 + 30 / 600, rel=1e-12)
    assert found_s(BRIM) == pytest.approx(500 / 60 + 60 / 1500, rel=1e-12)


def test_every_feature_is_slower_with_less_acceleration(block, settings, printer):
    plain = time_on(block, settings(), printer())
    same = time_on(
        block,
        settings(feature_acceleration_mm_s2=dict.fromkeys(Feature, 1500.0)),
        printer(),
    )

    assert (same.by_layer_s == plain.by_layer_s).all()
    assert same.range_s == plain.range_s
    for feature in Feature:
        own = {feature: 700.0}
        slow = time_on(block, settings(feature_acceleration_mm_s2=own), printer())
        laid = by_feature_s(plain)[feature] > 0
        assert (slow.by_layer_s.sum() > plain.by_layer_s.sum()) == laid
