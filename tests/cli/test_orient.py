"""`platewright orient` as a person or a script meets it."""

from __future__ import annotations

import json
from xml.etree import ElementTree as ET

import pytest

from planner.cli.main import run
from planner.shipped import workshop_dir

HANGER = workshop_dir() / "meshes" / "hanger.stl"
LOAD = """\
force_n: [0, -20, 0]
on: {box: [[6, 11, 0], [9.6, 13, 4]]}
held: {box: [[-10, -12, -1], [0.1, 17, 5]]}
sustained: true
"""


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """Return a folder in which what one test worked out is found by the others."""
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(autouse=True)
def _remember(kept, monkeypatch):
    monkeypatch.setenv("PLATEWRIGHT_CACHE", str(kept))


@pytest.fixture
def load_file(tmp_path):
    path = tmp_path / "load.yaml"
    path.write_text(LOAD)
    return path


def orient(*arguments):
    return run(["orient", str(HANGER), "--unit", "mm", *map(str, arguments)])


def test_json_holds_the_contract(load_file, capsys):
    """Best first, every promised key, the direction as given, the words that do not promise."""
    assert orient("--load", load_file, "--json", "--material", "petg", "--infill", "1") == 0

    answer = json.loads(capsys.readouterr().out)
    assert answer["schema"] == "platewright/orient/1"
    assert (answer["material"], answer["infill"], answer["walls"]) == ("petg", 1, 3)
    keys = {"up", "layer_tension_mpa", "layer_shear_mpa", "safety_factor", "support_mm3"}
    for one in (*answer["directions"], answer["as_given"]):
        assert keys | {"height_mm", "stable"} <= set(one)
    best = max(one["safety_factor"] for one in answer["directions"])
    assert answer["directions"][0]["safety_factor"] >= 0.9 * best
    assert answer["as_given"]["up"] == "+z"
    assert "test one to failure before you trust it overhead" in answer["caution"]


def test_the_table_says_why_and_what_is_assumed(load_file, capsys):
    """A person reads the reason, the assumptions and the caution."""
    assert orient("--load", load_file) == 0

    words = " ".join(capsys.readouterr().out.split())
    assert "Recommended:" in words
    assert "Taken for granted:" in words
    assert "test one to failure" in words


def test_the_picture_is_a_small_svg_of_its_own(load_file, tmp_path, capsys):
    """Well-formed, two sides, nothing fetched, and never over a file that is there."""
    target = tmp_path / "hanger.svg"

    assert orient("--load", load_file, "--picture", target) == 0
    text = target.read_text()
    assert orient("--load", load_file, "--picture", target) == 2
    assert "hanger.svg" in capsys.readouterr().err

    root = ET.fromstring(text)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert text.count("the weakest layer</title>") == 2
    assert "href" not in text
    assert len(text) < 400_000


FAULTS = [
    ("force_n: [0, 0, 0]\non: +z\nheld: -z\n", "a force of 0 N"),
    ("force_n: [0, 0, 1e-300]\non: +z\nheld: -z\n", "at least 1e-06 N"),
    ("on: +z\nheld: -z\n", "no force_n"),
    ("force_n: [0, 0, -5]\non: +z\nheld: +z\n", "two different faces"),
    ("force_n: [0, 0, -5]\non: +z\nheld: {box: [[90, 90, 90], [91, 91, 91]]}\n", "no triangle"),
    ("loads: [{force_n: [0, 0, -5], on: +z, held: -z}]\non: +z\n", "one of the two"),
    ("force_n: [0, 0, -5]\non: +z\nheld: -z\nclamped: true\n", "clamped"),
]


@pytest.mark.parametrize(("text", "said"), FAULTS)
def test_a_faulty_load_is_one_line(tmp_path, capsys, text, said):
    """Exit code 2 and a line that names the file, nothing on stdout."""
    path = tmp_path / "load.yaml"
    path.write_text(text)

    assert orient("--load", path, "--json") == 2

    told = capsys.readouterr()
    assert told.out == ""
    (line,) = told.err.splitlines()
    assert "load.yaml" in line
    assert said in line


def test_several_loads_stand_in_a_list(tmp_path, capsys):
    """The worst of them counts: 50 N beside 20 N bear 0.4 of what 20 N beside 1 N do."""
    path = tmp_path / "load.yaml"
    case = "{{force_n: [0, {}, 0], on: {{box: [[6, 11, 0], [9.6, 13, 4]]}}, held: -x}}"
    factors = []
    for forces in ((-20, -1), (-20, -50)):
        path.write_text(f"loads: [{', '.join(case.format(force) for force in forces)}]\n")
        assert orient("--load", path, "--json") == 0
        factors.append(json.loads(capsys.readouterr().out)["as_given"]["safety_factor"])

    assert factors[1] == pytest.approx(0.4 * factors[0], rel=1e-4)


@pytest.mark.parametrize("name", ["load.yaml", "part.stl"])
def test_the_picture_never_replaces_what_is_read(load_file, tmp_path, name, capsys):
    """Not even with --force."""
    mesh = tmp_path / "part.stl"
    mesh.write_bytes(HANGER.read_bytes())
    before = (tmp_path / name).read_bytes()
    asked = ["--unit", "mm", "--load", load_file, "--picture", tmp_path / name, "--force"]

    assert run(["orient", *map(str, [mesh, *asked])]) == 2
    assert "a file that is read" in capsys.readouterr().err
    assert (tmp_path / name).read_bytes() == before


@pytest.mark.parametrize(
    ("option", "said"),
    [(("--infill", "nan"), "not a number"), (("--material", ""), "--material")],
)
def test_nonsense_in_an_option_is_refused(load_file, option, said, capsys):
    """What is in no range although it compares as if it were; a name of no letters."""
    assert orient("--load", load_file, *option) == 2
    assert said in capsys.readouterr().err
