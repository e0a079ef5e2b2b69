"""Files that are damaged, hostile or no mesh: one clear sentence, never another error."""

import io
import os
import subprocess
import sys
import tracemalloc
import zipfile

import numpy as np
import pytest
import trimesh

from planner.errors import InputError
from planner.solid import archive, limits, threemf_xml
from planner.solid.model import Solid
from planner.solid.read import read_solid

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"


def refusal(path, **options):
    """Return the one sentence with which a file is refused."""
    with pytest.raises(InputError) as caught:
        read_solid(path, **options)
    text = str(caught.value)
    assert "\n" not in text
    assert text.startswith(f"{path}:")
    return text.removeprefix(f"{path}: ")


@pytest.fixture
def cube(shapes):
    return shapes.box((0, 0, 0), (10, 10, 10))


def test_a_cut_off_binary_names_both_sizes(write, shapes, cube):
    data = shapes.stl_bytes(*cube)
    text = refusal(write(data[:500]))

    assert "found 500 bytes, expected 84 + 50 x 12 = 684 for the 12 triangles" in text
    assert "684" in refusal(write(data + b"x"))


def test_a_cut_off_text(write, cube):
    data = trimesh.Trimesh(*cube, process=False).export(file_type="stl_ascii").encode()

    facet = data.rindex(b"facet normal")

    assert "found a text STL without an end" in refusal(write(data[:facet]))
    assert "found 33 vertices in 12 complete facets" in refusal(
        write(data[:facet] + data[data.rindex(b"endloop") :])
    )
    assert "the end of the file where a coordinate" in refusal(
        write(data[: data.rindex(b"vertex") + 9] + b"\nendsolid")
    )


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_numbers_that_are_none(write, shapes, cube, value):
    vertices = cube[0].copy()
    vertices[5, 1] = value

    assert "no finite number" in refusal(write((vertices, cube[1])))
    assert refusal(write((vertices, cube[1]))).startswith("triangle ")


def test_a_word_in_place_of_a_number(write, cube):
    data = trimesh.Trimesh(*cube, process=False).export(file_type="stl_ascii")
    first = data.index("vertex") + len("vertex ")
    broken = data[:first] + "six " + data[first:].split(" ", 1)[1]

    assert "found 'six' where a coordinate should be" in refusal(write(broken.encode()))


def test_an_endless_number_is_refused_before_it_widens_all_others(write, cube):
    """An array of texts is as wide as its longest: 36 x 1,000,000 bytes per copy."""
    data = trimesh.Trimesh(*cube, process=False).export(file_type="stl_ascii")
    endless = data.replace("vertex 0", "vertex " + "0" * 1_000_000, 1).encode()
    tracemalloc.start()
    text = refusal(write(endless))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert text.startswith(f"found '{'0' * 59}…' where a coordinate should be")
    assert most < 20e6


@pytest.mark.parametrize("word", ["1_0", "0x1p3", "\u0663"])
def test_numbers_that_only_a_programming_language_knows(write, cube, word):
    data = trimesh.Trimesh(*cube, process=False).export(file_type="stl_ascii")

    assert "where a coordinate should be" in refusal(
        write(data.replace("vertex 0", f"vertex {word}", 1).encode())
    )


VERTICES = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\n"
OFF = b"OFF\n4 1 0\n" + VERTICES.replace(b"v ", b"")
PLY_HEAD = b"ply\nformat ascii 1.0\nelement vertex 1\n"


