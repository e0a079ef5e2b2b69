"""The JSON front: what is read, what is refused in one sentence, what is written."""

import copy
import json

import pytest

from planner.errors import InputError
from planner.nest.load import load_nest, nest_document
from planner.nest.pack import pack

GOOD = {
    "items": [
        {
            "id": "frame",
            "outline": [[0, 0], [0, 60], [60, 60], [60, 0], [0, 0]],
            "holes": [[[10, 10], [50, 10], [50, 50], [10, 50]]],
            "quantity": 2,
            "rotations_deg": [0, 90],
        },
        {"id": "tag", "outline": [[0, 0], [20, 0], [20, 8]], "quantity": 3},
    ],
    "beds": [
        {
            "id": "bench",
            "width_mm": 150,
            "depth_mm": 140.5,
            "keep_out": [{"x_mm": [0, 20], "y_mm": [0, 15]}],
            "count": 2,
        }
    ],
    "clearance_mm": 4,
    "edge_mm": 3,
}


@pytest.fixture
def written(tmp_path):
    def write(content):
        path = tmp_path / "nest.json"
        path.write_text(content if isinstance(content, str) else json.dumps(content, indent=1))
        return path

    return write


def test_a_good_file_is_read_in_full(written):
    """Rings are turned the way footprints want them; a closing point is no corner."""
    (frame, tag), (bench,), clearance_mm, edge_mm = load_nest(written(GOOD))

    outer, hole = frame.footprint.polygons_mm[0]
    assert outer.shape == (4, 2)
    assert frame.footprint.area_mm2 == pytest.approx(3600 - 1600)
    assert hole.tolist() == [[10.0, 50.0], [50.0, 50.0], [50.0, 10.0], [10.0, 10.0]]
    assert (frame.quantity, frame.rotations_deg) == (2, (0.0, 90.0))
    assert tag.rotations_deg == (0.0, 90.0, 180.0, 270.0)
    assert (bench.width_mm, bench.depth_mm, bench.count) == (150.0, 140.5, 2)
    assert bench.keep_out[0].x_max_mm == 20.0
    assert (clearance_mm, edge_mm) == (4.0, 3.0)


def test_the_answer_is_written_with_all_keys_of_the_contract(written):
    """The document survives JSON and counts every copy."""
    items, beds, clearance_mm, edge_mm = load_nest(written(GOOD))
    packing = pack(items, beds, clearance_mm=clearance_mm, edge_mm=edge_mm, effort=1)

    document = json.loads(json.dumps(nest_document(packing)))

    assert document["schema"] == "platewright/nest/1"
    assert set(document) == {"schema", "plates", "unplaced", "lower_bound", "bound_by"}
    assert {key for plate in document["plates"] for key in plate} == {"bed", "placements", "fill"}
    placements = [place for plate in document["plates"] for place in plate["placements"]]
    assert sorted(place["id"] for place in placements) == ["frame"] * 2 + ["tag"] * 3
    assert set(placements[0]) == {"id", "x_mm", "y_mm", "rotation_deg"}
    assert document["lower_bound"] <= len(document["plates"])
    assert document["unplaced"] == []


def changed(path, value):
    data = copy.deepcopy(GOOD)
    target = data
    for key in path[:-1]:
        target = target[key]
    target[path[-1]] = value
    return data


OUTLINE = ("items", 0, "outline")
HOLE = ("items", 0, "holes")
WRONG = {
    "crossing outline": (OUTLINE, [[0, 0], [60, 60], [60, 0], [0, 50]], "crosses itself near"),
    "two points": (OUTLINE, [[0, 0], [1, 1]], "from 3 to 20000 points"),
    "very many points": (
        OUTLINE,
        [[n / 10, n % 2] for n in range(20_001)],
        "at most 20000 values",
    ),
    "three points, two of them the same": (OUTLINE, [[0, 0], [1, 1], [1, 1]], "2 different points"),
    "no area": (OUTLINE, [[0, 0], [1, 1], [2, 2]], "without area"),
    "no pair": (OUTLINE, [[0, 0], [1], [2, 2]], "2 values"),
    "text for a number": (OUTLINE, [[0, 0], ["1", 0], [2, 2]], "a number"),
    "hole outside": (HOLE, [[[100, 100], [110, 100], [110, 110]]], "outside the outline"),
    "hole across the edge": (HOLE, [[[50, 50], [70, 50], [70, 55]]], "outside the outline"),
    "crossing holes": (
        HOLE,
        [[[10, 10], [40, 10], [40, 40]], [[30, 10], [50, 10], [30, 40]]],
        "near",
    ),
    "hole without area": (HOLE, [[[10, 10], [20, 20], [30, 30]]], "without area"),
    "negative quantity": (("items", 0, "quantity"), -1, "a whole number"),
    "broken quantity": (("items", 0, "quantity"), 1.5, "a whole number"),
    "huge quantity": (("items", 0, "quantity"), 10**9, "a whole number"),
    "no turn": (("items", 0, "rotations_deg"), [], "at least one angle"),
    "no items": (("items",), [], "at least 1"),
    "no beds": (("beds",), [], "at least 1"),
    "bed without width": (("beds", 0, "width_mm"), 0, "above 0"),
    "keep-out beyond the bed": (("beds", 0, "keep_out", 0, "x_mm"), [140, 160], "inside the bed"),
    "keep-out turned round": (("beds", 0, "keep_out", 0, "y_mm"), [15, 0], "inside the bed"),
    "margin over half the bed": (("edge_mm",), 71, "less than half of bed bench"),
    "negative clearance": (("clearance_mm",), -1, "0"),
    "clearance over the bed": (("clearance_mm",), 151, "longest side of a bed"),
    "name used twice": (("items", 1, "id"), "frame", "each name once"),
    "unknown key": (("items", 1, "quantitty"), 3, "did you mean quantity?"),
}


@pytest.mark.parametrize("name", WRONG)
def test_each_fault_is_told_in_one_line_with_its_place(written, name):
    """File, line, found, expected, remedy; never a traceback, never two lines for one fault."""
    path, value, words = WRONG[name]
    file = written(changed(path, value))

    with pytest.raises(InputError) as caught:
        load_nest(file)

    (problem,) = caught.value.problems
    assert words in str(problem)
    assert problem.file == str(file)
    assert problem.line is not None
    assert "\n" not in str(problem)


def test_nan_is_refused(written):
    """JSON has no NaN, though some writers write it."""
    text = json.dumps(GOOD).replace("140.5", "NaN")

    with pytest.raises(InputError, match="NaN"):
        load_nest(written(text))


def test_several_faults_are_told_at_once(written):
    """One round of corrections, not three."""
    data = changed(OUTLINE, [[0, 0], [60, 60], [60, 0], [0, 50]])
    data["beds"][0]["keep_out"][0]["x_mm"] = [140, 160]

    with pytest.raises(InputError) as caught:
        load_nest(written(data))

    assert len(caught.value.problems) == 2


def test_copies_are_limited_in_sum(written):
    """Each quantity alone may pass."""
    data = changed(("items", 0, "quantity"), 12_000)
    data["items"][1]["quantity"] = 12_000

    with pytest.raises(InputError, match=r"24000 copies in all.*split the job"):
        load_nest(written(data))
