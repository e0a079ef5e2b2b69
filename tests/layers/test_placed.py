"""Plates with known places: layer sums and ways between parts against the whole plate's path."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from manifold3d import CrossSection, Manifold

from planner.layers.clock import way_seconds
from planner.layers.lay import lay
from planner.layers.placed import Copy, placed_seconds, visits
from planner.layers.strokes import TRAVEL
from planner.layers.timing import time_on
from planner.settings.model import Feature

RETRACT_OVER_MM, RETRACT_MM_S, LIFT_MM_S = 2.0, 40.0, 10.0


def upright_s(length, gain):
    """Move straight up or down at 10 mm/s and no more than 100 mm/s2: triangle or trapezoid."""
    speed, gain = 10.0, min(100.0, gain)
    if length <= speed**2 / gain:
        return 2 * np.sqrt(length / gain)
    return length / speed + speed / gain


def walk(points, speed, rest, *, gain, corner):
    """Plain planner, one move after the other, in squares of speed; seconds of every move.

    Corners as a rounded right angle at `corner` mm/s: v^2 = c^2 (sqrt 2 - 1) s / (1 - s).
    """
    moves = np.diff(points, axis=0)
    length = np.hypot(*moves.T)
    count = len(length)
    limit = np.zeros(count + 1)
    for k in range(1, count):
        if rest[k - 1] or rest[k] or length[k - 1] == 0 or length[k] == 0:
            continue
        before, after = moves[k - 1] / length[k - 1], moves[k] / length[k]
        s = np.hypot(*(before + after)) / 2
        turn = np.inf if s >= 1 else corner**2 * (np.sqrt(2) - 1) * s / (1 - s)
        limit[k] = min(turn, speed[k - 1] ** 2, speed[k] ** 2)
    u = limit.copy()
    for k in range(count - 1, -1, -1):
        u[k] = min(u[k], u[k + 1] + 2 * gain * length[k])
    for k in range(count):
        u[k + 1] = min(u[k + 1], u[k] + 2 * gain * length[k])
    spent = np.zeros(count)
    for k in range(count):
        if length[k] == 0:
            continue
        top = min(speed[k] ** 2, gain * length[k] + (u[k] + u[k + 1]) / 2)
        cruise = length[k] - (2 * top - u[k] - u[k + 1]) / (2 * gain)
        ramps = (2 * np.sqrt(top) - np.sqrt(u[k]) - np.sqrt(u[k + 1])) / gain
        spent[k] = ramps + max(cruise, 0) / np.sqrt(top)
    return spent


def moved(points, x, y, degrees):
    angle = np.radians(degrees)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return points @ turn.T + (x, y)


def whole_plate_s(laid, places, order, settings, printer):
    """Walk all parts of all layers in one go; a layer is slowed down to its least time."""
    speeds = [min(settings.speed_mm_s[f], printer.speed_max_mm_s) for f in Feature]
    speeds.append(min(speeds[2], 30.0))
    flow = min(settings.flow_max_mm3_s, printer.flow_max_mm3_s)
    gain = min(settings.acceleration_mm_s2, printer.acceleration_max_mm_s2)
    pause_s = 2 * settings.retract_mm / RETRACT_MM_S + 2 * upright_s(settings.lift_mm, gain)
    total_s, here = 0.0, None
    for layer in range(max(layering.layers for layering in laid)):
        points, speed, rest = [] if here is None else [here], [], []
        for part in order:
            if layer >= laid[part].layers or not laid[part].volume_mm3[layer].any():
                continue
            paths = laid[part].paths
            own = slice(*paths.start[paths.kind[layer] :][:2])
            path = moved(paths.points_mm[own], *places[part])
            code = paths.code[own]
            melt = flow / paths.section_mm2[paths.kind[layer]]
            wanted = np.array(speeds)[code]
            wanted = np.where(code == TRAVEL, wanted, np.minimum(wanted, melt))
            if points:
                away = np.hypot(*(path[0] - points[-1]))
                speed.append(speeds[TRAVEL])
                rest.append(2 if away > RETRACT_OVER_MM else 1)
            speed += wanted[1:].tolist()
            rest += (2 * paths.rests[own][1:]).tolist()
            points += list(path)
        if not speed:
            continue
        spent = walk(
            np.array(points),
            np.array(speed),
            np.array(rest) > 0,
            gain=gain,
            corner=printer.corner_speed_mm_s,
        )
        layer_s = spent.sum() + pause_s * np.count_nonzero(np.array(rest) == 2)
        layer_s += settings.layer_mm / LIFT_MM_S if here is not None else 0.0
        total_s += max(layer_s, settings.layer_time_min_s)
        here = points[-1]
    return total_s


def bodies():
    ell = CrossSection([[(0, 0), (16, 0), (16, 5), (5, 5), (5, 14), (0, 14)]]).extrude(2.4)
    return [
        Manifold.cube((18, 9, 3)),
        Manifold.cylinder(4, 6, 3, 24),
        ell,
        Manifold.cube((12, 12, 2)) - Manifold.cylinder(9, 3, 3, 20).translate((6, 6, -1)),
        ell + Manifold.cube((4, 4, 5)),
        Manifold.cube((6, 6, 1)) + Manifold.cube((6, 6, 1)).translate((10, 0, 0)),
    ]


PLACES = [(10, 12, 0), (60, 20, 0), (40, 60, 90), (70, 70, 180), (20, 90, 270), (90, 40, 30)]


@pytest.mark.parametrize(("least_s", "lift_mm"), [(0.0, 0.0), (30.0, 0.0), (0.0, 0.4), (0.0, 3.0)])
def test_a_plate_of_six_equals_its_whole_path(posed, settings, printer, least_s, lift_mm):
    """Composed from layer sums against a plain planner along the whole plate: within 0.1 %.

    Every way between parts rests at both ends in both, so only rounding is left.
    """
    wanted, machine = settings(layer_time_min_s=least_s, lift_mm=lift_mm), printer()
    laid = [lay(posed(body), wanted) for body in bodies()]
    copies = [
        Copy(time=time_on(layering, wanted, machine), x_mm=x, y_mm=y, rotation_deg=turn)
        for layering, (x, y, turn) in zip(laid, PLACES, strict=True)
    ]

    expected = whole_plate_s(laid, PLACES, visits(copies), wanted, machine)

    assert placed_seconds(copies) == pytest.approx(expected, rel=1e-9)


def test_a_part_alone_equals_its_whole_path(posed, settings, printer):
    """Ways and steps from layer to layer included; an empty gap in height as well."""
    gap = Manifold.cube((9, 9, 1)) + Manifold.cube((9, 9, 1)).translate((20, 0, 3))
    for body in (*bodies(), gap):
        layering = lay(posed(body), settings())

        expected = whole_plate_s([layering], [(0, 0, 0)], [0], settings(), printer())

        found = time_on(layering, settings(), printer())
        assert found.middle_s == pytest.approx(expected, rel=1e-9)
        assert found.by_layer_s[0].sum() > 0


def test_one_copy_takes_its_own_time_wherever_it_lies(posed, settings, printer):
    """A plate of one is the part alone; an empty plate takes none."""
    time = time_on(lay(posed(bodies()[4]), settings()), settings(), printer())

    for x, y, turn in PLACES:
        alone = Copy(time=time, x_mm=x, y_mm=y, rotation_deg=turn)
        assert placed_seconds([alone]) == pytest.approx(time.middle_s, rel=1e-9)
    assert placed_seconds([]) == 0.0


def test_copies_further_apart_take_longer(posed, settings, printer):
    """By the travel in each of the ten layers, both ways in turn: worked by hand.

    100 mm more at 150 mm/s: the ramps are the same, so 100 / 150 s once a layer; the copy
    that is left last is also begun last, so the way back from it counts between layers.
    """
    wanted = settings(layer_time_min_s=0.0)
    time = time_on(lay(posed(Manifold.cube((10, 10, 2))), wanted), wanted, printer())
    near, far = (
        placed_seconds([Copy(time=time, x_mm=0, y_mm=0), Copy(time=time, x_mm=distance, y_mm=0)])
        for distance in (60, 160)
    )

    assert len(time.by_layer_s) == 10
    assert far - near == pytest.approx((10 + 9) * 100 / 150, rel=0.03)


def test_copies_are_visited_from_one_to_the_next(posed, settings, printer):
    """In a row that starts at the front left, one after the other."""
    time = time_on(lay(posed(Manifold.cube((10, 10, 1))), settings()), settings(), printer())
    spots = [150, 0, 100, 50]

    order = visits([Copy(time=time, x_mm=x, y_mm=0) for x in spots])

    assert all(spots[a] < spots[b] for a, b in pairwise(order))


def test_ways_between_copies_keep_to_the_axes():
    """100 mm along y at 40 mm/s, 200 mm/s2; along (0.6, 0.8) at 40 / 0.8 mm/s, 200 / 0.8 mm/s2."""
    away = np.array([[0.0, 60.0], [100.0, 80.0]])

    found = way_seconds(
        away,
        speed_mm_s=150.0,
        acceleration_mm_s2=1500.0,
        axis_speed_mm_s=(150.0, 40.0),
        axis_acceleration_mm_s2=(1500.0, 200.0),
        pause_s=0.5,
    )

    upright, slanted = (100 / 40 + 40 / 200, 100 / 50 + 50 / 250)
    assert found == pytest.approx([upright + 0.5, slanted + 0.5], rel=1e-12)
