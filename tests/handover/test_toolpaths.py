"""Audits of toolpath files: what is measured, and what it is held against."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import trimesh

from planner.audit.document import audit_document
from planner.errors import InputError
from planner.handover.audits import Asked
from planner.handover.batch import audit_batch, choose
from planner.handover.kinds import audit_file, kind_name
from tests.audit.measure import shapes, writing
from tests.audit.measure.catalogue import changed

SHAPE = shapes.block(18, 14, 4).moved(60, 60)


@pytest.fixture
def toolpath(tmp_path):
    """Return a function that writes a plate of one block, 2 walls unless said otherwise."""

    def write(name="block.gcode", **changes):
        path = tmp_path / name
        recipe = changed("plain", shapes=(SHAPE,), **({"walls": 2} | changes))
        path.write_text(writing.write(recipe)[0])
        return path

    return write


@pytest.fixture
def job(tmp_path):
    """Write a job whose block wants 3 walls."""
    trimesh.creation.box((18, 14, 4)).export(tmp_path / "block.stl")
    path = tmp_path / "job.yaml"
    path.write_text(
        "schema: platewright/job/1\nname: blocks\ntime_zone: Europe/Lisbon\n"
        "start: 2026-11-27T18:00\nguideline: everyday\nsettings: everyday_020\n"
        "parts:\n  block: {mesh: block.stl, unit: mm, quantity: 1, settings: {walls: 3}}\n"
        "printers: [{name: bench, profile: open_frame_220}]\n"
        "spools: [{name: grey, filament: pla, colour: grey, left_g: 500}]\n"
        "attendance: [{who: crew, from: 2026-11-27T18:00, to: 2026-11-27T22:00}]\n"
    )
    return path


def rules(file):
    return {finding.rule: str(finding.level) for finding in file.findings}


def test_a_toolpath_is_measured_and_held_against_the_guideline(toolpath):
    """Two walls where the stock guideline asks for three; nothing else is firm and wrong."""
    path = toolpath()
    file = audit_file(path, Asked(printer="open_frame_220"))

    assert (file.kind, kind_name(path)) == ("toolpath", "toolpath")
    assert "walls" in rules(file)
    finding = next(f for f in file.findings if f.rule == "walls")
    assert finding.found == "2 walls"
    assert finding.remedy.endswith("export it again")
    assert finding.change is None


def test_every_figure_has_value_spread_evidence_and_status(toolpath):
    (entry,) = audit_document([audit_file(toolpath())])["files"]
    json.dumps(entry, allow_nan=False)

    assert entry["measured"]["part 1.walls"]["value"] == 2
    for figure in entry["measured"].values():
        assert set(figure) == {"value", "spread", "evidence", "status"}
        assert figure["evidence"]
        assert figure["status"] in ("firm", "at least", "ambiguous", "not measurable")
        assert (figure["value"] is None) == (figure["status"] == "not measurable")
    assert any("--printer" in text for text in entry["not_checked"])


def test_a_part_of_a_job_is_held_against_its_settings_and_mesh(toolpath, job):
    """The job says 3 walls, the toolpath prints 2; its mesh settles the section of lines."""
    file = audit_file(toolpath(), Asked(job=job, part="block"))

    assert rules(file)["printed walls"] == "stop"
    assert file.measured["part 1.mesh_fits"]["value"] is True
    assert file.measured["filament_g"]["status"] == "firm"
    laid, expected = (file.measured[f"part 1.{k}_mm3"]["value"] for k in ("laid", "expected"))
    assert laid == pytest.approx(expected, rel=0.05)
    assert "printed volume" not in rules(file)
    sound = audit_file(toolpath(walls=3), Asked(job=job, part="block"))
    assert "printed walls" not in rules(sound)


def test_the_toolpath_of_another_part_is_told(toolpath, job):
    """A block of 18 x 14 mm where 30 x 14 mm was meant; a block as meant is not told."""
    path, asked = toolpath(), Asked(job=job, part="block")
    assert "another part" not in rules(audit_file(path, asked))

    trimesh.creation.box((30, 14, 4)).export(job.parent / "block.stl")

    assert rules(audit_file(path, asked))["another part"] == "warn"
    assert "another part" not in rules(audit_file(path))


def test_settings_named_along_are_held_against_the_toolpath(toolpath, tmp_path):
    """`audit SETTINGS TOOLPATH`: the finding names the line of the settings."""
    profile = tmp_path / "bench.ini"
    profile.write_text("layer_height = 0.2\nperimeters = 3\nfill_density = 20%\n")
    batch = audit_batch(choose([profile, toolpath()]), Asked())
    file = next(f for f in batch.files if f.kind == "toolpath")

    assert rules(file)["printed walls"] == "stop"
    finding = next(f for f in file.findings if f.rule == "printed walls")
    assert finding.expected == f"3 walls, as {profile}:2 says"
    assert "printed layer" not in rules(file)
    assert "printed infill" not in rules(file)


def test_faults_stop_the_batch_with_their_line(toolpath):
    path = toolpath()
    text = path.read_text().replace("M104 S210\n", "").replace("M109 S210\n", "")
    path.write_text(text)
    finding = next(f for f in audit_file(path).findings if f.rule == "cold extrusion")

    assert str(finding.level) == "stop"
    name, _, line = finding.where.rpartition(":")
    assert Path(name) == path
    assert " E" in text.splitlines()[int(line) - 1]


def test_what_cannot_be_followed_is_refused(tmp_path):
    path = tmp_path / "spline.gcode"
    path.write_text("G28\nG1 X1 F600\nG5 X1 Y1\n")
    with pytest.raises(InputError, match=r"spline.gcode:3: found G5"):
        audit_file(path)