@pytest.mark.parametrize(
    ("name", "content", "expected"),
    [
        ("part.stl", b"", "an empty file"),
        ("part.stl", b"<!DOCTYPE html><html><body>404</body></html>", "begin with '<!DOCTYPE"),
        ("part.stl", b"<html>" + b" " * 200, "expected a binary or text STL"),
        ("part.stl", b"PK\3\4" + b"\0" * 200, "expected a binary or text STL"),
        ("part.stl", bytes(84), "no triangles"),
        ("part.stl", b"solid nothing\nendsolid nothing\n", "0 complete facets"),
        ("part.3mf", b"<html></html>", "zip"),
        ("part.obj", b"<html></html>", "no triangles"),
        ("part.obj", b"v 0 0 0\nv 1 0\nv 0 1 1\nf 1 2 3\n", "three coordinates"),
        ("part.obj", b"v 0 0\nv 1 0\nv 0 1\nf 1 2 3\n", "three coordinates"),
        ("part.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", "vertex 9, expected one of the 3"),
        (
            "part.off",
            b"OFF\n3 2 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n",
            "the end after 3 vertices and 1 faces",
        ),
        ("part.obj", VERTICES + b"f 0 1 2\n", "5: found a face that uses vertex 0, expected 1 or"),
        ("part.obj", VERTICES + b"f 1 2 -5\n", "5: found a face that uses vertex -5"),
        ("part.obj", VERTICES + b"f 1 2 3.5\n", "uses vertex '3.5', expected a whole number"),
        ("part.obj", VERTICES + b"f 1 2\n", "5: found a face of 2 corners"),
        ("part.obj", VERTICES + b"f 1 2 " + b"9" * 30, "5: found a face that uses vertex 999"),
        ("part.obj", b"v 0 0 1_0\nf 1 1 1\n", "1: found a vertex at '0 0 1_0'"),
        ("part.obj", b"v 0 0 " + b"1" * 2_000_000, "a line of millions of letters"),
        ("part.off", OFF + b"30000000 0 1 2\n", "7: found the number of corners 30000000"),
        ("part.off", OFF + b"4 0 1 2\n", "a face of 4 corners that names 3"),
        ("part.off", OFF + b"3 0 1 4\n", "7: found a face that uses vertex 4, expected 0 to 3"),
        ("part.off", OFF + b"3 0 1 -1\n", "7: found a face that uses vertex -1"),
        ("part.off", OFF + b"3 0 1 2\n" * 2, "8: found more lines, expected the 1 faces"),
        ("part.off", b"OFF\n-4 1 0\n", "2: found -4 vertices and 1 faces announced"),
        ("part.off", b"OFF\n4 2000001 0\n", "the number of faces 2000001"),
        ("part.off", b"4OFF\n4 1 0\n", "'4OFF' at the start, expected the word OFF"),
        ("part.off", b"OFF BINARY\n\0\0", "'BINARY', expected the counts"),
        ("part.off", b"# nothing\n", "'' at the start"),
        ("part.ply", PLY_HEAD + b"element face 4000000000\nend_header\n", "4000000000 faces"),
        ("part.ply", PLY_HEAD + b"element face " + b"9" * 5000, "faces announced"),
        ("part.ply", b"ply\nformat ascii 1.0\nelement vertex 1\nend_header\n", "cannot be read"),
        ("part.step", b"ISO-10303-21;", "the extension '.step'"),
        ("part", b"solid", "the extension ''"),
    ],
)
def test_what_is_no_mesh(write, name, content, expected):
    assert expected in refusal(write(content, name))


def test_a_missing_file_and_a_directory(tmp_path):
    (tmp_path / "dir.stl").mkdir()

    assert "No such file" in refusal(tmp_path / "none.stl")
    assert "directory" in refusal(tmp_path / "dir.stl")


def test_a_pipe_and_a_device_are_not_opened(tmp_path):
    """Either would be read for ever; the child process is there to be stopped if it does."""
    os.mkfifo(tmp_path / "pipe.stl")
    (tmp_path / "zero.stl").symlink_to("/dev/zero")
    code = (
        "import sys, pathlib; from planner.solid.read import read_solid\n"
        "try: read_solid(pathlib.Path(sys.argv[1]))\n"
        "except Exception as error: print(error)"
    )
    for name in ("pipe.stl", "zero.stl"):
        said = subprocess.run(
            [sys.executable, "-c", code, tmp_path / name],
            check=True,
            timeout=60,
            capture_output=True,
            text=True,
        )
        assert "found a pipe or device, expected a mesh file" in said.stdout


def test_a_path_that_no_file_can_have(tmp_path):
    with pytest.raises(InputError, match="a path that no file can have"):
        read_solid(tmp_path / "a\0b.stl")


def test_an_unknown_unit(write, cube):
    assert "'furlong', expected one of micron, mm, cm" in refusal(write(cube), unit="furlong")


def test_too_many_triangles_and_too_many_bytes(write, cube, monkeypatch):
    """The limits themselves are lowered, so that the test need not write 300 MB."""
    path = write(cube)
    monkeypatch.setattr(limits, "MOST_TRIANGLES", 11)
    assert "found 12 triangles" in refusal(path)
    monkeypatch.setattr(limits, "MOST_BYTES", 683)
    assert "coarser tolerance" in refusal(path)


