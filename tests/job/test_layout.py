"""Wall files and panel systems as people write them."""

from __future__ import annotations

import copy
import json

import pytest

from planner.errors import InputError
from planner.job.layout.load import load_walls

SYSTEM = {
    "name": "plain",
    "pitch_mm": 100,
    "thickness_mm": 5,
    "joint_play_mm": 0.3,
    "rules": [
        {"part": "panel", "at": "cell"},
        {"part": "key", "at": "shared edge"},
        {"part": "none", "at": "free edge", "along": "level"},
        {"part": "end", "at": "cell", "open_sides": ["bottom", "left"], "count": 2},
        {"part": "label", "at": "cells", "every": 6},
        {"part": "washer", "at": "fixing", "bought": True},
    ],
}
SOUND = {
    "schema": "platewright/wall/1",
    "name": "One wall",
    "system": SYSTEM,
    "walls": [{"name": "bench", "width_mm": 640, "height_mm": 330}],
}


@pytest.fixture
def sound():
    return copy.deepcopy(SOUND)


@pytest.fixture
def read(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def _read(data, name="wall.yaml"):
        path = tmp_path / name
        path.write_text(json.dumps(data, indent=1), encoding="utf-8")
        return load_walls(path)

    return _read


@pytest.fixture
def told(read):
    def _told(data):
        with pytest.raises(InputError) as caught:
            read(data)
        (problem,) = caught.value.problems
        return problem

    return _told


def test_a_plain_wall_is_read(read, sound):
    walls = read(sound)
    (wall,) = walls.walls

    assert (wall.name, wall.width_mm, wall.height_mm) == ("bench", 640, 330)
    assert (wall.grid, wall.mask, wall.offset_mm) == ((None, None), None, None)
    assert walls.system.pitch_mm == (100, 100)
    assert walls.pattern == "every junction"
    assert (walls.anchor, walls.panel_weight_n, walls.band_mm) == (None, 0.0, 75.0)
    assert (walls.levelling.level_mm_m, walls.levelling.first_panel_mm_m) == (0.5, 1.0)
    before = json.dumps(sound, indent=1).splitlines().index('   "name": "bench",')
    assert wall.where.endswith(f"wall.yaml:{before}")


def test_rules_keep_their_conditions(read, sound):
    rules = read(sound).system.rules

    assert rules[2].part is None
    assert rules[2].along == "level"
    assert rules[3].open_sides == ("left", "bottom")
    assert rules[3].count == 2
    assert (rules[4].spot, rules[4].every) == ("cells", 6)
    assert rules[5].bought
    assert rules[0].where.endswith("wall.yaml:10")


def test_a_system_may_lie_in_a_file_beside_the_wall(read, sound, tmp_path):
    (tmp_path / "sub").mkdir()
    system = {"schema": "platewright/system/1", **SYSTEM, "pitch_mm": [120, 80]}
    (tmp_path / "sub" / "system.yaml").write_text(json.dumps(system), encoding="utf-8")
    sound["system"] = "sub/system.yaml"

    walls = read(sound)

    assert walls.system.pitch_mm == (120, 80)
    assert walls.system.rules[0].where.endswith("system.yaml:1")


def test_columns_and_rows_stand_for_a_size(read, sound):
    sound["walls"] = [{"name": "bench", "columns": 6, "rows": 3}]
    (wall,) = read(sound).walls

    assert (wall.width_mm, wall.height_mm, wall.grid) == (600, 300, (6, 3))


def test_a_drawing_stands_for_a_size(read, sound):
    sound["walls"] = [{"name": "bench", "mask": "##.\n#.#\n"}]
    (wall,) = read(sound).walls

    assert (wall.width_mm, wall.height_mm, wall.grid) == (300, 200, (3, 2))
    assert sorted(wall.mask) == [(1, 1), (1, 2), (2, 2), (3, 1)]


def test_what_hangs_is_weighed(read, sound):
    """Validation: 2 kg at standard gravity, 9.80665 m/s2 (3rd CGPM 1901), is 19.6133 N."""
    sound["walls"][0]["hung"] = [
        {"thing": "hook", "cell": [3, 2], "weight_kg": 2, "out_mm": 60},
        {"thing": "bin", "cell": [1, 1], "force_n": 5, "out_mm": 0, "count": 3},
        {"thing": "label", "cell": [1, 1]},
    ]
    (wall,) = read(sound).walls

    assert [hung.force_n for hung in wall.hung] == [pytest.approx(19.6133), 5, 0]
    assert [hung.out_mm for hung in wall.hung] == [60, 0, 0]
    assert [hung.count for hung in wall.hung] == [1, 3, 1]


def test_screws_studs_and_levels_are_read(read, sound):
    sound["mounting"] = {
        "pattern": "every other",
        "anchor": {"name": "plug", "rated_n": 400, "edge_mm": 40},
        "band_mm": 100,
        "panel_weight_g": 1000,
    }
    sound["levelling"] = {"level_mm_m": 1, "first_panel_mm_m": 2}
    sound["walls"][0] |= {"studs_mm": [40, 440], "meets": ["left", "top"], "offset_mm": [20, 0]}
    walls = read(sound)

    assert walls.pattern == "every other"
    assert (walls.anchor.rated_n, walls.anchor.factor, walls.anchor.edge_mm) == (400, 4, 40)
    assert walls.panel_weight_n == pytest.approx(9.80665)
    assert (walls.levelling.level_mm_m, walls.levelling.first_panel_mm_m) == (1, 2)
    assert walls.walls[0].studs_mm == (40, 440)
    assert walls.walls[0].meets == ("left", "top")
    assert walls.walls[0].offset_mm == (20, 0)


def test_cut_outs_may_touch_each_other_and_the_rim(read, sound):
    sound["walls"][0]["cut_outs"] = [
        {"name": "a", "x_mm": 0, "y_mm": 0, "width_mm": 100, "height_mm": 330},
        {"name": "b", "x_mm": 100, "y_mm": 0, "width_mm": 540, "height_mm": 100},
    ]

    assert [cut.kind for cut in read(sound).walls[0].cut_outs] == ["other", "other"]


@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        ({"width_mm": 99.9}, "walls[0].width_mm", ["column 1, row 1", "100 x 100 mm"]),
        ({"width_mm": -5}, "walls[0].width_mm", ["above 0"]),
        ({"width_mm": "640 mm"}, "walls[0].width_mm", ["leave the unit out"]),
        ({"width_mm": None}, "walls[0]", ["neither width_mm nor columns"]),
        ({"columns": 6}, "walls[0]", ["width_mm and columns"]),
        ({"mask": "##", "height_mm": None, "rows": 2}, "walls[0].rows", ["2 rows", "drawing of 1"]),
        ({"mask": "#######"}, "walls[0].mask", ["0 to 700 mm", "0 to 640 mm"]),
        ({"mask": "..\n.."}, "walls[0].mask", ["without a cell"]),
        ({"mask": "#.\n#"}, "walls[0].mask", ["line 2", "1 signs"]),
        ({"mask": "## #"}, "walls[0].mask", ["' '", "column 3"]),
        ({"offset_mm": [-1, 0]}, "walls[0].offset_mm[0]", ["-1 to 99 mm"]),
        ({"offset_mm": [0, 231]}, "walls[0].offset_mm[1]", ["331 mm", "0 to 330 mm"]),
        ({"offset_mm": [0]}, "walls[0].offset_mm", ["at least 2 values"]),
        ({"studs_mm": [641]}, "walls[0].studs_mm[0]", ["641 mm"]),
        ({"hung": [{"thing": "hook", "cell": [0, 1]}]}, "walls[0].hung[0].cell[0]", ["from 1"]),
        ({"hung": [{"thing": "hook", "cell": [1, 1], "out_mm": 5}]}, "walls[0].hung[0]",
         ["out_mm without a weight"]),
        ({"hung": [{"thing": "hook", "cell": [1, 1], "out_mm": 5, "weight_kg": 1, "force_n": 1}]},
         "walls[0].hung[0]", ["both weight_kg and force_n"]),
        ({"cutouts": []}, "walls[0].cutouts", ["did you mean cut_outs?"]),
        ({"meets": ["ceiling"]}, "walls[0].meets[0]", ["left, right, top, bottom"]),
    ],
)  # fmt: skip
def test_a_wall_that_cannot_be_is_refused(told, sound, change, place, words):
    wall = {**sound["walls"][0], **change}
    sound["walls"] = [{key: value for key, value in wall.items() if value is not None}]
    problem = told(sound)

    assert problem.place == place
    assert problem.line
    for word in words:
        assert word in str(problem)


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ({"part": "x", "at": "corner"}, ["one of cell, shared edge"]),
        ({"part": "x", "at": "junction", "along": "level"}, ["along with at: junction"]),
        ({"part": "x", "at": "cell", "shape": "middle"}, ["shape with at: cell"]),
        ({"part": "x", "at": "cells"}, ["at: cells without every"]),
        ({"part": "x", "at": "cell", "every": 6}, ["every with at: cell", "at: cells"]),
        ({"part": "x", "at": "cell", "count": 0}, ["from 1"]),
        ({"part": "x", "at": "cell", "open_sides": ["up"]}, ["left, right, top, bottom"]),
        ({"part": "panel", "at": "junction", "bought": True}, ["panel with bought: true in one"]),
        ({"part": "x", "at": "cell", "open_sides": ["left", "left"]}, ["left a second time"]),
        ({"part": "None", "at": "junction"}, ["found the part None", "in small letters"]),
        ({"part": "none", "at": "cell"}, ["part: none at cell", "the rule for panel at cell"]),
        (
            {"part": "none", "at": "shared edge", "along": "level"},
            ["none at shared edge, along: level", "the rule for key at shared edge fits as well"],
        ),
        (
            {"part": "end", "at": "cell", "open_sides": ["left", "bottom"]},
            ["the rule for end at cell, open_sides: [bottom, left] 2 times", "write count"],
        ),
        ({"part": "label", "at": "cells", "every": 6}, ["label at cells, every: 6 2 times"]),
    ],
)
def test_a_rule_that_makes_no_sense_is_refused(told, sound, rule, words):
    sound["system"]["rules"].append(rule)
    problem = told(sound)

    assert problem.place.startswith("system")
    for word in words:
        assert word in str(problem)


