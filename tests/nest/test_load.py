"""The JSON front: what is read, what is refused in one sentence, what is written."""

import copy
import json
import math

import pytest

from planner.errors import InputError
from planner.nest.load import load_nest, nest_document
from planner.nest.model import NO_WISHES
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


def packed(problem):
    return pack(
        problem.items,
        problem.beds,
        clearance_mm=problem.clearance_mm,
        edge_mm=problem.edge_mm,
        wishes=problem.wishes,
        effort=1,
    )


def test_a_good_file_is_read_in_full(written):
    """Rings are turned the way footprints want them; a closing point is no corner."""
    problem = load_nest(written(GOOD))
    (frame, tag), (bench,) = problem.items, problem.beds

    outer, hole = frame.footprint.polygons_mm[0]
    assert outer.shape == (4, 2)
    assert frame.footprint.area_mm2 == pytest.approx(3600 - 1600)
    assert hole.tolist() == [[10.0, 50.0], [50.0, 50.0], [50.0, 10.0], [10.0, 10.0]]
    assert (frame.quantity, frame.rotations_deg) == (2, (0.0, 90.0))
    assert tag.rotations_deg == (0.0, 90.0, 180.0, 270.0)
    assert (bench.width_mm, bench.depth_mm, bench.count) == (150.0, 140.5, 2)
    assert bench.keep_out[0].x_max_mm == 20.0
    assert (problem.clearance_mm, problem.edge_mm) == (4.0, 3.0)
    assert problem.wishes == NO_WISHES


def test_the_answer_is_written_with_all_keys_of_the_contract(written):
    """The document survives JSON and counts every copy."""
    problem = load_nest(written(GOOD))
    packing = packed(problem)

    document = json.loads(json.dumps(nest_document(packing)))

    assert document["schema"] == "platewright/nest/1"
    contract = {"schema", "plates", "unplaced", "lower_bound", "bound_by"}
    assert set(document) == contract | {"gap", "proven"}
    assert {key for plate in document["plates"] for key in plate} == {"bed", "placements", "fill"}
    placements = [place for plate in document["plates"] for place in plate["placements"]]
    assert sorted(place["id"] for place in placements) == ["frame"] * 2 + ["tag"] * 3
    assert set(placements[0]) == {"id", "x_mm", "y_mm", "rotation_deg"}
    assert document["gap"] == len(document["plates"]) - document["lower_bound"]
    assert document["proven"] == (document["gap"] == 0)
    assert document["unplaced"] == []


def changed(path, value):
    data = copy.deepcopy(GOOD)
    target = data
    for key in path[:-1]:
        target = target[key]
    target[path[-1]] = value
    return data


