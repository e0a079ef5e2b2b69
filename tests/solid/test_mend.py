"""What is put right in a mesh, what is remarked, and what is refused."""

import numpy as np
import pytest

from planner.errors import InputError
from planner.solid import mend
from planner.solid.bodies import winding_number
from planner.solid.measure import signed_volume
from planner.solid.mend import MOST_SHARE, judge, make_solid
from planner.solid.read import read_solid


def kinds(solid):
    return [repair.kind for repair in solid.repairs]


def test_a_sound_mesh_is_left_alone(shapes):
    solid = shapes.solid(shapes.box((0, 0, 0), (60, 60, 60)))

    assert solid.closed
    assert solid.repairs == ()
    assert solid.invented == 0
    assert solid.triangles.dtype == np.int32
    assert solid.vertices_mm.dtype == np.float64


@pytest.mark.parametrize("how", ["reversed", "mirrored"])
def test_an_inside_out_mesh_is_turned_and_said(shapes, how):
    """Reversed corners, or a mirrored shape: the volume comes out positive all the same."""
    vertices, triangles = shapes.lathe([8, 5, 6], [0, 10, 20], 9)
    bad = (
        (vertices, triangles[:, ::-1]) if how == "reversed" else (vertices * (-1, 1, 1), triangles)
    )
    solid = shapes.solid(bad)

    assert kinds(solid) == ["inside-out"]
    assert solid.volume_mm3 == pytest.approx(shapes.lathe_volume([8, 5, 6], [0, 10, 20], 9))


def test_triangles_that_face_the_wrong_way_are_turned(shapes):
    vertices, triangles = shapes.lathe([8, 5, 6], [0, 10, 20], 9)
    triangles[::3] = triangles[::3, ::-1]
    solid = shapes.solid((vertices, triangles))

    assert kinds(solid) == ["facing"]
    assert f"turned {len(triangles[::3])} of {len(triangles)}" in solid.repairs[0].text
    assert solid.volume_mm3 == pytest.approx(shapes.lathe_volume([8, 5, 6], [0, 10, 20], 9))


def test_overlapping_bodies_are_united(shapes):
    """Two boxes of 60 x 60 x 35 that share 10 mm of height: 252000 by sum, 216000 in truth."""
    lower, upper = shapes.box((0, 0, 0), (60, 60, 35)), shapes.box((0, 0, 25), (60, 60, 60))
    solid = shapes.solid(shapes.merged(lower, upper))

    assert kinds(solid) == ["union"]
    assert "252000 mm3" in solid.repairs[0].text
    assert "216000 mm3" in solid.repairs[0].text
    assert solid.volume_mm3 == pytest.approx(216000)


def test_bodies_apart_and_bodies_that_touch_are_kept(shapes):
    """Neither loses or gains volume, so there is nothing to say."""
    first = shapes.box((0, 0, 0), (10, 10, 10))
    apart = shapes.solid(shapes.merged(first, shapes.box((20, 0, 0), (30, 10, 10))))
    edge = shapes.solid(shapes.merged(first, shapes.box((10, 10, 0), (20, 20, 10))))
    face = shapes.solid(shapes.merged(first, shapes.box((10, 0, 0), (20, 10, 10))))

    for solid in (apart, edge, face):
        assert solid.closed
        assert solid.repairs == ()
        assert solid.volume_mm3 == pytest.approx(2000)


def test_a_void_stays_a_void_and_an_island_in_it_stays(shapes):
    """30^3 with a hollow of 20^3 in which a body of 10^3 lies: 27000 - 8000 + 1000."""
    outer = shapes.box((0, 0, 0), (30, 30, 30))
    vertices, triangles = shapes.box((5, 5, 5), (25, 25, 25))
    hollow = (vertices, triangles[:, ::-1])
    island = shapes.box((10, 10, 10), (20, 20, 20))

    assert shapes.solid(shapes.merged(outer, hollow)).volume_mm3 == pytest.approx(19000)
    assert shapes.solid(shapes.merged(outer, hollow)).repairs == ()
    assert shapes.solid(shapes.merged(outer, hollow, island)).volume_mm3 == pytest.approx(20000)


