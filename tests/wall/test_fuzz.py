"""Whatever is done to a wall file, it is counted and told, or refused in words."""

from __future__ import annotations

import copy
import io
import json

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rich.console import Console

from planner.errors import InputError
from planner.handover.quick.taken import what_walls_take
from planner.handover.walls import answer_for
from planner.report.document import dump
from planner.report.wall.document import wall_document
from planner.report.wall.terminal import print_wall
from tests.spoiling import places

SAME_FOLDER = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=200
)
SOUND = {
    "schema": "platewright/wall/1",
    "name": "One wall",
    "system": {
        "name": "plain",
        "pitch_mm": [100, 80],
        "thickness_mm": 5,
        "joint_play_mm": 0.3,
        "rules": [
            {"part": "panel", "at": "cell"},
            {"part": "key", "at": "shared edge", "along": "level", "count": 2},
            {"part": "none", "at": "shared edge"},
            {"part": "edge", "at": "cell", "open_sides": ["left"]},
            {"part": "standoff", "at": "junction"},
            {"part": "corner", "at": "junction", "shape": "outer corner"},
            {"part": "label", "at": "cells", "every": 6},
            {"part": "washer", "at": "fixing", "bought": True},
        ],
    },
    "walls": [
        {
            "name": "bench",
            "width_mm": 640,
            "height_mm": 330,
            "cut_outs": [
                {"name": "s", "kind": "socket", "x_mm": 300, "y_mm": 60, "width_mm": 80,
                 "height_mm": 80},
                {"name": "p", "kind": "pipe", "x_mm": 600, "y_mm": 0, "width_mm": 20,
                 "height_mm": 330},
            ],
            "hung": [
                {"thing": "hook", "cell": [2, 3], "weight_kg": 2, "out_mm": 60, "count": 2},
                {"thing": "bin", "cell": [1, 1], "force_n": 20, "out_mm": 0},
            ],
            "studs_mm": [40, 440],
            "meets": ["top"],
        },
        {"name": "niche", "mask": "##.\n###\n", "offset_mm": [0, 0]},
        {"name": "column", "columns": 1, "rows": 4},
    ],
    "extra": {"box": 3},
    "mounting": {
        "pattern": "every other",
        "anchor": {"name": "plug", "rated_n": 400, "factor": 4, "edge_mm": 40},
        "band_mm": 75,
        "panel_weight_g": 45,
    },
    "levelling": {"level_mm_m": 0.5, "first_panel_mm_m": 1.0},
}  # fmt: skip
ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-5, 5),
    st.sampled_from([10**6, -(10**30), 1e300, 1e-300, -1e-300, 0.1 + 0.2, 99.99, 100.0]),
    st.sampled_from(
        ["", "x", "none", "#", "##\n##", "every junction", "a\0b", "\ud800", "é\u2028"]
    ),
    st.sampled_from(["cell", "junction", "middle", "inner corner", "left", "socket"]),
    st.lists(st.integers(-1, 700), max_size=3),
    st.dictionaries(st.sampled_from(["name", "part", "at", "x_mm", "cell", ""]), st.integers()),
)


@st.composite
def spoilt(draw):
    """Change or remove something, up to four times."""
    data = copy.deepcopy(SOUND)
    for _ in range(draw(st.integers(0, 4))):
        path = draw(st.sampled_from(sorted(places(data), key=str)))
        owner = data
        for key in path[:-1]:
            owner = owner[key]
        if draw(st.booleans()):
            owner[path[-1]] = draw(ODD)
        else:
            del owner[path[-1]]
        if not list(places(data)):
            break
    return data


@SAME_FOLDER
@given(data=spoilt())
def test_spoilt_walls_are_told_or_refused(tmp_path, data):
    """A refusal is one line per problem; an answer can be printed and written as JSON."""
    path = tmp_path / "wall.yaml"
    path.write_text(json.dumps(data, indent=1), encoding="utf-8")
    try:
        answer = answer_for(path)
    except InputError as error:
        refused = len(str(error).splitlines()) == len(error.problems) > 0
        assert refused
        return
    taken = what_walls_take(answer)
    assert dump(wall_document(answer, taken)).startswith("{")
    screen = io.StringIO()
    print_wall(Console(file=screen, width=80), answer, taken)
    assert max(map(len, screen.getvalue().splitlines())) <= 80


def test_the_sound_one_is_counted(tmp_path):
    """Else the test above would see refusals only."""
    path = tmp_path / "wall.yaml"
    path.write_text(json.dumps(SOUND), encoding="utf-8")
    counts = {count.part: count.count for count in answer_for(path).counted.counts}

    # Six by four cells of 100 x 80 mm end at the pipe; the socket takes two; 5 and 4 more.
    assert counts["panel"] == 24 - 2 + 5 + 4
    assert counts["hook"] == 2
    assert counts["box"] == 3
