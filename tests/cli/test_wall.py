"""`platewright wall` as a person or a script meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml

from planner.cli.main import run
from planner.shipped import workshop_dir

WALL = workshop_dir() / "wall.yaml"
SYSTEM = {
    "name": "plain",
    "pitch_mm": 100,
    "thickness_mm": 5,
    "joint_play_mm": 0.3,
    "rules": [
        {"part": "panel", "at": "cell"},
        {"part": "key", "at": "shared edge"},
        {"part": "standoff", "at": "junction"},
    ],
}


def asked(tmp_path, capsys, *options, walls, **more):
    data = {"schema": "platewright/wall/1", "name": "w", "system": SYSTEM, "walls": walls, **more}
    path = tmp_path / "wall.yaml"
    path.write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    code = run(["wall", str(path), *options])
    heard = capsys.readouterr()
    return code, heard.out, heard.err


def test_the_workshops_wall_as_json(capsys):
    """The keys of the contract, and the numbers of a board of 6 x 3 by closed form."""
    assert run(["wall", str(WALL), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)

    assert told["schema"] == "platewright/wall/1"
    assert told["cells"] == 18
    assert told["junctions"] == {"4": 10, "3": 0, "2": 14, "1": 4}
    assert told["counts"]["key"] == 27
    assert told["because"]["key"] == "27 shared edges"
    assert told["because"]["standoff"] == "28 junctions (4 outer corners, 14 straight, 10 middle)"
    assert len(told["fixings"]) == 28
    assert {"x_mm", "y_mm"} <= set(told["fixings"][0])
    for key in ("filament_g", "filament_by_material", "time_s", "plates", "cost"):
        assert key in told
    (wall,) = told["walls"]
    assert wall["margins_mm"] == {"left": 45, "right": 45, "bottom": 45, "top": 45}
    assert wall["strips"] == [
        {"side": "left", "width_mm": 45, "height_mm": 390},
        {"side": "right", "width_mm": 45, "height_mm": 390},
        {"side": "bottom", "width_mm": 600, "height_mm": 45},
        {"side": "top", "width_mm": 600, "height_mm": 45},
    ]


def test_json_is_the_same_every_time(capsys):
    texts = set()
    for _ in range(2):
        run(["wall", str(WALL), "--json"])
        texts.add(capsys.readouterr().out)

    assert len(texts) == 1


def test_the_workshops_wall_in_words(capsys):
    """The drawing, the counts with reasons, the strips, in 80 columns."""
    assert run(["wall", str(WALL)]) == 0
    told = capsys.readouterr().out

    assert "   3  [o][ ][o][ ][o][ ]" in told
    assert "Strips left over: left 45 x 390 mm" in told
    assert any(line.split() == ["key", "27", "27", "shared", "edges"] for line in told.splitlines())
    assert max(map(len, told.splitlines())) <= 80


def test_an_l_with_a_socket_and_a_hook_is_drawn(tmp_path, capsys):
    """The drawing in letters, by hand."""
    _, told, _ = asked(
        tmp_path,
        capsys,
        walls=[
            {
                "name": "corner",
                "mask": "##..\n##..\n####\n",
                "cut_outs": [
                    {"name": "s", "kind": "socket", "x_mm": 20, "y_mm": 120, "width_mm": 60,
                     "height_mm": 60}
                ],
                "hung": [{"thing": "hook", "cell": [2, 3]}],
            }
        ],
    )  # fmt: skip

    assert told.splitlines()[2:7] == [
        "   3  [ ][o] .  .",
        "   2   x [ ] .  .",
        "   1  [ ][ ][ ][ ]",
        "       1  2  3  4",
        "      [ ] panel, [o] panel with something on it, x cut-out, . no panel",
    ]


@pytest.mark.parametrize(
    ("columns", "row"), [(24, "[ ]" * 24), (25, "#" * 25), (72, "#" * 72), (73, "too wide")]
)
def test_wide_walls_are_drawn_narrower_or_not_at_all(tmp_path, capsys, columns, row):
    _, told, _ = asked(tmp_path, capsys, walls=[{"name": "a", "columns": columns, "rows": 1}])

    assert row in told
    assert max(map(len, told.splitlines())) <= 80


def test_ten_walls_in_one_file(tmp_path, capsys):
    """Each by itself, and all together: ten boards of two by three have 70 keys."""
    walls = [{"name": f"wall {n}", "columns": 2, "rows": 3} for n in range(10)]
    code, told, _ = asked(tmp_path, capsys, "--json", walls=walls)
    told = json.loads(told)

    assert code == 0
    assert told["counts"] == {"panel": 60, "key": 70, "standoff": 120}
    assert [wall["counts"]["key"] for wall in told["walls"]] == [7] * 10
    assert {fixing["wall"] for fixing in told["fixings"]} == {wall["name"] for wall in walls}


def test_a_wall_that_would_fall_is_marked_stop(tmp_path, capsys):
    """Two hundred kilograms on one panel, far in front: exit code 1."""
    hung = [{"thing": "anvil", "cell": [1, 1], "weight_kg": 200, "out_mm": 500}]
    anchor = {"name": "plug", "rated_n": 100, "edge_mm": 0}
    code, told, _ = asked(
        tmp_path,
        capsys,
        walls=[{"name": "a", "columns": 2, "rows": 2, "hung": hung}],
        mounting={"anchor": anchor},
    )

    assert code == 1
    assert "- stop: " in told


def test_a_job_tells_what_to_print_as_well(tmp_path, capsys):
    """Stock and spares, beside the counts of the walls."""
    mesh = str(workshop_dir() / "meshes" / "key.stl")
    wall = {"name": "w", "system": SYSTEM, "walls": [{"name": "a", "columns": 3, "rows": 2}]}
    job = {
        "schema": "platewright/job/1",
        "name": "j",
        "time_zone": "UTC",
        "start": "2026-11-27T18:00",
        "failure_rate": 0.1,
        "confidence": 0.9,
        "parts": {
            "panel": {"mesh": mesh, "stock": 2},
            "key": {"mesh": mesh, "quantity": 1},
            "standoff": {"mesh": mesh, "stock": 20},
        },
        "printers": [{"name": "bench", "profile": "open_frame_220"}],
        "attendance": [{"who": "me", "from": "2026-11-27T18:00", "to": "2026-11-27T20:00"}],
        "wall": wall,
    }
    path = tmp_path / "job.yaml"
    path.write_text(yaml.safe_dump(job, sort_keys=False), encoding="utf-8")
    assert run(["wall", str(path), "--json"]) == 0
    parts = {part["part"]: part for part in json.loads(capsys.readouterr().out)["parts"]}

    assert (parts["panel"]["needed"], parts["panel"]["from_stock"]) == (4, 2)
    assert parts["key"]["needed"] == 8
    assert parts["key"]["because"].startswith("1 by itself + wall: 7 shared edges; plus ")
    assert parts["standoff"]["to_print"] == 0
    assert run(["wall", str(path)]) == 0
    assert "To print" in capsys.readouterr().out


def test_drawings_are_written_once_and_replaced(tmp_path, capsys):
    out = tmp_path / "out"
    for _ in range(2):
        assert run(["wall", str(WALL), "--out", str(out), "--paper", "Letter"]) == 0
    said = capsys.readouterr().err

    assert f"to {out}" in said
    assert "Letter" in said
    assert {path.suffix for path in out.iterdir() if path.name[0] != "."} == {
        ".csv", ".dxf", ".pdf", ".svg",
    }  # fmt: skip


def test_a_file_that_is_not_there(capsys):
    assert run(["wall", str(Path("nowhere.yaml"))]) == 2
    assert "no such file" in capsys.readouterr().err


def test_options_for_files_are_refused_without_a_folder(tmp_path, capsys):
    """Paper and force say how files are written, and none would be; A4 by default is no fault."""
    walls = [{"name": "a", "columns": 2, "rows": 1}]
    code, out, err = asked(tmp_path, capsys, "--paper", "Letter", "--force", walls=walls)

    assert (code, out) == (2, "")
    assert [line.split(": ")[2] for line in err.splitlines()] == ["--paper", "--force"]
    assert asked(tmp_path, capsys, walls=walls)[0] == 0