def test_a_rule_for_all_the_rest_may_say_none(read, sound):
    """Upright free edges get a strip, and none goes on the others: no contradiction."""
    sound["system"]["rules"] += [
        {"part": "strip", "at": "free edge", "along": "upright"},
        {"part": "none", "at": "free edge"},
        {"part": "label", "at": "cells", "every": 4},
    ]

    assert len(read(sound).system.rules) == len(sound["system"]["rules"])


@pytest.mark.parametrize("sign", ["\f", "\v", "\u2028", "\x85", "\r", "\u00a0"])
def test_only_a_line_feed_ends_a_line_of_a_drawing(told, sound, sign):
    """What an editor shows as nothing, or in one line, makes no second row of cells."""
    sound["walls"] = [{"name": "bench", "mask": f"##{sign}##"}]

    assert "in line 1 of the drawing, column 3" in str(told(sound))


def test_a_drawing_may_have_blank_ends_and_the_line_ends_of_other_systems(read, sound):
    sound["walls"] = [{"name": "bench", "mask": "\r\n#. \r\n##\t\r\n"}]

    assert read(sound).walls[0].mask == {(1, 1), (1, 2), (2, 1)}


def test_a_side_where_a_wall_meets_another_is_told_once(told, sound):
    sound["walls"][0]["meets"] = ["top", "top"]

    assert "top a second time" in str(told(sound))


