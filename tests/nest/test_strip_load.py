"""The JSON front of strips: what is read, what is refused in one sentence, what is written."""

import json

import pytest

from planner.errors import InputError
from planner.nest.strip.load import is_strip, load_strip, strip_document
from planner.nest.strip.pack import pack_strip

TAG = {"id": "tag", "outline": [[0, 0], [20, 0], [20, 8]], "quantity": 3, "rotations_deg": [0]}
GOOD = {"items": [TAG], "strip": {"depth_mm": 30}, "clearance_mm": 2, "edge_mm": 1}


@pytest.fixture
def written(tmp_path):
    def write(content):
        path = tmp_path / "nest.json"
        path.write_text(json.dumps(content, indent=1))
        return path

    return write


def test_a_good_file_is_read_packed_and_written(written):
    """The answer has the keys of the contract and every copy."""
    path = written(GOOD)
    items, depth_mm, clearance_mm, edge_mm = load_strip(path)
    strip = pack_strip(items, depth_mm, clearance_mm=clearance_mm, edge_mm=edge_mm, effort=1)

    document = json.loads(json.dumps(strip_document(strip)))

    assert is_strip(path)
    assert (depth_mm, clearance_mm, edge_mm) == (30.0, 2.0, 1.0)
    assert document["schema"] == "platewright/nest/1"
    assert set(document["strip"]) == {"length_mm", "density", "lower_bound_mm", "placements"}
    assert [set(place) for place in document["strip"]["placements"]] == [
        {"id", "x_mm", "y_mm", "rotation_deg"}
    ] * 3


def test_a_file_with_beds_is_no_strip(written):
    """It goes to the reader of plates."""
    beds = {key: value for key, value in GOOD.items() if key != "strip"}

    assert not is_strip(written({**beds, "beds": [{"id": "b", "width_mm": 90, "depth_mm": 90}]}))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"strip": {"depth_mm": 9}}, "tag, which is 8.0 mm deep"),
        ({"strip": {"depth_mm": 2}}, "less than half of the strip's 2 mm"),
        ({"strip": {"depth_mm": -5}}, "strip.depth_mm"),
        ({"strip": {"width_mm": 5}}, "width_mm"),
        ({"items": [{**TAG, "quantity": 0}]}, "0 copies in all"),
        ({"items": [{**TAG, "quantity": 1001}]}, "1001 copies in all"),
        ({"items": [TAG, TAG]}, "the name tag a second time"),
        ({"items": [{**TAG, "outline": [[0, 0], [9, 9], [9, 0], [0, 5]]}]}, "crosses itself"),
        ({"beds": []}, "beds"),
    ],
)
def test_bad_files_are_refused_with_place_and_remedy(written, change, words):
    """One line per fault, with the line of the file."""
    with pytest.raises(InputError) as caught:
        load_strip(written({**GOOD, **change}))

    assert words in str(caught.value)
    assert "nest.json" in str(caught.value)
