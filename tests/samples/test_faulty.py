"""The files that are wrong on purpose get the verdict that their table promises."""

from __future__ import annotations

import re
from pathlib import Path

import make_faulty
import pytest
from toolwall.stl import binary_stl

from planner.errors import InputError
from planner.solid.read import read_solid

FAULTY = Path(__file__).parents[2] / "samples" / "faulty"
ROW = re.compile(r"^\| ([\w./]+\.\w+) \| (.+) \| (\w+) \|$", re.MULTILINE)
VERDICTS = {
    name: verdict for name, _, verdict in ROW.findall((FAULTY / "README.md").read_text("utf-8"))
}


def of(verdict: str, *, meshes: bool) -> list[str]:
    return [
        name
        for name, given in VERDICTS.items()
        if given == verdict and name.startswith("meshes/") is meshes
    ]


def test_table_names_every_file():
    """A file nobody describes is a file nobody checks."""
    files = {
        path.relative_to(FAULTY).as_posix()
        for path in FAULTY.rglob("*")
        if path.is_file() and path.name != "README.md"
    }

    assert set(VERDICTS) == files
    assert set(VERDICTS.values()) == {"refused", "repaired", "remarked", "accepted"}


def test_files_stay_small():
    """Under 600 kB in all, the one that unpacks to 120 MB included."""
    assert sum(path.stat().st_size for path in FAULTY.rglob("*") if path.is_file()) < 600_000


def test_files_are_what_the_script_makes():
    """Everything that holds no solid from the kernel is equal to the byte."""
    for name, data in make_faulty.faulty().items():
        committed = (FAULTY / "meshes" / name).read_bytes()
        if name.endswith(".3mf"):  # packed sizes depend on the machine's zlib
            assert committed[:4] == data[:4], name
        else:
            assert len(committed) == len(data), name


def test_overlapping_boxes_are_the_published_trap():
    """The signed sum counts the common 36 000 mm3 twice: 144 000 + 108 000 against 216 000."""
    corners = make_faulty.overlapping().astype(float)
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    volume = (a[:, [1, 2, 0]] * b[:, [2, 0, 1]] - a[:, [2, 0, 1]] * b[:, [1, 2, 0]]) * c

    assert volume.sum() / 6 == pytest.approx(252_000)
    assert binary_stl(make_faulty.overlapping(), "x")[80:84] == (24).to_bytes(4, "little")


# What the refusal must name, so that the reader knows what to put right.
MESH_WORDS = {
    "open_box.stl": ["open surface", "4 unpaired edges"],
    "flat_sheet.stl": ["flat", "30 x 30 x 0 mm"],
    "soup.stl": ["open surface", "450 unpaired edges"],
    "empty.stl": ["an empty file"],
    "no_triangles.stl": ["no triangles"],
    "truncated.stl": ["542 bytes", "1084"],
    "infinite.stl": ["triangle 3", "no finite number"],
    "nan_text.stl": ["triangle 1", "no finite number"],
    "word_text.stl": ["'six'"],
    "cut_text.stl": ["cut off"],
    "web_page.stl": ["<!DOCTYPE html>", "STL"],
    "missing_corner.obj": ["OBJ", "damaged"],
    "short.off": ["OFF", "damaged"],
    "empty.3mf": ["an empty file"],
    "not_a_package.3mf": ["zip"],
    "no_model.3mf": ["no model"],
    "bomb.3mf": ["100 to 1"],
    "entity_outside.3mf": ["entity"],
    "entity_growing.3mf": ["entity"],
    "unknown_unit.3mf": ["furlong"],
}
KEY_MM3 = 527.0098  # closed form of the bow-tie key, see test_volumes.py
HALF_PANEL_MM3 = 20945.28
VOLUMES_MM3 = {
    # Each triangle sits off by 5 um at most: that much on a surface of 11 441 mm2.
    "cracked.stl": pytest.approx(HALF_PANEL_MM3, abs=0.005 * 11_441),
    # One triangle of about 0.5 mm2, up to 16 mm from the middle.
    "small_hole.stl": pytest.approx(KEY_MM3, abs=0.5 * 16 / 3),
    "inside_out.stl": pytest.approx(KEY_MM3, rel=1e-4),
    "half_inside_out.stl": pytest.approx(KEY_MM3, rel=1e-4),
    "overlapping_bodies.stl": pytest.approx(216_000, rel=1e-6),
    "touching_edge.stl": pytest.approx(16_000, rel=1e-6),
    "crumbs.stl": pytest.approx(KEY_MM3, rel=1e-4),
    "several_solids.stl": pytest.approx(2 * KEY_MM3, rel=1e-4),
    "thin_wall.stl": pytest.approx(40 * 40 * 30 - 39.4 * 39.4 * 29.1, rel=1e-4),
    "too_large.stl": pytest.approx(450 * 30 * 30, rel=1e-6),
    "in_inches.stl": pytest.approx(44229.3 / 25.4**3, rel=1e-4),
    "in_metres.stl": pytest.approx(7677.46 / 1000**3, rel=1e-4),
}


@pytest.mark.parametrize("name", of("refused", meshes=True))
def test_mesh_is_refused_in_one_line(name):
    """The message names the file and the fault; nothing else escapes."""
    file = FAULTY / name

    with pytest.raises(InputError) as refusal:
        read_solid(file)
    text = str(refusal.value)
    assert text.startswith(str(file))
    assert "\n" not in text
    for words in MESH_WORDS[file.name]:
        assert words in text


@pytest.mark.parametrize(
    ("name", "verdict"),
    [
        (name, verdict)
        for verdict in ("repaired", "remarked", "accepted")
        for name in of(verdict, meshes=True)
    ],
)
def test_mesh_is_taken_with_the_right_volume(name, verdict):
    """A repair is told; a size that looks wrong is only remarked on; the rest is silent."""
    solid = read_solid(FAULTY / name)
    kinds = {repair.kind for repair in solid.repairs}

    assert solid.volume_mm3 == VOLUMES_MM3[Path(name).name]
    if verdict == "repaired":
        assert kinds
        assert "scale" not in kinds
    elif verdict == "remarked":
        assert kinds == {"scale"}
    else:
        assert not kinds


def test_small_hole_is_owned_up_to():
    """What had to be guessed is told as a share, above 0 and under the 5 % of refusal."""
    assert 0 < read_solid(FAULTY / "meshes" / "small_hole.stl").invented < 0.05


FORMATS = sorted((FAULTY.parent / "formats").iterdir())


@pytest.mark.parametrize("file", FORMATS, ids=lambda file: file.name)
def test_one_part_reads_alike_in_every_format(file):
    """Seven digits in text and float32 in binary agree to 1e-5; inches are converted."""
    solid = read_solid(file)

    assert solid.closed
    assert not solid.repairs
    assert solid.volume_mm3 == pytest.approx(1611.28, rel=1e-5)
    assert solid.bounds_mm[1] - solid.bounds_mm[0] == pytest.approx((22.8, 27.4, 4), abs=1e-4)


def test_the_formats_are_all_there():
    """STL (binary, text, binary that says 'solid'), OBJ, PLY, OFF and 3MF in two units."""
    assert {file.suffix for file in FORMATS} == {".stl", ".obj", ".ply", ".off", ".3mf"}
    assert {file.name for file in FORMATS} == set(make_faulty.sound())
