"""`platewright nest` as a person or a script meets it."""

from __future__ import annotations

import json
from pathlib import Path

from planner.cli.main import run
from planner.nest.load import load_nest
from planner.nest.model import PackedPlate, Packing, Placement
from planner.nest.verify import verify

SAMPLE = Path(__file__).parents[2] / "samples" / "nest" / "tool_wall.json"
SQUARES = {
    "items": [
        {
            "id": "square",
            "outline": [[0, 0], [40, 0], [40, 40], [0, 40]],
            "quantity": 4,
            "seconds": 3000,
        }
    ],
    "beds": [{"id": "bench", "width_mm": 100, "depth_mm": 100}],
    "clearance_mm": 4,
    "edge_mm": 3,
}


def nest(tmp_path, capsys, *options, data=SQUARES):
    file = tmp_path / "nest.json"
    file.write_text(json.dumps(data))
    code = run(["nest", str(file), "--seconds", "0.1", *options])
    heard = capsys.readouterr()
    return code, heard.out, heard.err


def test_limits_of_plates_are_options_too(tmp_path, capsys):
    """Four squares on one plate; three parts or two hours at most make it two."""
    plain = nest(tmp_path, capsys)
    by_parts = nest(tmp_path, capsys, "--parts-per-plate", "3")
    by_hours = nest(tmp_path, capsys, "--hours-per-plate", "2")

    assert "1 plate, proven fewest" in plain[1]
    assert "2 plates, proven fewest" in by_parts[1]
    assert "2 plates, proven fewest" in by_hours[1]
    assert [plain[0], by_parts[0], by_hours[0]] == [0, 0, 0]


def test_a_pin_that_a_limit_forbids_is_told_in_one_line(tmp_path, capsys):
    """The limit may come from the command line."""
    pins = [
        {"plate": 1, "bed": "bench", "id": "square", "x_mm": 3, "y_mm": 3},
        {"plate": 1, "bed": "bench", "id": "square", "x_mm": 50, "y_mm": 3},
    ]
    code, out, err = nest(
        tmp_path, capsys, "--parts-per-plate", "1", data={**SQUARES, "pins": pins}
    )

    assert (code, out) == (2, "")
    assert "pins[1]: found 2 parts, expected at most 1" in err
    assert err.count("\n") == 1


def test_a_copy_that_fits_nowhere_ends_with_exit_code_1(tmp_path, capsys):
    """Named, with its size and the room."""
    beds = [{"id": "tiny", "width_mm": 30, "depth_mm": 30}]
    code, out, _ = nest(tmp_path, capsys, data={**SQUARES, "beds": beds})

    assert code == 1
    words = " ".join(out.split())
    assert "4 copies of square on no plate: its width is too much: 40.0 x 40.0 mm" in words
    assert "24.0 x 24.0 mm inside the edge of tiny" in words


def test_the_sample_keeps_all_that_it_asks_for(tmp_path, capsys):
    """Pins, groups, a worn patch, a head and hours: the written answer stands the exact check."""
    code = run(["nest", str(SAMPLE), "--seconds", "0.1", "--out", str(tmp_path / "out")])

    assert code == 0
    assert "Wrote" in capsys.readouterr().err
    answer = json.loads((tmp_path / "out" / "nest.json").read_text())
    problem = load_nest(SAMPLE)
    plates = tuple(
        PackedPlate(
            bed=plate["bed"],
            placements=tuple(Placement(**place) for place in plate["placements"]),
            fill=plate["fill"],
        )
        for plate in answer["plates"]
    )
    packing = Packing(plates=plates, unplaced=(), lower_bound=0, bound_by="")
    assert (
        verify(
            packing,
            problem.items,
            problem.beds,
            problem.clearance_mm,
            problem.edge_mm,
            wishes=problem.wishes,
        )
        == ()
    )
    drawings = list((tmp_path / "out" / "plates").glob("*.svg"))
    assert len(drawings) == len(plates)