def test_a_body_in_the_void_of_another_fills_its_share(shapes):
    """A rod through a hollow box: the void keeps only what the rod leaves of it.

    30^3 less 20^3, plus a rod of 4 x 4 mm over all 40 mm, of which 2 x 10 mm lie in walls or
    outside: the rod adds 20 x 16 inside the void and 10 x 16 outside the box.
    """
    outer = shapes.box((0, 0, 0), (30, 30, 30))
    vertices, triangles = shapes.box((5, 5, 5), (25, 25, 25))
    rod = shapes.box((13, 13, -5), (17, 17, 35))
    solid = shapes.solid(shapes.merged(outer, (vertices, triangles[:, ::-1]), rod))

    assert kinds(solid) == ["union"]
    assert solid.volume_mm3 == pytest.approx(27000 - 8000 + 20 * 16 + 10 * 16)


def test_a_void_belongs_to_the_body_that_holds_it_not_to_one_that_covers_its_skin(shapes):
    """A block set into the wall of a void fills 3 x 7 x 7 of it and leaves it a void."""
    outer = shapes.box((0, 0, 0), (30, 30, 30))
    vertices, triangles = shapes.box((5, 5, 5), (25, 25, 25))
    skin = vertices[triangles[0]].mean(axis=0)
    block = shapes.box(skin - np.array([2, 3, 3]), skin + np.array([3, 4, 4]))
    solid = shapes.solid(shapes.merged(outer, (vertices, triangles[:, ::-1]), block))

    assert skin[0] == 5
    assert solid.volume_mm3 == pytest.approx(27000 - 8000 + 3 * 7 * 7)


def test_a_surface_that_crosses_itself_is_said_and_counted_once(shapes):
    """A ring bent on for 400 deg: 40 deg of it lie in it twice, 1/9 of the true volume.

    144 steps of 2.5 deg make a full turn, so the overlap lies exactly on its beginning.
    """
    turn = np.radians(2.5) * np.arange(161)
    rise = np.linspace(0, 1e-3, 161)  # ends apart by 1 um, or their vertices would weld
    rims = [
        np.stack([r * np.cos(turn), r * np.sin(turn), z + rise], axis=1)
        for r, z in ((20, 0), (30, 0), (30, 10), (20, 10))
    ]
    here = np.arange(160)
    faces = [[[0, 161, 322], [0, 322, 483]], [[160, 482, 321], [160, 643, 482]]]
    for rim in range(4):
        a, b = here + 161 * rim, here + 161 * ((rim + 1) % 4)
        faces += [np.stack([a, a + 1, b + 1], axis=1), np.stack([a, b + 1, b], axis=1)]
    solid = shapes.solid((np.concatenate(rims), np.concatenate(faces)))
    true = 144 / 2 * np.sin(np.radians(2.5)) * (30**2 - 20**2) * 10

    assert solid.closed
    assert [repair.kind for repair in solid.repairs][-1] == "crossing"
    assert "about 11 %" in solid.repairs[-1].text
    assert solid.volume_mm3 == pytest.approx(true, rel=1e-3)


def test_an_inside_out_hollow_body_keeps_its_void(shapes):
    """Everything reversed: body and void are turned together."""
    outer = shapes.box((0, 0, 0), (30, 30, 30))
    hollow = shapes.box((5, 5, 5), (25, 25, 25))
    vertices, triangles = shapes.merged((outer[0], outer[1][:, ::-1]), hollow)
    solid = shapes.solid((vertices, triangles))

    assert kinds(solid) == ["inside-out"]
    assert solid.volume_mm3 == pytest.approx(19000)


def test_one_of_two_free_bodies_inside_out(shapes):
    small = shapes.box((0, 0, 0), (10, 10, 10))
    vertices, triangles = shapes.box((20, 0, 0), (40, 20, 20))
    solid = shapes.solid(shapes.merged(small, (vertices, triangles[:, ::-1])))

    assert solid.volume_mm3 == pytest.approx(9000)
    assert "1 of 2 bodies" in solid.repairs[0].text


