"""Changes under what_if: what is written is what comes out, and slips are told in a sentence."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from planner.errors import InputError
from planner.job.load import load_job

JOB = """\
schema: platewright/job/1
name: hooks
time_zone: Europe/Lisbon
start: 2026-11-27T18:00
parts:
  hook: {{mesh: hook.stl, quantity: 10}}
printers:
  - {{name: bench, profile: open_frame_220}}
spools:
  - {{name: grey 1, filament: pla, colour: grey, left_g: 300}}
attendance:
  - {{who: crew, from: 2026-11-27T18:00, to: 2026-11-27T22:00}}
what_if:
{changes}
"""


def job(tmp_path, *changes):
    """Return the job with these changes; the mesh is never read."""
    (tmp_path / "hook.stl").write_text("solid\nendsolid\n")
    path = tmp_path / "job.yaml"
    path.write_text(JOB.format(changes="\n".join(f"  - {change}" for change in changes)))
    return load_job(path)


def test_a_change_comes_out_as_written(tmp_path):
    """Machines by name and count, times in the job's zone, minutes as seconds."""
    (change,) = job(
        tmp_path,
        "{name: all of it, printers: [{name: shed, profile: enclosed_300, count: 2}], "
        "spools: [{name: grey 2, filament: pla, colour: grey, left_g: 800}], "
        "attendance: [{who: owl, from: 2026-11-27T23:00, to: 2026-11-28T02:00}], "
        "without: [hook], layer_mm: 0.28, mornings_later_h: 2, evenings_longer_h: 1, "
        "deadline: 2026-11-30T12:00, hands_on_min: 5, confidence: 0.95, "
        "finish_confidence: 0.8, spares: 3, unattended: true}",
    ).what_if

    assert [machine.name for machine in change.printers] == ["shed 1", "shed 2"]
    assert [spool.left_g for spool in change.spools] == [800]
    assert change.attendance[0].end - change.attendance[0].start == timedelta(hours=3)
    assert change.deadline == datetime(2026, 11, 30, 12, tzinfo=UTC)
    assert (change.without, change.layer_mm, change.hands_on_s) == (("hook",), 0.28, 300)
    assert (change.mornings_later_h, change.evenings_longer_h) == (2, 1)
    assert (change.confidence, change.finish_confidence) == (0.95, 0.8)
    assert (change.spares, change.unattended) == (3, True)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("{name: nothing}", "nothing that changes"),
        ("{name: nothing, spares: null, printers: []}", "nothing that changes"),
        ("{name: x, spares: 9991}", r"what_if\[0\]\.spares: found 10 001 copies"),
        ("{name: x, sleeping_in: 2}", "sleeping_in"),
        ("{name: x, layer_mm: -0.2}", "layer_mm"),
        ("{name: x, layer_mm: .nan}", "finite number"),
        ("{name: x, spares: 1.5}", "spares"),
        ("{name: x, without: [hok]}", "did you mean hook"),
        ("{name: x, deadline: 2026-11-20T10:00}", r"what_if\[0\]\.deadline"),
        ("{name: x, printers: [{name: bench, profile: enclosed_300}]}", "there already"),
        ("{name: x, printers: [{name: y, profile: enclosed_30}]}", r"what_if\[0\]\.printers\[0\]"),
        ("{name: x, spools: [{name: grey 1, filament: pla, colour: red, left_g: 1}]}", "already"),
        (
            "{name: x, attendance: [{who: a, from: 2026-11-28T18:00, to: 2026-11-28T10:00}]}",
            r"what_if\[0\]\.attendance\[0\]",
        ),
    ],
)
def test_slips_are_told_where_they_are(tmp_path, change, said):
    with pytest.raises(InputError, match=said):
        job(tmp_path, change)


def test_a_change_may_ask_for_as_many_copies_as_a_job_may(tmp_path):
    """Ten hooks and 9,990 spares are 10,000 copies; more confidence must not exceed them."""
    (change,) = job(tmp_path, "{name: x, spares: 9990}").what_if
    assert change.spares == 9990

    path = tmp_path / "job.yaml"
    text = path.read_text().replace("quantity: 10", "quantity: 4900")
    text = text.replace("schema:", "failure_rate: 0.5\nconfidence: 0.5\nschema:")
    path.write_text(text.replace("spares: 9990", "confidence: 0.9999"))
    with pytest.raises(InputError, match=r"what_if\[0\]\.confidence: found 10 \d{3} copies"):
        load_job(path)


def test_two_changes_of_one_name_are_refused(tmp_path):
    with pytest.raises(InputError, match="the name of a change before"):
        job(tmp_path, "{name: x, spares: 1}", "{name: x, spares: 2}")