PIN = {"plate": 1, "bed": "bench", "id": "tag", "x_mm": 40, "y_mm": 40}
OUTLINE = ("items", 0, "outline")
HOLE = ("items", 0, "holes")
WRONG = {
    "crossing outline": (OUTLINE, [[0, 0], [60, 60], [60, 0], [0, 50]], "crosses itself near"),
    "bow tie": (OUTLINE, [[0, 0], [60, 60], [60, 0], [0, 60]], "crosses itself near"),
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
    "a clearance of nothing": (("clearance_mm",), 1e-300, "0, or at least 1e-06 mm"),
    "clearance over the bed": (("clearance_mm",), 151, "longest side of a bed"),
    "name used twice": (("items", 1, "id"), "frame", "each name once"),
    "unknown key": (("items", 1, "quantitty"), 3, "did you mean quantity?"),
    "huge coordinate": (OUTLINE, [[0, 0], [1e9, 0], [0, 60]], "-10 000 to 10 000"),
    "turns said twice": (("items", 0, "rotations"), "free", "both rotations_deg and rotations"),
    "turns by an unknown word": (("items", 1, "rotations"), "any", "free, {every_deg: 15}"),
    "turns at steps of nothing": (("items", 1, "rotations"), {"every_deg": 0}, "from 1 to 360"),
    "crossing keep-out": (
        ("beds", 0, "keep_out", 0),
        {"outline": [[0, 0], [20, 20], [20, 0], [0, 15]]},
        "crosses itself",
    ),
    "keep-out without area": (
        ("beds", 0, "keep_out", 0),
        {"outline": [[0, 0], [20, 20], [10, 10]]},
        "without area",
    ),
    "keep-out outline beyond the bed": (
        ("beds", 0, "keep_out", 0),
        {"outline": [[140, 0], [160, 0], [140, 20]]},
        "[160, 0]",
    ),
    "keep-out written both ways": (
        ("beds", 0, "keep_out", 0, "outline"),
        [[0, 0], [20, 0], [0, 20]],
        "either x_mm and y_mm, or outline",
    ),
    "preferred point off the bed": (("beds", 0, "preferred_mm"), [151, 5], "a point on the bed"),
    "beam under the head": (
        ("beds", 0, "one_by_one"),
        {"left_mm": 1, "right_mm": 1, "front_mm": 1, "back_mm": 1, "tip_mm": 9, "gantry_mm": 5},
        "gantry_mm 5 mm under tip_mm 9 mm",
    ),
    "group of an unknown item": (("together",), [["frame", "tagg"]], "did you mean tag?"),
    "lone item apart": (("apart",), [["tag"]], "two items or more"),
    "item apart from itself": (("apart",), [["tag", "tag"]], "two items or more"),
    "unknown placing": (("placing",), "centred", "did you mean centre?"),
    "no parts on a plate": (("parts_per_plate",), 0, "from 1 to 20 000"),
    "no hours on a plate": (("hours_per_plate",), 0, "above 0"),
    "pin on no bed": (("pins",), [{**PIN, "bed": "bensh"}], "did you mean bench?"),
    "pin of no item": (("pins",), [{**PIN, "id": "tab"}], "did you mean tag?"),
    "pin on plate 0": (("pins",), [{**PIN, "plate": 0}], "from 1 to"),
    "pin beyond the edge": (("pins",), [{**PIN, "x_mm": 2}], "2.000000 mm from the edge"),
    "pin far outside": (("pins",), [{**PIN, "x_mm": 900}], "from the edge, expected 3 mm"),
    "pin on a keep-out": (("pins",), [{**PIN, "x_mm": 10, "y_mm": 10}], "tag lies on a keep-out"),
    "pin in a turn not allowed": (("pins",), [{**PIN, "rotation_deg": 45}], "turned by 45"),
    "pins on each other": (("pins",), [PIN, {**PIN, "x_mm": 45}], "tag and tag overlap"),
    "pins too close": (("pins",), [PIN, {**PIN, "x_mm": 61}], "1.000000 mm apart, expected 4 mm"),
    "more pins than copies": (
        ("pins",),
        [{**PIN, "y_mm": 30 * n} for n in range(1, 5)],
        "copy 4 of tag; wanted: 3",
    ),
    "more pinned plates than beds": (
        ("pins",),
        [{**PIN, "plate": n} for n in (1, 2, 3)],
        "plate 3 on bed bench, of which there are 2",
    ),
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


def test_wishes_are_read_in_full(written):
    """Groups, pins, placing, limits, turns, outlines of keep-outs and the room of the head."""
    data = copy.deepcopy(GOOD)
    data |= {
        "together": [["frame", "tag"]],
        "pins": [PIN],
        "placing": "centre",
        "parts_per_plate": 4,
        "hours_per_plate": 2.5,
    }
    data["items"][1]["rotations"] = {"every_deg": 120}
    bench = data["beds"][0]
    bench["keep_out"] += [{"outline": [[100, 100], [120, 100], [100, 130]]}]
    bench |= {"limit_parts": 9, "limit_s": 8000, "preferred_mm": [70, 60]}
    bench["one_by_one"] = {
        "left_mm": 20,
        "right_mm": 30,
        "front_mm": 10,
        "back_mm": 15,
        "tip_mm": 12,
    }

    problem = load_nest(written(data))

    (read,) = problem.beds
    assert read.keep_out_patches[0].points_mm == ((100, 100), (120, 100), (100, 130))
    assert (read.limit_parts, read.limit_s, read.preferred_mm) == (4, 8000, (70, 60))
    assert (read.head.right_mm, read.head.tip_mm, read.head.gantry_mm) == (30, 12, math.inf)
    assert problem.items[1].rotations_deg == (0, 120, 240)
    assert problem.wishes.together == (("frame", "tag"),)
    assert problem.wishes.placing == "centre"
    assert problem.wishes.pins[0].rotation_deg == 0


def test_free_turns_lay_a_long_edge_along_the_bed(written):
    """The longest edge rises at atan(8/20); one of the turns tried brings it level."""
    data = changed(("items", 1, "rotations"), "free")

    tag = load_nest(written(data)).items[1]

    assert tag.free_turns
    assert set(range(0, 360, 15)) <= set(tag.rotations_deg)
    slope = math.degrees(math.atan2(8, 20))
    assert any(abs(angle - (90 - slope)) < 1e-5 for angle in tag.rotations_deg)


def test_items_both_together_and_apart_are_told(written):
    """Directly, or through a third that ties two groups into one."""
    data = copy.deepcopy(GOOD)
    data["items"].append({"id": "key", "outline": [[0, 0], [5, 0], [0, 5]]})
    data |= {"together": [["frame", "tag"], ["tag", "key"]], "apart": [["frame", "key"]]}

    with pytest.raises(InputError, match="frame and key, which must be together as well"):
        load_nest(written(data))


def test_pins_of_a_group_on_two_plates_are_told(written):
    """The later pin is at fault."""
    data = copy.deepcopy(GOOD)
    pins = [PIN, {**PIN, "plate": 2, "id": "frame", "x_mm": 50}]
    data |= {"together": [["frame", "tag"]], "pins": pins}

    with pytest.raises(InputError, match=r"pins\[1\].*frame on plate 2, though tag is on plate 1"):
        load_nest(written(data))


def test_a_pin_beside_one_it_must_be_apart_from_is_told(written):
    """Groups hold for pins as well."""
    data = copy.deepcopy(GOOD)
    pins = [PIN, {**PIN, "id": "frame", "x_mm": 80}]
    data |= {"apart": [["frame", "tag"]], "pins": pins}

    with pytest.raises(InputError, match=r"pins\[1\].*frame on a plate with tag"):
        load_nest(written(data))
