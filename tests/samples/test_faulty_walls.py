"""Wall files that are wrong on purpose, through the command: one sentence each."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.cli.main import run

FAULTY = Path(__file__).parents[2] / "samples" / "faulty" / "walls"

# File: the line of the fault, and words without which the message would not help.
REFUSALS = {
    "outside": (18, ["'socket' from 600 to 680 mm across", "'bench'", "0 to 640 mm"]),
    "overlapping": (19, ["'pipe'", "overlaps 'socket'", "x 270 mm, y 100 mm"]),
    "too_small": (14, ["90 mm high", "column 1, row 1", "100 x 100 mm"]),
    "nothing_left": (14, ["without a cell", "column 1, row 1"]),
    "no_rule": (4, ["right of column 2, above row 1", "inner corner", "'bench'", "part: none"]),
    "ragged": (15, ["line 2", "3 signs", "with 4"]),
    "letter": (15, ["'o'", "line 1", "column 3"]),
    "hung_in_the_air": (14, ["'hook'", "column 7, row 1", "18 cells"]),
    "weight_on_the_wall": (14, ["weight_kg without out_mm"]),
    "size_twice": (14, ["width_mm and columns"]),
    "same_wall_twice": (15, ["'bench' a second time"]),
    "endless": (14, [".inf", "finite"]),
    "too_many": (13, ["2 970 000 cells", "millimetres"]),
    "no_panels": (4, ["no rule at: cell"]),
    "stud_beside": (14, ["900 mm", "0 to 640 mm"]),
    "no_system": (4, ["sistem.yaml", "did you mean system.yaml?"]),
}


def test_every_faulty_wall_has_its_verdict():
    """The table here and the folder name the same files."""
    assert {path.stem for path in FAULTY.iterdir()} == {*REFUSALS, "control", "in_pieces"}


@pytest.mark.parametrize("name", REFUSALS)
def test_wall_is_refused_in_one_sentence(name, capsys):
    line, words = REFUSALS[name]
    file = FAULTY / f"{name}.yaml"
    code = run(["wall", str(file)])
    heard = capsys.readouterr()

    assert code == 2
    assert heard.out == ""
    assert heard.err.count("\n") == 1
    assert heard.err.startswith(f"platewright: {file}:{line}:")
    for word in ("found ", ", expected ", *words):
        assert word in heard.err


def test_control_is_counted(capsys):
    """Without a fault the same file is counted, so each refusal is due to its own fault."""
    assert run(["wall", str(FAULTY / "control.yaml")]) == 0
    assert "18 cells" in capsys.readouterr().out


def test_pieces_are_counted_and_remarked_on(capsys):
    assert run(["wall", str(FAULTY / "in_pieces.yaml")]) == 0
    said = " ".join(capsys.readouterr().out.split())

    assert "piece 2 has 1 cell, column 4, row 2" in said
    assert "panel 5 5 cells" in said
