"""Files of every kind, written by other libraries, come back as the same solid in mm."""

import io
import zipfile

import lib3mf
import numpy as np
import pytest
import stl
import trimesh

from planner.errors import InputError
from planner.solid.obj import read_obj
from planner.solid.off import read_off
from planner.solid.read import read_solid

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"


@pytest.fixture
def stack(shapes):
    return shapes.lathe([8, 20, 14, 3], [0, 4, 30, 41], 37)


@pytest.fixture
def stack_mm3(shapes):
    return shapes.lathe_volume([8, 20, 14, 3], [0, 4, 30, 41], 37)


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply", "off", "3mf"])
def test_files_written_by_trimesh(write, stack, stack_mm3, kind):
    """Single precision in binary STL and PLY: 2^-24 per coordinate, so 1e-6 of a volume."""
    written = trimesh.Trimesh(*stack, process=False).export(file_type=kind)
    data = written.encode() if isinstance(written, str) else written
    solid = read_solid(write(data, f"part.{kind.split('_')[0]}"))

    assert solid.closed
    assert solid.repairs == ()
    assert solid.name == "part"
    assert len(solid.triangles) == len(stack[1])
    assert solid.volume_mm3 == pytest.approx(stack_mm3, rel=1e-6)
    assert solid.bounds_mm == pytest.approx(
        np.array([stack[0].min(axis=0), stack[0].max(axis=0)]), rel=1e-6
    )


def test_a_text_ply(write, stack, stack_mm3):
    data = trimesh.Trimesh(*stack, process=False).export(file_type="ply", encoding="ascii")

    assert read_solid(write(data, "part.ply")).volume_mm3 == pytest.approx(stack_mm3, rel=1e-6)


@pytest.mark.parametrize("mode", [stl.Mode.ASCII, stl.Mode.BINARY])
def test_files_written_by_numpy_stl(write, tmp_path, stack, stack_mm3, mode):
    mesh = stl.mesh.Mesh(np.zeros(len(stack[1]), dtype=stl.mesh.Mesh.dtype))
    mesh.vectors[:] = stack[0][stack[1]]
    mesh.save(str(tmp_path / "part.stl"), mode=mode)

    assert read_solid(tmp_path / "part.stl").volume_mm3 == pytest.approx(stack_mm3, rel=1e-6)


def test_a_binary_file_may_call_itself_solid(write, shapes, stack, stack_mm3):
    """The first word decides nothing: the size fits the count, so it is binary."""
    data = shapes.stl_bytes(*stack, header=b"solid of revolution\nfacet normal 0 0 1")

    assert read_solid(write(data)).volume_mm3 == pytest.approx(stack_mm3, rel=1e-6)


def text_of(mesh, name="thing", end="\n"):
    lines = [f"solid {name}"]
    for corners in mesh[0][mesh[1]]:
        lines += ["  facet normal 0 0 0", "    outer loop"]
        lines += ["      vertex {:.9e} {:.9e} {:.9e}".format(*corner) for corner in corners]
        lines += ["    endloop", "  endfacet"]
    return end.join([*lines, f"endsolid {name}", ""]).encode()


def test_all_solids_of_a_text_file_are_read(write, shapes):
    first = text_of(shapes.box((0, 0, 0), (10, 10, 10)), "first vertex of facet")
    second = text_of(shapes.box((20, 0, 0), (30, 10, 10)), "")

    assert read_solid(write(first + second)).volume_mm3 == pytest.approx(2000)


@pytest.mark.parametrize(
    "change",
    [
        bytes.upper,
        lambda data: data.replace(b"\n", b"\r\n"),
        lambda data: data.replace(b"\n", b"\r"),
        lambda data: b"\xef\xbb\xbf" + data,
        lambda data: b"\n" + data.replace(b"\n  ", b"\n\t") + b"\n\n",
    ],
)
def test_capitals_and_line_ends_of_text_do_not_matter(write, shapes, change):
    data = change(text_of(shapes.box((0, 0, 0), (10, 10, 10))))

    assert read_solid(write(data)).volume_mm3 == pytest.approx(1000)