def test_fans_of_too_many_triangles_are_refused_before_they_are_made(write, monkeypatch):
    """Polygons of 6, 6 and 6 corners make 4, 8 and 12 triangles; so do the announced vertices."""
    monkeypatch.setattr(limits, "MOST_TRIANGLES", 11)
    fan = b"f 1 2 3 4 3 2\n"

    assert "found no triangles" not in refusal(write(VERTICES + 2 * fan, "part.obj"))
    assert "7: found polygons that make millions" in refusal(write(VERTICES + 3 * fan, "part.obj"))
    monkeypatch.setattr(limits, "MOST_VERTICES", 3)
    assert "4: found millions of vertices" in refusal(write(VERTICES, "part.obj"))


def package(parts):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return stream.getvalue()


def model(inside, head=""):
    return f'<?xml version="1.0"?>{head}<model xmlns="{CORE}">{inside}</model>'


def one(inside, head=""):
    return package({"3D/3dmodel.model": model(inside, head)})


CORNERS = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in np.eye(3).tolist())


def mesh(faces, vertices=CORNERS):
    return (
        f'<resources><object id="1"><mesh><vertices>{vertices}</vertices><triangles>{faces}'
        '</triangles></mesh></object></resources><build><item objectid="1"/></build>'
    )


FACE = '<triangle v1="0" v2="1" v3="2"/>'
OUTSIDE = '<!DOCTYPE model [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
GROWING = (
    '<!DOCTYPE model [<!ENTITY a "0123456789"><!ENTITY b "'
    + "&a;" * 10
    + '"><!ENTITY c "'
    + "&b;" * 10
    + '">]>'
)


@pytest.mark.parametrize(
    ("inside", "head", "expected"),
    [
        ("<metadata>&x;</metadata>", OUTSIDE, "document type or entity"),
        ("<metadata>&c;</metadata>", GROWING, "document type or entity"),
        ("<resources/>", "<!DOCTYPE model>", "document type or entity"),
        ("<resources/>", "", "no build item"),
        ("<resources>", "", "cannot be read"),
        (mesh('<triangle v1="0" v2="1"/>'), "", "a <triangle> element without v3"),
        (mesh('<triangle v1="0" v2="1" v3="7"/>'), "", "vertex 7"),
        (mesh('<triangle v1="0" v2="1" v3="-1"/>'), "", "object 1: a triangle that uses vertex -1"),
        (mesh(f'<triangle v1="0" v2="1" v3="{10**22}"/>'), "", f"uses vertex {10**22}, expected"),
        (mesh('<triangle v1="0" v2="1" v3="two"/>'), "", "object 1: a triangle with the corner"),
        (mesh('<triangle v1="0" v2="1" v3="1.5"/>'), "", "the corner '1.5', expected the number"),
        (mesh(FACE, CORNERS.replace('"1.0"', '"one"')), "", "object 1: a vertex at (one, 0.0"),
        (mesh(FACE, CORNERS.replace('"1.0"', '"1e308"')), "", "beyond all measure"),
        (mesh(FACE, CORNERS.replace('"1.0"', '"nan"')), "", "no finite number"),
        (mesh(FACE).replace('item objectid="1"', 'item objectid="2"'), "", "object '2'"),
        (mesh(FACE).replace("<item ", '<item transform="1 2" '), "", "twelve numbers"),
        (mesh(FACE).replace("<item ", '<item transform="' + "0 " * 12 + '" '), "", "above 0"),
    ],
)
def test_3mf_with_hostile_or_wrong_xml(write, inside, head, expected):
    assert expected in refusal(write(one(inside, head), "part.3mf"))