def test_winding_number_inside_and_outside(shapes):
    """Solid angle of a closed surface: 4 pi from inside, 0 from outside."""
    mesh = shapes.lathe([8, 5, 6], [0, 10, 20], 9)

    assert winding_number(np.array([1.0, 1, 10]), *mesh) == pytest.approx(1)
    assert winding_number(np.array([9.0, 1, 10]), *mesh) == pytest.approx(0, abs=1e-12)


def test_doubled_triangles_and_triangles_without_area_are_dropped(shapes):
    vertices, triangles = shapes.box((0, 0, 0), (10, 10, 10))
    extra = np.array([[0, 0, 1], [3, 3, 3]])
    solid = shapes.solid((vertices, np.concatenate([triangles, triangles[3:7], extra])))

    assert solid.closed
    assert len(solid.triangles) == 12
    assert solid.volume_mm3 == pytest.approx(1000)


def test_a_mesh_drawn_from_both_sides_counts_once(shapes):
    vertices, triangles = shapes.box((0, 0, 0), (10, 10, 10))
    solid = shapes.solid((vertices, np.concatenate([triangles, triangles[:, ::-1]])))

    assert solid.closed
    assert solid.volume_mm3 == pytest.approx(1000)


def test_cracks_are_closed_within_the_stated_distance(shapes):
    """Corners of loose triangles scattered by 0.01 mm are joined; the text says how far."""
    vertices, triangles = shapes.box((0, 0, 0), (60, 40, 20))
    loose = vertices[triangles].reshape(-1, 3)
    loose += np.random.default_rng(1).uniform(-0.005, 0.005, loose.shape)
    solid = shapes.solid((loose, np.arange(36).reshape(-1, 3)))

    assert solid.closed
    assert kinds(solid) == ["cracks"]
    assert solid.volume_mm3 == pytest.approx(48000, rel=0.01 * 2 * (1 / 60 + 1 / 40 + 1 / 20))


def test_a_gap_wider_than_the_limit_is_not_pulled_shut(shapes):
    """A lid 0.5 mm above its box is no crack: the gap is chained, and the volume kept."""
    vertices, triangles = shapes.box((0, 0, 0), (60, 40, 20))
    lid = np.flatnonzero(vertices[triangles][:, :, 2].min(axis=1) == 20)
    points = vertices[triangles].copy()
    points[lid, :, 2] += 0.5
    solid = shapes.solid((points.reshape(-1, 3), np.arange(36).reshape(-1, 3)))

    assert not solid.closed
    assert kinds(solid) == ["open surface"]
    # cuts along x and y have two gaps of 0.5 mm in outlines of 121 and 161 mm, along z none
    assert solid.invented == pytest.approx(2 / (121 + 161 + 200), rel=0.05)
    assert solid.volume_mm3 == pytest.approx(48000, rel=0.03)


def test_no_crack_of_a_large_part_is_pulled_shut_beyond_a_twentieth(shapes):
    """400 mm long: a gap of 0.2 mm is within the share of size, but wider than 0.05 mm."""
    vertices, triangles = shapes.box((0, 0, 0), (400, 40, 20))
    lid = np.flatnonzero(vertices[triangles][:, :, 2].min(axis=1) == 20)
    points = vertices[triangles].copy()
    points[lid, :, 2] += 0.2

    assert not shapes.solid((points.reshape(-1, 3), np.arange(36).reshape(-1, 3))).closed


def test_t_junctions_need_no_guess(shapes):
    """One side is split in four, its neighbours are not: unpaired edges, but no gap."""
    vertices, triangles = shapes.box((0, 0, 0), (40, 40, 40))
    top = vertices[triangles][:, :, 2].min(axis=1) == 40
    rest = triangles[~top]
    grid = np.array([[x, y, 40.0] for x in (0, 20, 40) for y in (0, 20, 40)])
    cells = [(0, 3, 4, 1), (1, 4, 5, 2), (3, 6, 7, 4), (4, 7, 8, 5)]
    tiles = np.array([t for a, b, c, d in cells for t in ((a, b, c), (a, c, d))])
    solid = shapes.solid(shapes.merged((vertices, rest), (grid, tiles)))

    assert not solid.closed
    assert kinds(solid) == ["cracks"]
    assert solid.invented == pytest.approx(0, abs=1e-12)
    assert solid.volume_mm3 == pytest.approx(64000)


