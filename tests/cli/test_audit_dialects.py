"""`platewright audit` on settings files that other programs wrote."""

from __future__ import annotations

import json

import pytest

from planner.cli.main import run

OWN = "herzkammer = 20 %\nlayer height = 0,3 mm\nWände = 2\nraft walls = 7\nnozzle temp = 900\n"


@pytest.fixture
def own(tmp_path):
    path = tmp_path / "own.ini"
    path.write_text(OWN, encoding="utf-8")
    return path


def audited(capsys, *arguments):
    """Return exit code and the only file's entry of the JSON document."""
    code = run(["audit", *map(str, arguments), "--json"])
    (file,) = json.loads(capsys.readouterr().out)["files"]
    return code, file


def test_what_was_read_is_judged_and_the_rest_is_told(own, capsys):
    """Values carry their line; impossible, foreign and missing settings are not passed over."""
    code, file = audited(capsys, own)

    assert code == 0
    assert file["kind"] == "settings"
    assert {key: (each["value"], each["line"]) for key, each in file["read"].items()} == {
        "layer_mm": (0.3, 2),
        "walls": (2, 3),
    }
    rules = {each["rule"]: each["where"] for each in file["findings"]}
    assert rules["walls"] == f"{own}:3"
    assert rules["not read"] == f"{own}:5"
    assert file["not_understood"] == ["herzkammer", "raft walls"]


@pytest.mark.parametrize("by", ["--word", "--lexicon"])
def test_a_word_of_the_users_own_is_understood(by, own, tmp_path, capsys):
    lexicon = tmp_path / "words.yaml"
    lexicon.write_text("schema: platewright/lexicon/1\nwords: {infill: [herzkammer]}\n")
    _, file = audited(capsys, own, by, lexicon if by == "--lexicon" else "herzkammer=infill")

    assert file["read"]["infill"]["value"] == 0.2


def test_what_is_said_twice_is_told_as_that(own, capsys):
    """Not as a word with two meanings: both lines are named, and the one setting."""
    own.write_text("infill = 20 %\nherzkammer = 15 %\n")
    _, file = audited(capsys, own, "--word", "herzkammer=infill")
    told = {each["where"]: each for each in file["findings"] if each["rule"] == "not read"}

    assert set(told) == {f"{own}:1", f"{own}:2"}
    for each in told.values():
        assert each["found"].endswith(", said 2 times with different values (lines 1, 2)")
        assert each["expected"] == "one clear value of infill"
        assert each["remedy"].startswith("say infill once and plainly, or say what '")


def test_that_letters_were_guessed_is_told(tmp_path, capsys):
    path = tmp_path / "old.ini"
    path.write_bytes("Schichthöhe = 0,2 mm\n".encode("latin-1"))
    _, file = audited(capsys, path)

    assert file["read"]["layer_mm"]["value"] == 0.2
    assert "encoding" in [each["rule"] for each in file["findings"]]


def test_noise_is_one_sentence(tmp_path, capsys):
    path = tmp_path / "noise.ini"
    path.write_bytes(b"\x00\x01\x02\x7f" * 500)

    assert run(["audit", str(path)]) == 2
    said = capsys.readouterr()
    assert not said.out
    assert said.err.count("\n") == 1
    assert "no text" in said.err


def test_json_says_how_a_value_was_arrived_at(tmp_path, capsys):
    """A share of another setting; a value that stands there as it is has no note."""
    path = tmp_path / "shares.ini"
    path.write_text("nozzle diameter = 0.4 mm\nline width = 112 %\n")
    run(["audit", str(path), "--json"])
    read = json.loads(capsys.readouterr().out)["files"][0]["read"]

    assert read["line_width_mm"]["value"] == pytest.approx(0.448)
    assert read["line_width_mm"]["note"] == "112 % of nozzle_mm"
    assert "note" not in read["nozzle_mm"]