def test_components_that_contain_themselves_or_multiply(write, monkeypatch):
    loop = (
        '<resources><object id="1"><components><component objectid="1"/></components></object>'
        '</resources><build><item objectid="1"/></build>'
    )

    def ten(number):
        return f'<component objectid="{number}"/>' * 10

    levels = "".join(
        f'<object id="{n}"><components>'
        + f'<component objectid="{n - 1}"/>' * 10
        + "</components></object>"
        for n in range(2, 12)
    )
    many = mesh(FACE).replace("</resources>", levels + "</resources>")
    many = many.replace('item objectid="1"', 'item objectid="11"')
    empty = many.replace(FACE, "")
    assert "nested without end" in refusal(write(one(loop), "loop.3mf"))
    assert "components of components that multiply" in refusal(write(one(many), "many.3mf"))
    assert "components of components that multiply" in refusal(write(one(empty), "empty.3mf"))
    monkeypatch.setattr(limits, "MOST_TRIANGLES", 500)
    assert "more than 500 triangles" in refusal(write(one(many), "many.3mf"))


def test_what_an_xml_part_may_hold_is_counted_while_it_is_read(write, monkeypatch):
    """Vertices, triangles, elements of any kind: each limit is lowered to just below."""
    path = write(one(mesh(FACE * 4)), "part.3mf")
    for where, limit, value, expected in (
        (threemf_xml, "MOST_ELEMENTS", 14, "millions of elements"),
        (threemf_xml, "MOST_VERTICES", 2, "object 1: millions of vertices"),
        (limits, "MOST_TRIANGLES", 3, "object 1: millions of triangles"),
    ):
        with monkeypatch.context() as lower:
            lower.setattr(where, limit, value)
            assert expected in refusal(path)
        assert expected not in refusal(path)


def test_an_endless_number_in_a_3mf_needs_no_memory(write):
    """A table of texts is as wide as its longest: 9 x 900,000 letters of 4 bytes."""
    path = write(one(mesh(FACE, CORNERS.replace('"1.0"', f'"{"0" * 900_000}1"', 1))), "p.3mf")
    tracemalloc.start()
    text = refusal(path)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()

    assert text.startswith("found object 1: a vertex at (0000")
    assert len(text) < 400
    assert most < 30e6


@pytest.mark.parametrize(
    "transform", ["1e300 0 0 0 1e300 0 0 0 1e300 0 0 0", "nan 0 0 0 1 0 0 0 1 0 0 0"]
)
def test_a_transform_out_of_all_bounds_gives_one_sentence_and_no_warning(write, transform):
    """Warnings are errors in these tests."""
    inside = mesh(FACE).replace("<item ", f'<item transform="{transform}" ')

    assert "expected finite numbers of at most 1e+09" in refusal(write(one(inside), "p.3mf"))


def test_transforms_that_only_together_overflow(write):
    """1e9 to the power of 40 is more than a double holds."""
    levels = "".join(
        f'<object id="{n}"><components><component objectid="{n - 1}" '
        'transform="1e9 0 0 0 1e9 0 0 0 1e9 1e9 0 0"/></components></object>'
        for n in range(2, 21)
    )
    inside = mesh(FACE, CORNERS.replace("1.0", "1e300")).replace(
        "</resources>", levels + "</resources>"
    )
    inside = inside.replace('item objectid="1"', 'item objectid="20"')

    assert "no finite number" in refusal(write(one(inside), "p.3mf"))


def test_a_uniform_scale_however_small_keeps_the_volume(write, cube):
    """1e-5 cubed is 1e-15: small against 1, not against the transform's own numbers."""
    vertices = "".join('<vertex x="{}" y="{}" z="{}"/>'.format(*row) for row in cube[0] * 1e5)
    faces = "".join('<triangle v1="{}" v2="{}" v3="{}"/>'.format(*row) for row in cube[1].tolist())
    inside = mesh(faces, vertices).replace(
        "<item ", '<item transform="1e-5 0 0 0 1e-5 0 0 0 1e-5 0 0 0" '
    )

    assert read_solid(write(one(inside), "p.3mf")).volume_mm3 == pytest.approx(1000)


def test_texts_of_a_file_are_clipped_and_escaped_in_messages(write):
    long = "a&#10;b" * 2000
    unit = package(
        {"3D/3dmodel.model": model(mesh(FACE)).replace("<model ", f'<model unit="{long}" ')}
    )
    item = one(mesh(FACE).replace('item objectid="1"', f'item objectid="{long}"'))
    turned = one(mesh(FACE).replace("<item ", f'<item transform="{long}" '))
    twice = one(mesh(FACE).replace("<resources>", '<resources><object id="1"/>'))
    target = package(
        {
            "3D/3dmodel.model": model(mesh(FACE)),
            "_rels/.rels": f'<Relationships><Relationship Type="{threemf_xml.START_PART}"/>'
            "</Relationships>",
        }
    )

    assert "found the unit 'a\\nba\\nb" in refusal(write(unit, "unit.3mf"))
    assert "a reference to object 'a\\nba\\nb" in refusal(write(item, "item.3mf"))
    assert "found the transform 'a\\nba\\nb" in refusal(write(turned, "turned.3mf"))
    assert "found two objects '1'" in refusal(write(twice, "twice.3mf"))
    assert "a <Relationship> element without Target" in refusal(write(target, "target.3mf"))
    assert all(
        len(refusal(write(data, "part.3mf"))) < 300 for data in (unit, item, turned, twice, target)
    )