def test_polygons_of_an_obj_are_cut_up(write):
    quads = """v 0 0 0\nv 10 0 0\nv 10 20 0\nv 0 20 0\nv 0 0 5\nv 10 0 5\nv 10 20 5\nv 0 20 5
mtllib no_such_file.mtl\no box\nf 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf -8 -4 -1 -5
"""

    assert read_solid(write(quads.encode(), "box.obj")).volume_mm3 == pytest.approx(1000)


def box_lines(shapes, first):
    """Return the vertex lines of a box of 10 x 20 x 5 and the corners of its faces."""
    vertices, triangles = shapes.box((0, 0, 0), (10, 20, 5))
    return (
        ["{:g} {:g} {:g}".format(*row) for row in vertices],
        ["{} {} {}".format(*row) for row in (triangles + first).tolist()],
    )


@pytest.mark.parametrize(
    "head",
    [
        "OFF\n8 12 0\n",
        "OFF 8 12 18\n",
        "OFF\n8 12\n",
        "OFF\n8 12 0 # made by somebody\n",
        "# 3 4\nOFF # 1 2 3\n\n# 5 6 7\n  8 12 0\n",
        "\ufeffOFF\n" + "\n" * 6000 + " " * 6000 + "\n8 12 0 # x\n",
        "CNOFF\r\n8 12 0\r\n",
    ],
)
@pytest.mark.parametrize("tail", ["", " 255 0 0", " # comment"])
def test_comments_blank_lines_and_colours_of_an_off(write, shapes, head, tail):
    """Counts of edges may be missing; comments may stand anywhere."""
    vertices, faces = box_lines(shapes, 0)
    lines = [f"{row}{tail}" for row in vertices] + [f"3 {row}{tail}" for row in faces]
    solid = read_solid(write((head + "\n".join(lines)).encode(), "box.off"))

    assert solid.volume_mm3 == pytest.approx(1000)
    assert solid.repairs == ()


def test_polygons_of_an_off_are_cut_up(write):
    """The first face has a vertex in the middle of an edge, as some programs write it."""
    text = """OFF
9 6 0
0 0 0\n10 0 0\n10 20 0\n0 20 0\n0 0 5\n10 0 5\n10 20 5\n0 20 5\n5 0 0
5 3 2 1 8 0\n4 4 5 6 7\n5 0 8 1 5 4\n4 1 2 6 5\n4 2 3 7 6\n4 3 0 4 7
"""

    assert read_solid(write(text.encode(), "box.off")).volume_mm3 == pytest.approx(1000)


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_what_else_may_stand_in_an_obj(write, shapes, end):
    """Comments, continued lines, colours, normals, textures and groups by the thousand."""
    vertices, faces = box_lines(shapes, 1)
    lines = ["mtllib /etc/none", "# v 1 2 3", "vn 0 0 1", "vt 0 0"]
    lines += [f" v\t{row} 0.5 0.5 0.5 # corner" for row in vertices]
    for number in range(3000):
        lines += [f"o thing {number}", f"usemtl look {number}", "s off", "l 1 2"]
    for row in faces:
        a, b, c = row.split()
        lines += [f"g side {a}", f"f {a}/1/1 {b}//1 \\", f"{c}/1"]
    solid = read_solid(write(end.join(lines).encode(), "box.obj"))

    assert solid.volume_mm3 == pytest.approx(1000)
    assert solid.repairs == ()


@pytest.mark.parametrize("kind", ["obj", "off"])
def test_text_meshes_agree_with_trimesh(write, stack, kind):
    """Outside check: the same vertices and faces in the same order, of a file in its own hand."""
    data = trimesh.Trimesh(*stack, process=False).export(file_type=kind).encode()
    theirs = trimesh.load_mesh(io.BytesIO(data), file_type=kind, process=False)
    ours = {"obj": read_obj, "off": read_off}[kind](data, file="part")

    assert ours.vertices == pytest.approx(np.array(theirs.vertices), abs=0)
    assert (ours.triangles == theirs.faces).all()