def test_a_load_that_no_anchor_has_is_refused(told, sound):
    """Shares of such a load run to three hundred digits."""
    sound["mounting"] = {"anchor": {"name": "plug", "rated_n": 1e-300, "edge_mm": 0}}

    assert "from 1 to 1e+06" in str(told(sound))


@pytest.mark.parametrize("pitch", [0, -100, [100], [100, 0], "100 mm", True, [100, 100, 100]])
def test_a_pitch_that_is_none_is_refused(told, sound, pitch):
    sound["system"]["pitch_mm"] = pitch

    assert told(sound).place.startswith("system.pitch_mm")


def test_all_that_is_wrong_is_said_at_once(read, sound):
    """Two walls of one name, a cut-out outside, one on another, a stud beside."""
    cut = {"x_mm": 600, "y_mm": 0, "width_mm": 50, "height_mm": 50}
    wall = {**sound["walls"][0], "studs_mm": [700], "cut_outs": [{"name": "a", **cut}]}
    inside = {"x_mm": 0, "y_mm": 0, "width_mm": 50, "height_mm": 50}
    other = {**sound["walls"][0], "cut_outs": [{"name": n, **inside} for n in "bc"]}
    sound["walls"] = [wall, other]
    with pytest.raises(InputError) as caught:
        read(sound)

    assert sorted(problem.place for problem in caught.value.problems) == [
        "walls[0].cut_outs[0]",
        "walls[0].studs_mm[0]",
        "walls[1].cut_outs[1]",
        "walls[1].name",
    ]


@pytest.mark.parametrize("missing", ["schema", "name", "system", "walls"])
def test_what_is_missing_is_named(told, sound, missing):
    del sound[missing]

    assert f"no {missing}" in str(told(sound))
