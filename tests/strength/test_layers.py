"""Tension and shear on layers: Cauchy's formula, and the rule that makes a factor of them."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from planner.job.model import Face, LoadCase
from planner.strength.field import stress_field
from planner.strength.layers import pulled
from planner.strength.material import SHEAR_SHARE, cellular_stiffness, cellular_strength, printed
from planner.strength.orient import orient

cube = manifold3d.Manifold.cube


@pytest.fixture
def even(solid_of, load, plastic):
    """Return a field with 10 MPa along x everywhere, and nothing else."""
    field = stress_field(solid_of(cube([10, 4, 3])), load([120, 0, 0]), plastic, most_bricks=100)
    stress = np.zeros_like(field.stress_mpa)
    stress[:, 0] = 10.0
    return replace(field, stress_mpa=stress)


@pytest.mark.parametrize("angle", [0.0, 30.0, 45.0, 90.0])
def test_a_pull_falls_apart_into_tension_and_shear(even, plastic, angle):
    """10 MPa along x: 10 cos^2 across the layers and 10 cos sin along them (Mohr's circle)."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))

    judged = pulled(even, np.array([[c, 0, s]]), plastic)

    assert judged.tension_mpa[0] == pytest.approx(10 * c * c, abs=1e-9)
    assert judged.shear_mpa[0] == pytest.approx(10 * c * s, abs=1e-6)
    joint = np.hypot(10 * c * c / 25, 10 * c * s / (25 * SHEAR_SHARE))
    assert judged.factors[0, 0] == pytest.approx(1 / max(joint, 10 / 50))


def test_what_lasts_is_weaker(even, plastic):
    """A load that stays on takes the factor down by the share in the profile."""
    case = replace(even.case, sustained=True)
    up = np.array([[1.0, 0, 0]])

    momentary = pulled(even, up, plastic).factors
    sustained = pulled(replace(even, case=case), up, plastic).factors

    assert sustained == pytest.approx(0.3 * momentary)


def test_ranges_surround_the_middle(even, plastic):
    """All strengths low, in the middle, all high."""
    doubtful = replace(plastic, tensile_mpa=(40.0, 60.0), bond=(0.3, 0.7))

    middle, low, high = pulled(even, np.array([[1.0, 0, 0]]), doubtful).factors[:, 0]

    assert (low, middle, high) == pytest.approx((1.2, 2.5, 4.2))


def test_sparse_filling_is_never_stiffer_than_the_solid():
    """Rising, 0.2^1.5 and 0.55 x 0.2^1.25 at a fifth, whole at 1; strength likewise."""
    for law, fifth in ((cellular_stiffness, 0.08944), (cellular_strength, 0.07325)):
        values = [law(density) for density in np.linspace(0, 1, 21)]

        assert values == sorted(values)
        assert law(0.2) == pytest.approx(fifth, rel=1e-3)
        assert values[-1] == pytest.approx(1.0)


def test_filling_gives_way_before_the_walls_around_it(even, plastic):
    """Points in filling of a fifth bear 0.0733 / 0.0894 of the strain that walls bear."""
    assert replace(plastic, infill=0.2).core_strength == pytest.approx(0.8190, rel=1e-3)
    up = np.array([[1.0, 0, 0], [0, 0, 1.0]])  # across the layers, and along them
    weak = replace(even, bears=0.5 * even.bears)

    halved = 0.5 * pulled(even, up, plastic).factors
    assert pulled(weak, up, plastic).factors == pytest.approx(halved)


def test_warmth_takes_strength_off(even, plastic):
    """In a straight line from a room to nothing where it softens: 60 degrees, at 41.5 half.

    Without a softening point half is left at 50, the service temperature; the cold adds nothing.
    """
    up = np.array([[1.0, 0, 0]])
    warm = replace(even, case=replace(even.case, warm_c=41.5))
    glassy = replace(plastic, soft_c=60.0)

    assert pulled(warm, up, glassy).factors == pytest.approx(0.5 * pulled(even, up, glassy).factors)
    assert plastic.warm_share(50.0) == pytest.approx(0.5)
    assert glassy.warm_share(-20.0) == 1.0
    assert glassy.warm_share(70.0) == 0.0


@pytest.mark.parametrize("size", [2.0, 0.37, 81.3])
def test_twice_the_force_halves_the_factor(solid_of, sparse, size):
    """Any multiple, force and moment alike, to 1e-9."""
    once = LoadCase(
        force_n=(1.0, 2.0, -5.0), moment_nmm=(30.0, 0.0, 9.0), on=Face(axis="+x"),
        held=Face(axis="-x"), sustained=True,
    )  # fmt: skip
    more = replace(
        once,
        force_n=tuple(size * x for x in once.force_n),
        moment_nmm=tuple(size * x for x in once.moment_nmm),
    )
    ups = np.array([[1.0, 0, 0], [0, 0.6, 0.8]])

    factors, fewer = (
        pulled(
            stress_field(solid_of(cube([20, 6, 4])), case, sparse, most_bricks=300), ups, sparse
        ).factors
        for case in (once, more)
    )

    assert size * fewer == pytest.approx(factors, rel=1e-9)


def test_turning_part_and_load_changes_nothing(solid_of, load, plastic):
    """The same bracket turned by 20, 40 and 10 degrees: factor and tension within 5 %."""
    bracket = cube([30, 8, 5]) + cube([5, 8, 25])
    turn = Rotation.from_euler("xyz", [20, 40, 10], degrees=True).as_matrix()
    on = [[30, 8 / 3, 5 / 3], [30, 16 / 3, 10 / 3]]
    found = []
    for given in (np.eye(3), turn):
        solid = solid_of(bracket, given)
        faces = {}
        middles = solid.vertices_mm[solid.triangles].mean(axis=1) @ given
        ends = {"on": on, "held": middles[np.abs(middles[:, 0]) < 1e-6]}
        for key, end in ends.items():
            places = np.array(end) @ given.T
            faces[key] = (tuple(places.min(axis=0) - 0.3), tuple(places.max(axis=0) + 0.3))
        up = given @ [1.0, 0, 0]
        case = load(given @ [0, 0, -10], **faces)
        found.append(orient(solid, [case], plastic, up=tuple(up), most_bricks=2000).as_given)

    assert found[1].safety_factor == pytest.approx(found[0].safety_factor, rel=0.05)
    assert found[1].layer_tension_mpa == pytest.approx(found[0].layer_tension_mpa, rel=0.05)


def test_a_profile_that_says_nothing_of_strength_is_refused():
    """The keys are optional in a profile, so their absence is said where they are wanted."""
    from planner.errors import InputError
    from planner.settings.load import load_filament

    pla = load_filament("pla")

    assert printed(pla, walls=3, infill=0.2, line_width_mm=0.44).shell_mm == pytest.approx(1.32)
    with pytest.raises(InputError, match="tensile_mpa"):
        printed(replace(pla, tensile_mpa=None), walls=3, infill=0.2, line_width_mm=0.44)


@pytest.mark.parametrize("name", ["abs", "asa", "pa", "pc", "petg", "pla", "tpu"])
def test_every_shipped_filament_has_strengths_in_order(name):
    """Low below high; the bond between 0.3 and 1, what is published (see the profiles)."""
    from planner.settings.load import load_filament

    filament = load_filament(name)

    for low, high in (
        filament.tensile_mpa,
        filament.modulus_mpa,
        filament.layer_bond,
        filament.sustained_share,
    ):
        assert 0 < low <= high
    assert 0.3 <= filament.layer_bond[0] <= filament.layer_bond[1] <= 1.0
    assert filament.service_c_max < max(filament.glass_transition_c, 61)