@pytest.mark.parametrize(
    ("unit", "factor"),
    [("mm", 1), ("cm", 10), ("in", 25.4), ("inch", 25.4), ("m", 1000), ("foot", 304.8)],
)
def test_a_declared_unit_is_converted(write, shapes, unit, factor):
    """International inch and foot of 1959: 25.4 mm and 304.8 mm exactly."""
    path = write(shapes.box((0, 0, 0), (1, 1, 1)))

    assert read_solid(path, unit=unit).volume_mm3 == pytest.approx(factor**3)


@pytest.mark.parametrize("size", [3.9, 1600])
def test_a_suspicious_size_is_remarked_and_not_converted(write, shapes, size):
    """STL states no unit: the remark shows the size read as mm, inch and m."""
    solid = read_solid(write(shapes.box((0, 0, 0), (size, size, size))))
    (remark,) = solid.repairs

    assert remark.kind == "scale"
    for text in (f"{size:g} mm", f"{size * 25.4:.4g} mm", f"{size * 1000:.4g} mm", "no unit"):
        assert text in remark.text
    assert solid.volume_mm3 == pytest.approx(size**3, rel=1e-6)


def test_usual_sizes_are_not_remarked(write, shapes):
    for size in (5, 1000):
        assert read_solid(write(shapes.box((0, 0, 0), (size, size, size)))).repairs == ()


def package(model, name="3D/3dmodel.model", more=None):
    """Return a 3MF of one model part, without relations unless given."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, model)
        for other, text in (more or {}).items():
            archive.writestr(other, text)
    return stream.getvalue()


def object_xml(mesh, number=1, extra=""):
    vertices = "".join('<vertex x="{}" y="{}" z="{}"/>'.format(*row) for row in mesh[0].tolist())
    faces = "".join('<triangle v1="{}" v2="{}" v3="{}"/>'.format(*row) for row in mesh[1].tolist())
    return (
        f'<object id="{number}" {extra}><mesh><vertices>{vertices}</vertices>'
        f"<triangles>{faces}</triangles></mesh></object>"
    )


def model_xml(objects, items='<item objectid="1"/>', unit=""):
    return (
        f'<?xml version="1.0"?><model {unit} xmlns="{CORE}" xmlns:p="{PRODUCTION}">'
        f"<resources>{objects}</resources><build>{items}</build></model>"
    )


@pytest.fixture
def cube(shapes):
    return shapes.box((0, 0, 0), (10, 10, 10))


@pytest.mark.parametrize(
    ("unit", "mm"),
    [("", 1), ('unit="inch"', 25.4), ('unit="centimeter"', 10), ('unit="micron"', 1e-3)],
)
def test_the_unit_of_a_3mf_is_believed(write, shapes, unit, mm):
    """3MF core specification 3.4: six units, millimetre by default."""
    side = 20 / mm
    path = write(
        package(model_xml(object_xml(shapes.box((0, 0, 0), (side,) * 3)), unit=unit)), "p.3mf"
    )

    assert read_solid(path).volume_mm3 == pytest.approx(8000)
    assert read_solid(path).repairs == ()


def test_a_job_that_contradicts_the_unit_of_a_3mf_is_refused(write, cube):
    path = write(package(model_xml(object_xml(cube), unit='unit="inch"')), "p.3mf")
    with pytest.raises(InputError, match="found the unit in in the file, expected mm"):
        read_solid(path, unit="mm")

    assert read_solid(path, unit="in").volume_mm3 == pytest.approx(254**3)


def test_transforms_of_items_and_components_are_applied_in_turn(write, cube):
    """3MF core specification 3.3: row vectors, the last row is the shift.

    The component is stretched three-fold along x, then the item turns x to y and shifts.
    """
    objects = object_xml(cube) + (
        '<object id="2"><components><component objectid="1" '
        'transform="3 0 0 0 1 0 0 0 1 0 0 0"/></components></object>'
    )
    items = '<item objectid="2" transform="0 1 0 -1 0 0 0 0 1 100 0 7"/>'
    solid = read_solid(write(package(model_xml(objects, items)), "p.3mf"))

    assert solid.bounds_mm == pytest.approx(np.array([[90, 0, 7], [100, 30, 17]]))
    assert solid.volume_mm3 == pytest.approx(3000)


def test_a_mirroring_transform_does_not_turn_the_part_inside_out(write, cube):
    items = '<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>'
    solid = read_solid(write(package(model_xml(object_xml(cube), items)), "p.3mf"))

    assert solid.repairs == ()
    assert solid.bounds_mm[0] == pytest.approx([-10, 0, 0])


def test_only_what_is_built_is_read_and_support_is_left_out(write, cube, shapes):
    """Objects without a build item are not output (3MF 3.4.3); support is no part."""
    far = shapes.box((50, 0, 0), (60, 10, 10))
    objects = object_xml(cube) + object_xml(far, 2) + object_xml(far, 3, 'type="support"')
    items = '<item objectid="1"/><item objectid="3"/>'
    solid = read_solid(write(package(model_xml(objects, items)), "p.3mf"))

    assert solid.volume_mm3 == pytest.approx(1000)
    assert [repair.kind for repair in solid.repairs] == ["3MF objects", "3MF objects"]


def test_objects_in_another_part_and_a_named_start_part(write, cube):
    """Relations name the start part; the production extension's path names other parts."""
    objects = (
        '<object id="5"><components><component p:path="/3D/Objects/cube.model" objectid="1" '
        'transform="1 0 0 0 1 0 0 0 1 1 2 3"/></components></object>'
    )
    relations = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        '<Relationship Target="/3D/start.model" Id="r" '
        'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
    )
    data = package(
        model_xml(objects, '<item objectid="5"/>'),
        "3D/start.model",
        {"_rels/.rels": relations, "3D/Objects/cube.model": model_xml(object_xml(cube), "")},
    )

    assert read_solid(write(data, "p.3mf")).bounds_mm[0] == pytest.approx([1, 2, 3])


