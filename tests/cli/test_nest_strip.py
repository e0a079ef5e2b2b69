"""`platewright nest` with a strip in place of beds: the JSON, the table, the refusal."""

from __future__ import annotations

import json
from xml.etree import ElementTree as ET

import pytest

from planner.cli.main import run

SVG = "{http://www.w3.org/2000/svg}"

STRIP = {
    "items": [{"id": "tag", "outline": [[0, 0], [20, 0], [20, 8]], "quantity": 2}],
    "strip": {"depth_mm": 30},
    "clearance_mm": 2,
    "edge_mm": 1,
}


def written(folder, content):
    file = folder / "strip.json"
    file.write_text(json.dumps(content))
    return str(file)


def test_a_strip_is_packed_as_json_and_as_a_table(tmp_path, capsys):
    """One document on standard output; the table names length and bound."""
    file = written(tmp_path, STRIP)

    assert run(["nest", file, "--seconds", "0.1", "--json"]) == 0
    strip = json.loads(capsys.readouterr().out)["strip"]
    assert [place["id"] for place in strip["placements"]] == ["tag", "tag"]
    assert run(["nest", file, "--seconds", "0.1"]) == 0
    assert f"{strip['length_mm']:.2f} mm long" in capsys.readouterr().out


def test_a_strip_is_drawn_to_scale_into_a_folder(tmp_path):
    """The answer beside a drawing: one unit is one millimetre, every copy is there."""
    file, out = written(tmp_path, STRIP), tmp_path / "strip"

    assert run(["nest", file, "--seconds", "0.1", "--out", str(out)]) == 0

    length_mm = json.loads((out / "nest.json").read_text())["strip"]["length_mm"]
    root = ET.fromstring((out / "strip.svg").read_text(encoding="utf-8"))
    bed = next(r for r in root.iter(f"{SVG}rect") if r.get("class") == "bed")
    assert float(bed.get("width")) == pytest.approx(length_mm, abs=0.01)
    assert float(bed.get("height")) == STRIP["strip"]["depth_mm"]
    assert sum(1 for _ in root.iter(f"{SVG}use")) == 2


def test_a_strip_takes_no_limits_of_plates(tmp_path, capsys):
    """Said before the search."""
    assert run(["nest", written(tmp_path, STRIP), "--parts-per-plate", "3"]) == 2
    assert "a strip has no plates" in capsys.readouterr().err


def test_a_part_too_deep_for_the_strip_is_named(tmp_path, capsys):
    """With its size, the room there is, and what to do."""
    code = run(["nest", written(tmp_path, {**STRIP, "strip": {"depth_mm": 9}})])

    said = capsys.readouterr().err
    assert code == 2
    assert "tag" in said
    assert "8.0 mm deep" in said
