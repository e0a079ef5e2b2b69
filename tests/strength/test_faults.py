"""What cannot be worked out is refused in one line that says where, what and what to do."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import pytest

from planner.errors import InputError
from planner.strength.field import stress_field
from planner.strength.orient import orient

cube = manifold3d.Manifold.cube


def refusal(solid, case, plastic):
    with pytest.raises(InputError) as caught:
        orient(solid, [case], plastic, most_bricks=800)
    (problem,) = caught.value.problems
    assert "\n" not in str(problem)
    assert problem.remedy
    return str(problem)


def test_an_open_mesh_is_refused(solid_of, load, plastic):
    """It has no inside."""
    solid = replace(solid_of(cube([20, 5, 5])), closed=False)

    assert "open surface" in refusal(solid, load([0, 0, -5]), plastic)


def test_bodies_that_nothing_holds_are_named(solid_of, load, plastic):
    """Two bars with a gap: the second hangs in the air around (15, 12.5, 2.5)."""
    pair = cube([20, 5, 5]) + cube([10, 5, 5]).translate([10, 10, 0])
    case = load([0, 0, -5], held=((-1, -1, -1), (0.1, 6, 6)))

    text = refusal(solid_of(pair), case, plastic)

    assert "2 bodies" in text
    assert "[15, 12.5, 2.5]" in text
    assert text.startswith("load.yaml:3:")


def test_bodies_that_are_all_held_are_taken(solid_of, load, plastic):
    """Two bars side by side, both clamped at -x."""
    pair = cube([20, 5, 5]) + cube([20, 5, 5]).translate([0, 10, 0])

    found = orient(solid_of(pair), [load([0, 0, -5])], plastic, most_bricks=400)

    assert found.as_given.safety_factor > 0


@pytest.mark.parametrize("force", [(0, 0, 0), (float("nan"), 0, 0), (0, float("inf"), 0)])
def test_a_force_that_is_none_is_refused(solid_of, load, plastic, force):
    """Nothing, not a number, without end."""
    assert "force" in refusal(solid_of(cube([20, 5, 5])), load(force), plastic)


@pytest.mark.parametrize("side", ["on", "held"])
def test_a_face_that_takes_nothing_is_refused(solid_of, load, plastic, side):
    """Held nowhere, or loaded nowhere: the box lies beside the part."""
    case = load([0, 0, -5], **{side: ((50.0, 50, 50), (60.0, 60, 60))})

    assert "no triangle" in refusal(solid_of(cube([20, 5, 5])), case, plastic)


def test_a_sheet_thinner_than_a_line_is_refused(solid_of, load, plastic):
    """0.3 mm against a line of 0.45 mm."""
    text = refusal(solid_of(cube([30, 20, 0.3])), load([0, 0, -1]), plastic)

    assert "0.3 mm thick" in text
    assert "0.45 mm" in text


def test_a_box_with_walls_thinner_than_a_line_is_refused(solid_of, load, plastic):
    """0.3 mm walls on a foot of 0.9 mm: the foot could be printed, the walls not."""
    box = cube([20, 20, 15]) - cube([19.4, 19.4, 15]).translate([0.3, 0.3, 0.9])

    assert "0.3 mm thick" in refusal(solid_of(box), load([0, 0, -1], on="+z", held="-z"), plastic)


def test_a_mesh_of_300_000_triangles_is_worked_out(solid_of, load, plastic):
    """A bar cut into 307 200 triangles bends as the same bar of twelve does, to 3 %."""
    bar = cube([30, 8, 6])
    fine = bar.refine(160)
    places = (30.0 - 1e-6, -1.0, -1.0), (31.0, 9.0, 7.0)
    case = load([0, 0, -9], on=places, held=((-1.0, -1, -1), (1e-6, 9, 7)))

    coarse, many = (
        stress_field(solid_of(body), case, replace(plastic, infill=0.2), most_bricks=500)
        for body in (bar, fine)
    )

    assert fine.num_tri() > 300_000
    assert many.moves_mm == pytest.approx(coarse.moves_mm, rel=0.02)
    most = [field.stress_mpa[field.counts, 0].max() for field in (coarse, many)]
    assert most[1] == pytest.approx(most[0], rel=0.03)


def test_bodies_that_meet_along_an_edge_are_two(solid_of, load, plastic):
    """Two bars that share one edge: the second would swing about it like a door."""
    pair = cube([20, 5, 5]) + cube([20, 5, 5]).translate([20, 5, 0])
    case = load([0, 0, -5], held=((-1, -1, -1), (0.1, 6, 6)))

    assert "2 bodies" in refusal(solid_of(pair), case, plastic)


def test_own_weight_needs_a_density(solid_of, load, plastic):
    """A profile that says nothing of it is refused, not guessed."""
    case = replace(load([0, 0, -5]), down=(0.0, 0.0, -1.0))

    assert "density" in refusal(solid_of(cube([20, 5, 5])), case, plastic)


def test_too_warm_a_place_is_refused(solid_of, load, plastic):
    """51 degrees, for a plastic that is good for 50."""
    case = replace(load([0, 0, -5]), warm_c=51.0)

    text = refusal(solid_of(cube([20, 5, 5])), case, plastic)

    assert "51 degrees" in text
    assert "at most 50" in text


def test_a_hold_along_a_line_is_refused(solid_of, load, plastic):
    """One sliver of surface, next to no width: the part would turn about it."""
    wedge = manifold3d.Manifold.hull_points(
        [
            [0, 0, 0],
            [0, 10, 0],
            [0, 0, 1e-5],
            [0, 10, 1e-5],
            [20, 0, 0],
            [20, 10, 0],
            [20, 0, 8],
            [20, 10, 8],
        ]
    )
    case = load([0, 0, -5], held=((-1e-3, -1, -1), (1e-3, 11, 1)))

    refusal(solid_of(wedge), case, plastic)