def test_a_3mf_written_by_the_reference_library(tmp_path, stack, stack_mm3):
    """Outside check: lib3mf, with a component of a component, in inches."""
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.Inch)
    mesh = model.AddMeshObject()
    mesh.SetGeometry(
        [lib3mf.Position((float(x), float(y), float(z))) for x, y, z in stack[0] / 25.4],
        [lib3mf.Triangle(tuple(int(i) for i in row)) for row in stack[1]],
    )
    inner, outer = model.AddComponentsObject(), model.AddComponentsObject()
    inner.AddComponent(mesh, wrapper.GetTranslationTransform(1.0, 0.0, 0.0))
    outer.AddComponent(inner, wrapper.GetTranslationTransform(0.0, 2.0, 0.0))
    model.AddBuildItem(outer, wrapper.GetTranslationTransform(0.0, 0.0, 3.0))
    path = tmp_path / "part.3mf"
    model.QueryWriter("3mf").WriteToFile(str(path))
    solid = read_solid(path)

    assert solid.volume_mm3 == pytest.approx(stack_mm3, rel=1e-5)
    low = stack[0].min(axis=0) + np.array([25.4, 50.8, 76.2])
    assert solid.bounds_mm[0] == pytest.approx(low, abs=1e-3)


def test_our_reading_of_a_3mf_agrees_with_trimesh(write, cube):
    """Outside check: the same nested transforms through trimesh's scene graph."""
    objects = object_xml(cube) + (
        '<object id="2"><components>'
        '<component objectid="1" transform="2 0 0 0 1 0 0 0 1 5 0 0"/>'
        '<component objectid="1" transform="0 1 0 -1 0 0 0 0 1 -40 0 0"/></components></object>'
    )
    items = '<item objectid="2" transform="0 0 1 1 0 0 0 1 0 1 2 3"/>'
    path = write(package(model_xml(objects, items)), "p.3mf")
    theirs = trimesh.load_scene(path).to_mesh()

    ours = read_solid(path)
    assert ours.bounds_mm == pytest.approx(theirs.bounds)
    assert ours.volume_mm3 == pytest.approx(theirs.volume)