def test_archives_that_unpack_to_too_much(write, monkeypatch):
    """By ratio, by number of entries, by total; nothing is unpacked to find out."""
    padded = model("<!-- " + " " * 3_000_000 + "-->")
    assert "to 1, expected at most 100 to 1" in refusal(
        write(package({"3D/3dmodel.model": padded}), "ratio.3mf")
    )
    crowd = package({f"{n}.txt": "" for n in range(archive.MOST_ENTRIES + 1)})
    assert "1001 entries" in refusal(write(crowd, "crowd.3mf"))
    monkeypatch.setattr(archive, "MOST_UNPACKED", 1000)
    assert "MB unpacked" in refusal(
        write(one(mesh(FACE) + "<!-- " + "x" * 1000 + "-->"), "big.3mf")
    )


def test_a_damaged_or_modelless_archive(write):
    whole = one(mesh(FACE))

    assert "cannot be read" in refusal(write(whole[: len(whole) // 2], "half.3mf"))
    assert "no model part" in refusal(write(package({"readme.txt": "hello"}), "none.3mf"))


def samples(shapes):
    """One small file of each kind, as bytes."""
    ball = trimesh.Trimesh(*shapes.lathe([3, 9, 5], [0, 6, 12], 8), process=False)
    for kind in ("stl", "stl_ascii", "obj", "ply", "off", "3mf"):
        data = ball.export(file_type=kind)
        yield kind, data.encode() if isinstance(data, str) else data
    yield "plain.3mf", one(mesh(FACE * 4))


def damaged(data, chance):
    """Return the bytes cut off, with bits flipped, a stretch lost, or a stretch doubled."""
    at, other = sorted(chance.integers(0, len(data), 2).tolist())
    match chance.integers(4):
        case 0:
            return data[:other]
        case 1:
            flipped = bytearray(data)
            for place in chance.integers(0, len(data), 1 + chance.integers(8)):
                flipped[place] ^= 1 << chance.integers(8)
            return bytes(flipped)
        case 2:
            return data[:at] + data[at + 1 + (other - at) // 8 :]
        case _:
            return data[:other] + data[at:]


def verdict(path):
    """Read a file: the solid, or the sentence with which it is refused."""
    try:
        return read_solid(path)
    except InputError as error:
        return str(error)


@pytest.mark.parametrize("number", range(7))
def test_damaged_files_are_read_or_refused_and_nothing_else(write, shapes, number):
    """Cut, flipped, lost and doubled bytes, seeded: a solid or one sentence comes out."""
    kind, data = list(samples(shapes))[number]
    chance = np.random.default_rng(number)
    name = f"part.{kind.split('.')[-1].split('_')[0]}"
    verdicts = [verdict(write(damaged(data, chance), name)) for _ in range(60)]
    sentences = [said for said in verdicts if isinstance(said, str)]

    assert len(sentences) > 10
    assert all("\n" not in said for said in sentences)
    assert all(isinstance(said, str | Solid) for said in verdicts)


def test_damaged_xml_in_a_sound_archive(write, shapes):
    """The same for the text inside a 3MF, which the archive's checksum would hide."""
    ball = trimesh.Trimesh(*shapes.lathe([3, 9, 5], [0, 6, 12], 8), process=False)
    with zipfile.ZipFile(io.BytesIO(ball.export(file_type="3mf"))) as whole:
        text = whole.read("3D/3dmodel.model")
    chance = np.random.default_rng(11)
    for _ in range(100):
        said = verdict(write(package({"3D/3dmodel.model": damaged(text, chance)}), "part.3mf"))
        assert isinstance(said, Solid) or "\n" not in said