def test_an_open_box_is_refused_with_edges_and_percent(shapes):
    """A cube without one side: 4 edges; 2 of 12 sides in the three cuts are missing, 17 %."""
    vertices, triangles = shapes.box((0, 0, 0), (60, 60, 60))
    rest = triangles[vertices[triangles][:, :, 2].min(axis=1) < 60]
    with pytest.raises(InputError) as caught:
        make_solid(vertices, rest, name="bracket", file="bracket.ply")

    assert str(caught.value) == (
        "bracket.ply: found an open surface: 4 unpaired edges; 17 % of the outline would be "
        "guessed, expected a closed surface; close the model and export it again"
    )


def test_a_heap_of_triangles_is_not_cut_for_minutes(shapes, monkeypatch):
    """Trial cuts pair up thousands of loose ends each: none is made of loose triangles."""

    def never(*_):
        raise AssertionError("a heap was cut")

    monkeypatch.setattr(mend, "outlines", never)
    vertices = np.random.default_rng(1).uniform(0, 100, (9000, 3))
    with pytest.raises(InputError, match="9000 unpaired edges of 9000"):
        shapes.solid((vertices, np.arange(9000).reshape(-1, 3)))


def test_loose_triangles_are_refused(shapes):
    chance = np.random.default_rng(3)
    vertices = chance.uniform(0, 50, (150, 1, 3)) + chance.uniform(-4, 4, (150, 3, 3))
    with pytest.raises(InputError, match="an open surface: 450 unpaired edges of 450"):
        shapes.solid((vertices.reshape(-1, 3), np.arange(450).reshape(-1, 3)))


def test_a_closed_surface_without_volume_is_refused(shapes):
    """A folded sheet drawn from both sides; the sides lie closer than the welding grid."""
    vertices = np.array([[0.0, 0, 0], [30, 0, 0], [30, 30, 0], [0, 30, 0], [0, 30, 30], [0, 0, 30]])
    sheet = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5]])
    twin = vertices + np.array([1e-7, 2e-7, -1e-7])
    with pytest.raises(InputError):
        shapes.solid(shapes.merged((vertices, sheet), (twin, sheet[:, ::-1])))


def test_triangles_that_all_fold_to_lines_are_refused(shapes):
    """Extent in three directions, but each triangle uses a corner twice."""
    vertices, _ = shapes.box((0, 0, 0), (10, 10, 10))
    with pytest.raises(InputError, match="encloses no volume"):
        shapes.solid((vertices, np.array([[0, 7, 7], [1, 6, 1]])))


def test_an_open_mesh_that_faces_inwards_is_turned(shapes):
    """Not closed, so judged by its cuts; afterwards its triangles face out all the same."""
    vertices, triangles = shapes.box((0, 0, 0), (60, 40, 20))
    lid = np.flatnonzero(vertices[triangles][:, :, 2].min(axis=1) == 20)
    points = vertices[triangles].copy()
    points[lid, :, 2] += 0.2
    inwards = np.arange(36).reshape(-1, 3)[:, ::-1]
    solid = shapes.solid((points.reshape(-1, 3), inwards))

    assert not solid.closed
    assert signed_volume(solid.vertices_mm, solid.triangles) > 0
    assert solid.volume_mm3 == pytest.approx(48000, rel=0.01)


def test_rounding_in_the_file_is_welded_without_a_word(shapes):
    """Loose corners that differ in the last bits of single precision are one corner.

    Boxes of 30 random sizes: in some of them a corner lies across two cells of the grid.
    """
    chance = np.random.default_rng(4)
    for _ in range(30):
        size = chance.uniform(20, 60, 3)
        vertices, triangles = shapes.box((0, 0, 0), size)
        loose = vertices[triangles].reshape(-1, 3)
        loose += chance.uniform(-1, 1, loose.shape) * 60 * 2.0**-23
        solid = shapes.solid((loose, np.arange(36).reshape(-1, 3)))

        assert solid.closed
        assert solid.repairs == ()
        assert solid.volume_mm3 == pytest.approx(size.prod(), rel=1e-5)


