"""Job files that are wrong on purpose: each refused, with line, finding and remedy."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.errors import InputError
from planner.job.load import load_job

FAULTY = Path(__file__).parents[2] / "samples" / "faulty"

# File: the line of the fault, and words without which the message would not help.
REFUSALS = {
    "empty": (1, ["expected a mapping"]),
    "a_list": (1, ["a list of 2", "expected a mapping"]),
    "tab": (11, ["a tab", "spaces"]),
    "duplicate_key": (11, ["parts.key", "second time", "line 10"]),
    "growing_anchors": (23, ["aliases"]),
    "python_tag": (3, ["!!python/object/apply:os.system", "remove the tag"]),
    "later_schema": (2, ["platewright/job/7", "platewright/job/1"]),
    "unknown_key": (10, ["'quantitty'", "did you mean quantity?"]),
    "unknown_part": (18, ["'kee'", "did you mean key?"]),
    "cycle": (18, ["box -> crate -> pallet -> box"]),
    "negative_quantity": (10, ["parts.key.quantity", "-4", "from 0"]),
    "half_a_part": (10, ["parts.key.quantity", "2.5", "whole number"]),
    "up_nowhere": (10, ["parts.key.up", "[0, 0, 0]", "+z"]),
    "missing_mesh": (10, ["kay.stl", "did you mean key.stl?"]),
    "load_on_two_things": (14, ["parts.key.load.on", "axis"]),
    "infill_in_percent": (8, ["settings.infill", "found 15", "0.15"]),
    "unknown_profile": (12, ["open_frame_22O", "did you mean open_frame_220?"]),
    "no_printers": (11, ["printers", "at least 1"]),
    "same_name_twice": (13, ["'bench'", "line 12"]),
    "yes_instead_of_true": (12, ["unattended", "'yes'", "write true"]),
    "no_such_nozzle": (12, ["nozzle_mm", "20 mm"]),
    "spool_too_light": (14, ["180 g", "230 g"]),
    "spool_too_heavy": (14, ["left_g", "800000 g"]),
    "spool_weighed_twice": (14, ["left_g", "gross_g", "either"]),
    "spool_not_a_number": (14, [".nan", "finite"]),
    "unknown_time_zone": (4, ["Europe/Atlantis"]),
    "hour_that_is_skipped": (5, ["2027-03-28T01:30", "skip", "Europe/Lisbon"]),
    "deadline_before_start": (6, ["2026-11-26T20:00", "after the start"]),
    "window_backwards": (16, ["attendance[0].to", "after from"]),
}
FIVE_FAULTS = [
    (8, "settings.infill"),
    (10, "parts.key.unit"),
    (10, "parts.key.quantity"),
    (10, "did you mean colour?"),
    (12, "printers[0].unattended"),
]


def test_every_faulty_job_has_its_refusal():
    """The table here and the folder name the same files."""
    files = {path.stem for path in FAULTY.glob("*.yaml")}

    assert files == {*REFUSALS, "control", "five_faults"}


def test_control_is_accepted():
    """Without a fault the same file loads, so each refusal is due to its own fault."""
    job = load_job(FAULTY / "control.yaml")

    assert job.parts["key"].quantity == 4


@pytest.mark.parametrize("name", REFUSALS)
def test_job_is_refused_with_place_and_remedy(name):
    """One fault, one line: file, line, what was found, what was expected, what to do."""
    line, words = REFUSALS[name]
    file = FAULTY / f"{name}.yaml"

    with pytest.raises(InputError) as refusal:
        load_job(file)
    text = str(refusal.value)
    assert "\n" not in text
    assert text.startswith(f"{file}:{line}:")
    assert "found " in text
    assert ", expected " in text
    for word in words:
        assert word in text


def test_five_faults_are_told_at_once():
    """Somebody who mends a file wants the whole list, in the order of the lines."""
    file = FAULTY / "five_faults.yaml"

    with pytest.raises(InputError) as refusal:
        load_job(file)
    lines = str(refusal.value).splitlines()
    assert len(lines) == len(FIVE_FAULTS)
    for text, (line, words) in zip(lines, FIVE_FAULTS, strict=True):
        assert text.startswith(f"{file}:{line}:")
        assert words in text
