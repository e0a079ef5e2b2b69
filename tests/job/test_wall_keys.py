"""How a part meets the wall and the eye: faces in sight, screws, the wanted factor."""

from __future__ import annotations

import pytest

from planner.errors import InputError
from planner.job.load_file import read_loads
from planner.job.model import Face, Screwed

SCREWS = {"at": [[1, 2, 3]], "wall": "-y", "rated_n": 400}
LOAD = {"force_n": [0, 0, -20], "on": "+z", "held": "-y"}


def test_they_are_read_as_they_are_meant(sound, load):
    """A single face or a list; an axis or numbers; a factor of 4 where none is said."""
    sound["parts"]["key"].update(load=LOAD, visible="+z", fixings=SCREWS)
    sound["parts"]["panel"].update(visible=["-y", {"box": [[0, 0, 0], [1, 2, 3]]}])
    sound["safety_factor"] = 3

    job = load(sound)
    key, panel = job.parts["key"], job.parts["panel"]

    assert key.visible == (Face(axis="+z"),)
    assert panel.visible == (Face(axis="-y"), Face(box_mm=((0, 0, 0), (1, 2, 3))))
    assert key.fixings == Screwed(
        at_mm=((1, 2, 3),), wall=(0, -1, 0), rated_n=400, factor=4, where=key.fixings.where
    )
    assert "job.yaml:" in key.fixings.where
    assert job.safety_factor == 3
    assert panel.fixings is None


def test_a_load_file_may_say_them_too(tmp_path):
    """Beside one load written out, or beside a list."""
    path = tmp_path / "load.yaml"
    beside = "visible: [+x]\nfixings: {at: [[0, 0, 9]], wall: [0, -2, 0], rated_n: 90, factor: 1}\n"
    one = "force_n: [0, 0, -20]\non: +z\nheld: -y\n"
    several = "loads: [{force_n: [0, 0, -20], on: +z, held: -y}]\n"

    for text in (one, several):
        path.write_text(text + beside)
        loads = read_loads(path)
        assert loads.cases[0].force_n == (0, 0, -20)
        assert loads.visible == (Face(axis="+x"),)
        assert loads.fixings.wall == (0, -1, 0)
        assert loads.fixings.where.endswith(f":{text.count(chr(10)) + 2}")


FAULTS = [
    ({"fixings": SCREWS}, "fixings, and no load"),
    ({"load": LOAD, "fixings": {**SCREWS, "at": []}}, "empty list"),
    ({"load": LOAD, "fixings": {**SCREWS, "rated_n": 0}}, "rated_n"),
    ({"load": LOAD, "fixings": {**SCREWS, "factor": 0.5}}, "factor"),
    ({"load": LOAD, "fixings": {**SCREWS, "wall": "left"}}, "wall"),
    ({"load": LOAD, "fixings": {**SCREWS, "anchor": "plug"}}, "anchor"),
    ({"load": LOAD, "fixings": {"at": [[1, 2, 3]], "wall": "-y"}}, "rated_n"),
    ({"visible": []}, "empty list"),
    ({"visible": 3}, "a face in sight"),
    ({"visible": ["front"]}, "front"),
]


@pytest.mark.parametrize(("keys", "said"), FAULTS)
def test_slips_are_told_in_one_line(sound, load, keys, said):
    """With the part, the value and what is expected."""
    sound["parts"]["key"].update(keys)

    with pytest.raises(InputError) as caught:
        load(sound)

    (problem,) = caught.value.problems
    assert said in str(problem)
    assert "parts.key" in str(problem)


@pytest.mark.parametrize("factor", [0.5, 0, -2, 51])
def test_a_wanted_factor_that_makes_no_sense_is_refused(sound, load, factor):
    """Under 1 it asks for a part that breaks."""
    sound["safety_factor"] = factor

    with pytest.raises(InputError, match="safety_factor"):
        load(sound)