def test_trial_cuts_measure_volume_and_guess():
    """A right corner, abc / 6, pointed along each axis, and the same without one side.

    The midpoint rule over n slabs of a quadratic area errs by 1 / (4 n^2), 1e-4 here.
    """
    vertices = np.array([[0.0, 0, 0], [6, 0, 0], [0, 8, 0], [0, 0, 10]])
    triangles = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    whole = judge(vertices, triangles)

    assert whole.invented == 0
    assert whole.volume_mm3 == pytest.approx(80, rel=2e-4)
    assert judge(vertices, triangles[:3]).invented > MOST_SHARE


def bent(corners_of, count, width):
    """Return a band of `count` steps round a circle whose end meets its start swapped."""
    turns = 2 * np.pi * np.arange(count) / count
    rims = [corners_of(turns, w) for w in (-width, width)]
    here = np.arange(count)
    low_next = np.append(here[1:], count)
    high_next = np.append(here[1:] + count, 0)
    faces = [
        np.stack([here, low_next, here + count], axis=1),
        np.stack([here + count, low_next, high_next], axis=1),
    ]
    return np.concatenate(rims), np.concatenate(faces)


def test_a_surface_with_one_side_is_not_called_closed(shapes):
    """A Moebius strip has no inside and a rim; it is refused as open."""

    def strip(turns, w):
        radius = 20 + w * np.cos(turns / 2)
        return np.stack(
            [radius * np.cos(turns), radius * np.sin(turns), w * np.sin(turns / 2)], axis=1
        )

    with pytest.raises(InputError, match="open surface"):
        shapes.solid(bent(strip, 40, 4))


def test_overlapping_bodies_with_a_crack_still_count_once(shapes):
    """Facing, not parity, decides inside an open mesh: the shared 10 mm are no hole."""
    lower, upper = shapes.box((0, 0, 0), (60, 60, 35)), shapes.box((5, 5, 25), (55, 55, 60))
    vertices, triangles = shapes.merged(lower, upper)
    points = vertices[triangles].copy()
    points[0] += (-0.3, 0, 0)  # one triangle stands off: a crack too wide to pull shut
    solid = shapes.solid((points.reshape(-1, 3), np.arange(72).reshape(-1, 3)))

    assert not solid.closed
    assert solid.volume_mm3 == pytest.approx(60 * 60 * 35 + 50 * 50 * 25, rel=0.02)


@pytest.mark.parametrize("size", [0.004, 3e5])
def test_absurd_sizes_are_refused(shapes, size):
    with pytest.raises(InputError, match="largest extent"):
        shapes.solid(shapes.box((0, 0, 0), (size, size, size)))


def test_a_flat_mesh_is_refused():
    square = np.array([[0.0, 0, 0], [30, 0, 0], [30, 30, 0], [0, 30, 0]])
    with pytest.raises(InputError, match="flat mesh"):
        make_solid(square, np.array([[0, 1, 2], [0, 2, 3]]), name="s", file="s.stl")


@pytest.mark.parametrize("away", [1.1e6, 1e9])
def test_a_part_too_far_from_the_origin_is_told_apart_from_a_wrong_unit(write, shapes, away):
    """1e9 in single precision comes in steps of 64: a box of 20 has no extent left."""
    box = shapes.box((away, away, away), (away + 20, away + 20, away + 5))
    with pytest.raises(InputError, match=r"mm from the origin.*single precision has lost"):
        read_solid(write(box))


def test_the_limit_of_distance_keeps_what_welding_keeps(write, shapes):
    """2^-20 of 9.9 m is 0.0094 mm: a box of 0.5 mm with its corners in that grid."""
    box = shapes.box((9900, 0, 0), (9900.5, 0.5, 0.5))

    assert read_solid(write(box)).volume_mm3 == pytest.approx(0.125, rel=0.01)


def test_a_vertex_that_no_triangle_uses_does_not_count(shapes):
    vertices, triangles = shapes.box((0, 0, 0), (10, 10, 10))
    solid = shapes.solid((np.concatenate([vertices, [[1e9, 0, 0]]]), triangles))

    assert solid.volume_mm3 == pytest.approx(1000)
