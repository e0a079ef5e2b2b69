"""The build direction against a load, on bars whose answer is plain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st

from planner.errors import InputError
from planner.job.model import Face, LoadCase, Plane
from planner.solid.model import Solid
from planner.strength.angle import against_load
from planner.strength.faces import AXES, centroid_mm, select

CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
SIDES = [
    (0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5),  # -x, +x
    (0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6),  # -y, +y
    (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3),  # -z, +z
]  # fmt: skip


def bar(x=60.0, y=10.0, z=6.0):
    """Return a bar along x, its six faces of two triangles each."""
    return Solid(
        name="bar.stl",
        vertices_mm=CORNERS * [x, y, z],
        triangles=np.array(SIDES, dtype=np.int32),
        closed=True,
        volume_mm3=x * y * z,
        repairs=(),
        invented=0.0,
        digest="0",
    )


def load(force, *, on="+x", held="-x"):
    return LoadCase(
        force_n=force, on=Face(axis=on), held=Face(axis=held), sustained=True, where="job.yaml:9"
    )


@pytest.mark.parametrize(("axis", "triangles"), [("-x", [0, 1]), ("+y", [6, 7]), ("-z", [8, 9])])
def test_an_axis_selects_the_face_at_its_end(axis, triangles):
    """The two triangles of that side of the bar, and its middle."""
    found = select(bar(), Face(axis=axis))

    assert found.tolist() == triangles
    expected = np.array([30, 5, 3]) + np.array(AXES[axis]) * [30, 5, 3]
    assert centroid_mm(bar(), found) == pytest.approx(expected)


def test_a_box_selects_by_centroid():
    """The -x face has its centroids at (0, 10/3 or 20/3, 2 or 4)."""
    whole = Face(box_mm=((-1.0, 0.0, 0.0), (1.0, 10.0, 6.0)))
    half = Face(box_mm=((-1.0, 0.0, 0.0), (1.0, 5.0, 6.0)))

    assert select(bar(), whole).tolist() == [0, 1]
    assert len(select(bar(), half)) == 1


def test_the_middle_of_a_face_is_weighed_by_area():
    """A rectangle in four triangles around a point near its corner still has its own middle."""
    fan = Solid(
        name="fan",
        vertices_mm=np.array([[0, 0, 0], [10, 0, 0], [10, 4, 0], [0, 4, 0], [1, 1, 0]], float),
        triangles=np.array([[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]], np.int32),
        closed=False,
        volume_mm3=0.0,
        repairs=(),
        invented=0.0,
        digest="0",
    )

    assert centroid_mm(fan, np.arange(4)) == pytest.approx([5, 2, 0])


def test_a_face_that_takes_nothing_is_refused():
    """The message says where, what was looked for and how far the part reaches."""
    nowhere = Face(box_mm=((100.0, 0.0, 0.0), (101.0, 1.0, 1.0)))

    with pytest.raises(InputError, match=r"job\.yaml:9.*100.*60, 10, 6"):
        select(bar(), nowhere, where="job.yaml:9")


def test_an_edge_is_no_face():
    """A bar stood on its edge has no flat surface at the very bottom: a box is asked for."""
    c = np.sqrt(0.5)
    turn = np.array([[1, 0, 0], [0, c, -c], [0, c, c]])
    stood = bar()
    stood = Solid(
        name=stood.name,
        vertices_mm=stood.vertices_mm @ turn.T,
        triangles=stood.triangles,
        closed=True,
        volume_mm3=stood.volume_mm3,
        repairs=(),
        invented=0.0,
        digest="0",
    )

    with pytest.raises(InputError, match="give a box"):
        select(stood, Face(axis="-z"))


def test_a_bracket_printed_upright_is_pulled_apart():
    """A 60 mm lever bent sideways, layers across it: the load along them, the pull across.

    A load square to the lever has no direct part: all of it is bending along the lever.
    """
    found = against_load(bar(), load((0.0, 0.0, -20.0)), (1.0, 0.0, 0.0))

    assert found.load_angle_deg == pytest.approx(0.0)
    assert found.lever_angle_deg == pytest.approx(90.0)
    assert found.lever_mm == pytest.approx(60.0)
    assert found.crossing == pytest.approx(1.0)
    assert "off each other" in found.verdict
    assert found.better_up in {"+y", "-y", "+z", "-z"}
    assert found.better_crossing == pytest.approx(0.0)


def test_a_bracket_printed_flat_is_left_alone():
    """Same load, layers along the lever: nothing crosses, and no other axis is named."""
    found = against_load(bar(), load((0.0, 0.0, -20.0)), (0.0, 0.0, 1.0))

    assert found.load_angle_deg == pytest.approx(90.0)
    assert found.crossing == pytest.approx(0.0)
    assert found.better_up == "+z"
    assert "along" in found.verdict


def test_a_pull_along_the_build_direction_crosses_and_a_push_does_not():
    """Pure pull of a bar: all of it crosses; the same force inwards parts nothing."""
    pull = against_load(bar(), load((20.0, 0.0, 0.0)), (1.0, 0.0, 0.0))
    push = against_load(bar(), load((-20.0, 0.0, 0.0)), (1.0, 0.0, 0.0))

    assert pull.crossing == pytest.approx(1.0)
    assert push.crossing == pytest.approx(0.0)


@pytest.mark.parametrize(
    "force", [(0.0, 0.0, 0.0), (float("nan"), 0.0, 1.0), (float("inf"), 0.0, 0.0)]
)
def test_a_force_that_is_none_is_refused(force):
    """Zero, not a number, or without end: one sentence with the place."""
    with pytest.raises(InputError, match=r"job\.yaml:9.*force"):
        against_load(bar(), load(force), (0.0, 0.0, 1.0))


def test_a_slanting_load_shares_its_pull_out():
    """By hand: 3-4-5 force on a 60 mm lever 6 mm thick: arm 48 mm, bending 48, pull 0.6.

    Built along the lever bending crosses whole and the pull by 0.6^2; built across it
    along z only the pull crosses, by 0.8^2. Pushing instead takes 0.6 off the bending.
    """
    pull, push = load((3.0, 0.0, 4.0)), load((-3.0, 0.0, 4.0))

    along, flat = (against_load(bar(), pull, AXES[up]).crossing for up in ("+x", "+z"))

    assert along == pytest.approx((48 + 0.6 * 0.36) / 48.6)
    assert flat == pytest.approx(0.6 * 0.64 / 48.6)
    assert against_load(bar(), push, AXES["+x"]).crossing == pytest.approx(47.4 / 48.6)


def test_a_moment_bends_as_a_force_on_a_lever_does():
    """1200 N mm about y on the end, or 20 N down on 60 mm: all bending; about x it only twists."""
    bent = replace(load((0.0, 0.0, 0.0)), moment_nmm=(0.0, 1200.0, 0.0))
    twisted = replace(bent, moment_nmm=(1200.0, 0.0, 0.0))

    assert against_load(bar(), bent, AXES["+x"]).crossing == pytest.approx(1.0)
    assert against_load(bar(), bent, AXES["+z"]).crossing == pytest.approx(0.0)
    assert against_load(bar(), twisted, AXES["+x"]).crossing == pytest.approx(0.0)


def test_a_plane_selects_what_lies_in_it():
    """The +x end by a plane half a tenth off, whichever way its normal points."""
    for sign in (1.0, -1.0):
        plane = Plane(point_mm=(60.05, 99.0, -7.0), normal=(sign, 0.0, 0.0))
        assert select(bar(), Face(plane=plane)).tolist() == [2, 3]

    nowhere = Face(plane=Plane(point_mm=(30.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0)))
    with pytest.raises(InputError, match=r"no surface within 0\.2 mm of the plane through"):
        select(bar(), nowhere)


def test_two_faces_around_one_middle_have_no_lever():
    """Held and loaded on the same face: the whole force counts as a pull along itself."""
    found = against_load(bar(), load((0.0, 0.0, 5.0), on="+x", held="+x"), AXES["+z"])

    assert found.lever_mm == 0.0
    assert found.crossing == pytest.approx(1.0)


UNIT = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1)


@limits(max_examples=40, deadline=None)
@given(force=UNIT, up=UNIT, size=st.floats(0.1, 1000))
def test_the_share_is_a_share_and_the_named_axis_is_no_worse(force, up, size):
    """0 to 1, independent of the size of the force, the same upside down."""
    own = tuple((np.array(up) / np.linalg.norm(up)).tolist())
    found = against_load(bar(), load(force), own)
    larger = against_load(bar(), load(tuple(size * f for f in force)), own)
    turned = against_load(bar(), load(force), tuple(-x for x in own))

    assert 0 <= found.crossing <= 1 + 1e-12
    assert larger.crossing == pytest.approx(found.crossing, abs=1e-9)
    assert turned.crossing == pytest.approx(found.crossing, abs=1e-12)
    shares = [against_load(bar(), load(force), axis).crossing for axis in AXES.values()]
    assert found.better_crossing == pytest.approx(min(shares), abs=1e-8)
